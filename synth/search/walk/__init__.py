"""From below: boxes asked about in order until the smallest that has a layout."""
