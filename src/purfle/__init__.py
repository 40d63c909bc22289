"""Inlays in solid wood: from a picture, a board and offcuts to parts proven to fit before any wood is cut."""

__version__ = "0.1.0"
