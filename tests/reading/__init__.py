"""A third, slow reading of the medium's rules, and random layouts to hold readings against it."""
