"""From above: a layout is composed at once, and shrunk while the walk goes on from below."""
