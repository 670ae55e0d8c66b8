"""From below: asks about boxes in order, up to the smallest that has a layout."""
