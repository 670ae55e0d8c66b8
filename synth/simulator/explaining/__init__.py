"""Explains layouts and never judges them: reasons, moments, netlists."""
