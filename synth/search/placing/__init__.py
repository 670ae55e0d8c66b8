"""Structure first: networks are found, and their signals placed, at once or in two stages."""
