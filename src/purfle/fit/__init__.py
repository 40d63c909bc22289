"""Areas of wood at true size to pieces that one cutter can make, and to inserts and a recess with their seam.

Takes drawn areas with their woods chosen (`DrawnArea`) and a `FitRule`. Promises:

- pieces and ground tile their domain exactly and share every edge;
- every piece, and the ground, equals its closing by the cutter's radius less half the seam within `tolerances.CLOSED`,
  by two engines; so every insert and the recess can be cut by the cutter itself;
- any two inserts, and any insert and the ground, are at least the seam apart, less 0.001 mm;
- the order of the areas makes no difference, and the same areas give the same bytes;
- what is let in over another (`let_in_order`) has a recess that lies wholly in the wood of inserts of earlier orders,
  which are made without a hole; it is open and closed for the cutter, so that no island is left anywhere;
- whatever of the drawing no piece carries any more is listed, with its reason and what is there instead.

Refuses, with what, where and how to mend it: artwork of which nothing can be cut; inserts that fall apart when the
seam is taken off; seams that open too far at a sharp angle; whatever does not settle within a limit of work, which is
counted in vertices looked at, not by a clock. Whoever calls may set a hard stop besides (`purfle.hard_stop`).
"""

from purfle.fit.features import pieces_features
from purfle.fit.letting_in import let_in
from purfle.fit.making import make_pieces
from purfle.fit.one_over_another import let_in_order
from purfle.fit.walls import wall_findings

__all__ = [
    "let_in",
    "let_in_order",
    "make_pieces",
    "pieces_features",
    "wall_findings",
]
