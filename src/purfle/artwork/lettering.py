"""Lettering: letters of a font set on a straight line or around a circle."""

import math
from collections.abc import Sequence

import shapely

from purfle.artwork.shapes import disc
from purfle.errors import DrawingError
from purfle.geometry.pose import Pose
from purfle.model.pieces import Region
from purfle.model.ready import Letter, Lettering, Part
from purfle.units import in_mm

ALL_ROUND = 2.0 * math.pi


def lettering(form: Lettering) -> list[Part]:
    """One part for each letter that has an outline, where it stands; on a line, the words begin at the origin."""
    starts = starts_of(form.letters, form.spacing)
    shown = [(letter, start) for letter, start in zip(form.letters, starts, strict=True) if not letter.region.is_empty]
    if not shown:
        raise DrawingError("The words have no letter that leaves a mark", "the text", "Write at least one letter.")
    if form.circle == 0.0:
        places = [Pose(0.0, start, 0.0) for _, start in shown]
    else:
        places = _around(form, shown, starts[-1] + form.letters[-1].advance)
    return [
        Part(f"letter {letter.sign}", 0, shapely.transform(letter.region, place.points))
        for (letter, _), place in zip(shown, places, strict=True)
    ]


def lettering_frame(form: Lettering, parts: Sequence[Part]) -> Region:
    """What the place of lettering is measured to: from the base line to the cap height, or the circle with it."""
    if form.circle > 0.0:
        return disc(form.circle if form.inside else form.circle + 2.0 * form.height)
    left, _, right, _ = shapely.total_bounds([part.region for part in parts])
    return shapely.box(left, 0.0, right, form.height)


def starts_of(letters: Sequence[Letter], spacing: float) -> list[float]:
    """Where each letter begins on the base line."""
    starts = [0.0]
    for letter in letters[:-1]:
        starts.append(starts[-1] + letter.advance + letter.kerning + spacing)
    return starts


def _around(form: Lettering, shown: Sequence[tuple[Letter, float]], length: float) -> list[Pose]:
    """Where each letter stands on the circle: its middle over its own place, turned to stand upright there."""
    radius = form.circle / 2.0
    if length > ALL_ROUND * radius:
        what = f"The words are {length:.1f} mm long, longer than the circle that they stand on"
        mend = f"Use a circle of more than {length / math.pi:.1f} mm, or smaller letters."
        raise DrawingError(what, f"circle of {in_mm(form.circle)}", mend)
    poses = []
    for letter, start in shown:
        middle = letter.advance / 2.0
        turn = math.degrees((start + middle - length / 2.0) / radius)
        direction = form.at + turn if form.inside else form.at - turn
        upright = direction + 90.0 if form.inside else direction - 90.0
        foot = radius * math.cos(math.radians(direction)), radius * math.sin(math.radians(direction))
        poses.append(Pose(0.0, -middle, 0.0).then(Pose(upright, *foot)))
    return poses
