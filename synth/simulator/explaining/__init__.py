"""What explains and never judges: reasons, moments, netlists."""
