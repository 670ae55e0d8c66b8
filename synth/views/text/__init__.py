"""Views for a terminal."""
