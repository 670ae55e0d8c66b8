"""The smallest layout for each value of another measure."""
