"""The frozen nouns that pass between stages.

Frames: y up, mm. A *region* is a shapely Polygon or MultiPolygon. Numbers are mm and degrees unless a name says
otherwise.
Frames used: the artwork frame (origin at the lower left corner of the drawn design), the board frame (origin at the
datum corner, seen from the show face), the underside frame (`geometry.pose.UNDERSIDE`), one offcut frame an offcut.
"""
