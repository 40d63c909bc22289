"""The command line: a thin face."""
