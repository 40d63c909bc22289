"""Placing of inlays and fittings on the two faces of a board; wood left between them; setting-out marks.

Takes the board, the inlays (each with its fit and where it shall stand), the hardware, and the wood that must be left.
Promises:
- every distance is measured from the datum edges A and B, on both faces, in the board frame;
- the pose of an inlay is mirrored if and only if it lies on the underside, so that it reads right seen from below;
- wood left under each recess counts what is cut from the other face, in plan and sideways;
- the check mark of the underside is a distance that comes out different when the board lies end for end, and where
  there is none, a finding says so.
Refuses: what stands off the board, and recesses without depth or as deep as the board, all of them at once.
"""

from purfle.board.laying_out import glance, lay_out
from purfle.board.placing import place_artwork
from purfle.board.wishes import OVER_DEPTH, InlayWish, Spot, key_wish, picture_wish, wishes_of

__all__ = [
    "OVER_DEPTH",
    "InlayWish",
    "Spot",
    "glance",
    "key_wish",
    "lay_out",
    "picture_wish",
    "place_artwork",
    "wishes_of",
]
