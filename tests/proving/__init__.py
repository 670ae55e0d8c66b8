"""A layout that is given: what it keeps, and whether anything smaller keeps that."""
