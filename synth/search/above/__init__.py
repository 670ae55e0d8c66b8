"""From above: a layout composed at once, and shrunk while the walk goes on from below."""
