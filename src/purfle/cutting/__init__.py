"""Layout and places -> set-ups, passes, paths, times."""
