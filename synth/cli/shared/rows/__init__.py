"""The rows of the table of options, a module for each heading of ``--help``."""
