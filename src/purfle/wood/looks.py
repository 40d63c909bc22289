"""How a wood looks on page and paper: our own colours, estimated by eye, not measured."""

from dataclasses import dataclass
from functools import cache
from typing import Literal, cast, get_args

from purfle.model.artwork import Colour
from purfle.wood.tables import rows

GrainStyle = Literal["fine", "pores", "rings", "ribbon", "stripes"]
NO_LOOK = "no look known: a plain brown stands in"


@dataclass(frozen=True, slots=True)
class Look:
    """Colours of a wood (sRGB): freshly planed, under clear finish, and after years of light.

    `grain`: how to draw its figure: hardly any (fine), short dashes (pores), growth rings (rings), interlocked bands
    (ribbon), strong dark lines (stripes). `contrast`: of the figure, 0 to 1. `status`: where the values come from.
    """

    fresh: Colour
    finished: Colour
    aged: Colour
    grain: GrainStyle
    contrast: float
    status: str


Age = Literal["fresh", "finished", "aged"]
AGES: tuple[Age, ...] = get_args(Age)
"""How long a piece has stood: freshly planed, under its finish, years later."""


@cache
def look_of_species(species: str) -> Look:
    """The look of a species by its id; a plain brown that says so, where the table has none."""
    for row in rows("looks"):
        if row["species"] == species:
            fresh, finished, aged = (_colour(row[when]) for when in ("fresh", "finished", "aged"))
            return Look(fresh, finished, aged, cast(GrainStyle, row["grain"]), float(row["contrast"]), row["status"])
    return Look((200, 165, 120), (180, 140, 95), (160, 120, 78), "fine", 0.1, NO_LOOK)


def _colour(text: str) -> Colour:
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)
