"""Broken inputs for every command that reads files, and what has to come of them."""
