"""Repair: the fewest changes, held to trying all of them."""
