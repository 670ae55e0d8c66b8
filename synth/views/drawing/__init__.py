"""Drawings: vector graphics of layouts and netlists, plots of frontiers."""
