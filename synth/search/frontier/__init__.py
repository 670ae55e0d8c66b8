"""The smallest layout for each value of another measure, each point resting on the others."""
