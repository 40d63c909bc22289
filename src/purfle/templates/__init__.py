"""Templates for a hand router with guide bushes: from an outline to what a bush has to follow.

Takes: the maker's guide bushes, the cutter in them, and the finished outlines of recesses and inserts.

Promises:
- a pair of bushes is taken that leaves the seam asked for from one template, where the shop has one;
- the bush reaches all of an opening, and the cutter in it leaves the outline that the opening was made from;
- the same input gives the same templates.

Refuses (JobFileError): a shop without a bush that lets the cutter through; without a pair, where no seam is asked for.
"""

from purfle.templates.openings import insert_opening, laid_on, recess_opening
from purfle.templates.pairs import (
    bush_wanted,
    corner_of_insert,
    corner_of_recess,
    guides_of,
    insert_width,
    pairs_of,
    recess_width,
    template_rule,
)
from purfle.templates.pins import WALL, Below, pin_places, pins_have_wood, room_for_groove, room_for_pins

__all__ = [
    "WALL",
    "Below",
    "bush_wanted",
    "corner_of_insert",
    "corner_of_recess",
    "guides_of",
    "insert_opening",
    "insert_width",
    "laid_on",
    "pairs_of",
    "pin_places",
    "pins_have_wood",
    "recess_opening",
    "recess_width",
    "room_for_groove",
    "room_for_pins",
    "template_rule",
]
