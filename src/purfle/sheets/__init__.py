"""Bench sheets, labels and the picture of the finished piece."""
