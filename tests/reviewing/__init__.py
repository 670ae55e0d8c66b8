"""The review: its findings are held to the simulator, each kind on a layout of its own."""
