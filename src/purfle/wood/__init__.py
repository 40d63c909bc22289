"""Species data and wood formulas, each figure with its source and status.

Takes the name of a wood as a maker writes it, a climate, a width.
Promises:
- a name finds one species or says why not: unknown (with the nearest known), or shared by several (with all of them);
- every figure carries the publication it was read in and how sure that is ("confirmed", "derived", "memory");
- tables are read once, when first asked for.
Refuses: names of no known wood, climates and moistures outside the range that the formulas are valid for.
"""

from purfle.wood.cautions import ColourChange, Hazard, colour_change_of, harm_told, hazards_of
from purfle.wood.climates import (
    air_of,
    air_or_season,
    all_climates,
    climate_named,
    humidity,
    moisture,
    temperature,
)
from purfle.wood.looks import Look
from purfle.wood.movement import (
    derived_coefficient,
    moisture_content,
    movement_small,
    movement_wide,
    seam_change,
    shrinkage_at,
)
from purfle.wood.moving import CHANGE_ALONG, growth_across, growth_along, moves, shrinkage_from
from purfle.wood.own import own_species, species_among
from purfle.wood.practice import Practice, practice
from purfle.wood.screws import gravity_of, is_softwood, pilot_hole, screw_root, withdrawal
from purfle.wood.species import (
    Figure,
    Species,
    all_species,
    also_called,
    find,
    know,
    known_as,
    look_of,
    one_of,
    same_wood,
    woods_told,
)
from purfle.wood.strength import bending_share
from purfle.wood.tables import publication
from purfle.wood.walls import highest_wall, least_ridge, least_wall

__all__ = [
    "CHANGE_ALONG",
    "ColourChange",
    "Figure",
    "Hazard",
    "Look",
    "Practice",
    "Species",
    "air_of",
    "air_or_season",
    "all_climates",
    "all_species",
    "also_called",
    "bending_share",
    "climate_named",
    "colour_change_of",
    "derived_coefficient",
    "find",
    "gravity_of",
    "growth_across",
    "growth_along",
    "harm_told",
    "hazards_of",
    "highest_wall",
    "humidity",
    "is_softwood",
    "know",
    "known_as",
    "least_ridge",
    "least_wall",
    "look_of",
    "moisture",
    "moisture_content",
    "movement_small",
    "movement_wide",
    "moves",
    "one_of",
    "own_species",
    "pilot_hole",
    "practice",
    "publication",
    "same_wood",
    "screw_root",
    "seam_change",
    "shrinkage_at",
    "shrinkage_from",
    "species_among",
    "temperature",
    "withdrawal",
    "woods_told",
]
