"""Structure first: finds networks and places their signals, at once or in two stages."""
