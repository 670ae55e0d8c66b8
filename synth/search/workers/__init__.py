"""Solvers at work: tasks, worker processes, and what is done to a layout that comes back."""
