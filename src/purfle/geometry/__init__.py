"""Plane geometry. Knows no wood: regions are shapely polygons, polylines are float64 arrays of shape (n, 2)."""
