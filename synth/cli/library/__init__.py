"""The commands of `gatefit library`, one module each."""
