"""Parts -> places on offcuts, grain kept.

Takes the layout (or the parts wanted), the offcuts of the rack, and the room to keep.
Promises:
- each part lies on an offcut of its wood, thick enough, its fibres along the offcut's within the tolerance, never
  turned over;
- parts keep the margin to the edge, the distance to each other and to defects: checked on the outlines themselves;
- the smallest offcut that takes everything is used; the same parts and rack give the same places;
- what finds no room is told, with what to buy.
Refuses: a grain direction for a piece that there is not.
"""

from purfle.offcuts.parts import wanted_parts
from purfle.offcuts.placing import place

__all__ = ["place", "wanted_parts"]
