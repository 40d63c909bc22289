"""Placing of inlays and fittings on the two faces of a board; wood left between them; setting-out marks."""
