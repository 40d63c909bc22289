"""Ready artwork as drawn: which form is drawn by what."""

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely

from purfle.artwork.banding import banding
from purfle.artwork.butterfly import butterfly_key
from purfle.artwork.lettering import lettering, lettering_frame
from purfle.artwork.shapes import diamond, disc, fan, oval, rectangle, star
from purfle.artwork.stringing import stringing
from purfle.model.findings import Finding
from purfle.model.job import ReadyRule
from purfle.model.pieces import Region
from purfle.model.ready import (
    Banding,
    Butterfly,
    Diamond,
    Disc,
    Fan,
    Form,
    Lettering,
    Oval,
    Part,
    ReadyDrawing,
    Rectangle,
    Star,
    Stringing,
)
from purfle.tolerances import NO_WOOD, THINNEST_PIECE


def draw_ready(form: Form, woods: int) -> ReadyDrawing:
    """A ready artwork in mm, y up, around the origin; `woods` is how many woods it is made of.

    Promises: parts do not overlap but for letters that touch; neighbours share their edges.
    Raises: DrawingError where its sizes or its words leave nothing to draw.
    """
    match form:
        case Lettering():
            letters = lettering(form)
            return ReadyDrawing(tuple(letters), lettering_frame(form, letters))
        case Star():
            # the circle over its points, so that its middle is that of the star whatever its number of points
            return ReadyDrawing(tuple(star(form)), disc(form.diameter))
        case _:
            return _drawn(_parts(form, woods))


def _parts(form: Form, woods: int) -> list[Part]:
    match form:
        case Fan():
            return fan(form, woods)
        case Stringing():
            return stringing(form)
        case Banding():
            return banding(form, woods)
        case _:
            return [Part("", 0, _outline(form))]


def _outline(form: Form) -> Region:
    match form:
        case Disc(diameter):
            return disc(diameter)
        case Oval(length, width):
            return oval(length, width)
        case Rectangle(length, width, corner_radius):
            return rectangle(length, width, corner_radius)
        case Diamond(length, width):
            return diamond(length, width)
        case Butterfly(length, end_width, waist_width):
            return butterfly_key(length, end_width, waist_width)
    raise AssertionError(f"{form} is drawn elsewhere")


def _drawn(parts: Sequence[Part]) -> ReadyDrawing:
    return ReadyDrawing(tuple(parts), shapely.multipoints(shapely.get_coordinates([part.region for part in parts])))


def findings_of_ready(rule: ReadyRule) -> tuple[Finding, ...]:
    """What to look at before a ready artwork is cut: words that read backwards, letters that run together, blades that
    meet in a point.
    """
    if isinstance(rule.form, Fan):
        return _blades_too_thin(rule.name, rule.form)
    if not isinstance(rule.form, Lettering):
        return ()
    found = []
    if rule.mirrored:
        what = f'The words "{rule.name}" are mirrored: they will read backwards.'
        mend = "Leave mirrored out; on the underside words read right without it."
        found.append(Finding("look", what, rule.name, mend, "artwork"))
    letters = lettering(rule.form)
    for one, other in pairwise(letters):
        if one.region.intersection(other.region).area > NO_WOOD:
            what = f'In "{rule.name}", {one.name} and {other.name} run into each other; the later one lies on top.'
            found.append(Finding("look", what, rule.name, "Add spacing, or use a larger circle.", "artwork"))
    return tuple(found)


def _blades_too_thin(name: str, fan: Fan) -> tuple[Finding, ...]:
    """A note where the blades of a fan are narrower at their foot than a piece can be."""
    least = THINNEST_PIECE / (2.0 * math.sin(math.radians(min(fan.spread / fan.blades, 180.0)) / 2.0))
    if fan.hub >= least:
        return ()
    what = f"Where its blades meet, each is narrower than {THINNEST_PIECE:g} mm; neighbours take what is too thin."
    mend = f'Give hub = "{math.ceil(least)} mm" or more, or let a disc in over the point.'
    return (Finding("note", what, name, mend, "artwork"),)
