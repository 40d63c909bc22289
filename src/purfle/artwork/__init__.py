"""Picture or drawing -> areas that share their boundaries -> drawn areas with their woods.

Takes: a `Picture` and a `TraceRule`, or a drawing; then the woods on the rack and what the maker assigned.

Promises, for areas made from a picture:
- areas tile the frame exactly: their sum is the frame, no gap, no overlap;
- each boundary stretch is stored once; arcs are simple and meet only in junctions that they share;
- there are exactly as many areas as the pixels show: smoothing never makes or loses one;
- numbers follow the reading order of the picture; same picture, same areas, to the byte;
- what is doubtful is said in `Areas.doubts`, never mended silently.

Refuses (PictureError): no flat colours, a single colour, hundreds of specks, a ground colour that is not there.
Refuses (JobFileError): a wood that is not on the rack, a name, colour or point that fits no area.
"""

from purfle.artwork.butterfly import butterfly_key
from purfle.artwork.composing import Composed, compose
from purfle.artwork.doubts import doubts_at_size
from purfle.artwork.drawing import areas_of_drawing, is_drawing
from purfle.artwork.editing import edit_areas
from purfle.artwork.features import to_geojson_features
from purfle.artwork.inner_lines import strip_told
from purfle.artwork.picking import by_place, names_sharing, taken
from purfle.artwork.stacking import restack
from purfle.artwork.symmetry import symmetry_seen
from purfle.artwork.tracing import areas_of_picture
from purfle.artwork.woods import ChosenWoods, choose_woods, design_size

__all__ = [
    "ChosenWoods",
    "Composed",
    "areas_of_drawing",
    "areas_of_picture",
    "butterfly_key",
    "by_place",
    "choose_woods",
    "compose",
    "design_size",
    "doubts_at_size",
    "edit_areas",
    "is_drawing",
    "names_sharing",
    "restack",
    "strip_told",
    "symmetry_seen",
    "taken",
    "to_geojson_features",
]
