"""Solvers at work: tasks, worker processes, and the tidying and judging of their layouts."""
