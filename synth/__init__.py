"""gatefit: finds the smallest layout of a boolean function, and checks it."""
