"""Which areas the maker means: by name, by a point of the design, or by colour."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from shapely import Point, STRtree

from purfle.artwork.colour import ciede2000, lab_of
from purfle.errors import Fault, JobFileError
from purfle.files.toml_table import nearest
from purfle.model.artwork import Area, Colour, Which
from purfle.model.pieces import DrawnArea
from purfle.units import in_mm

Point2 = tuple[float, float]

COLOUR_WITHIN = 10.0
"""A colour stands for the drawn colour nearest to it, no further off than this (CIEDE2000)."""


@dataclass(slots=True)
class Picker:
    """Areas to pick from. `origin` and `mm_per_unit` place the points of the design; `faults`: what met nothing.

    `gone`: names that an edit took, with that edit.
    """

    areas: Sequence[Area]
    origin: tuple[float, float]
    mm_per_unit: float
    ground: frozenset[int]
    faults: list[Fault] = field(default_factory=list)
    gone: dict[str, str] = field(default_factory=dict)

    def pick(self, which: Which, where: str) -> list[int]:
        """The numbers of the areas that are meant, ground left out; none, and a fault, where nothing is."""
        if isinstance(which, str):
            return self._named(which, where)
        if len(which) == 2:
            return self._at(which, where)
        return self._of_colour(which, where)

    def one(self, which: Which, where: str) -> list[int]:
        """As `pick`, for a name or point that is given for one area."""
        return self.pick(which, where)[:1]

    def place_of(self, point: tuple[float, float]) -> Point:
        """A point of the design (mm) in the unit of the areas."""
        return Point(*(start + mm / self.mm_per_unit for start, mm in zip(self.origin, point, strict=True)))

    def place_in(self, area: Area) -> str:
        """A point inside an area, as the maker would write it: from the design's lower left corner."""
        point = area.region.representative_point()
        x, y = ((at - start) * self.mm_per_unit for at, start in zip((point.x, point.y), self.origin, strict=True))
        return f"{x:.1f}, {y:.1f} mm"

    def _named(self, name: str, where: str) -> list[int]:
        found = [area.number for area in self._drawn() if area.name == name]
        if not found and name in self.gone:
            self.faults.append(taken(name, self.gone[name], where))
        elif not found:
            known = sorted({area.name for area in self._drawn() if area.name})
            mend = f"Use {nearest(known, name)}." if known else "No area has a name yet: use a point, or give names."
            self.faults.append(Fault(f'No area is called "{name}".', where, mend))
        return found

    def _at(self, point: tuple[float, float], where: str) -> list[int]:
        place = self.place_of(point)
        found = [area.number for area in self._drawn() if area.region.covers(place)][:1]
        if not found:
            near = min(self._drawn(), key=lambda area: area.region.distance(place))
            off = near.region.distance(place) * self.mm_per_unit
            mend = f"The nearest area is {called(near)}, {off:.1f} mm away; give a point inside it."
            if any(self.areas[number].region.covers(place) for number in self.ground):
                mend += " Bare board lies there; ground_at or ground_colour in [picture] says what that is."
            self.faults.append(Fault(f"No area lies at {said(point)}.", where, mend))
        return found

    def _of_colour(self, wanted: Colour, where: str) -> list[int]:
        colours = sorted({area.colour for area in self._drawn()})
        differences = ciede2000(lab_of(np.array(colours)), lab_of(np.array(wanted)))
        best = int(differences.argmin())
        if differences[best] > COLOUR_WITHIN:
            known = ", ".join(said(colour) for colour in colours)
            mend = f"The colours drawn are {known}."
            self.faults.append(Fault(f"No area is drawn in {said(wanted)}.", where, mend))
            return []
        return [area.number for area in self._drawn() if area.colour == colours[best]]

    def _drawn(self) -> list[Area]:
        return [area for area in self.areas if area.number not in self.ground]


def taken(name: str, edit: str, where: str) -> Fault:
    """What is told of a name whose area an edit took."""
    mend = f'Take this line out; or take "{name}" out of {edit}, if it is to stay.'
    if edit == "symmetrical":
        mend = "Name its mirror image; or keep the other half, with keep in [areas]."
    elif edit == "merge":
        mend = "Name the area that it is part of now."
    return Fault(f'{edit} in [areas] took "{name}", so that no area is called so any more.', where, mend)


def said(which: Which) -> str:
    """Which area is meant, as the maker would write it.

    >>> said("eye"), said((4.0, 2.5)), said((255, 0, 16))
    ('"eye"', '4.0, 2.5 mm', '#ff0010')
    """
    if isinstance(which, str):
        return f'"{which}"'
    if len(which) == 2:
        return in_mm(*which)
    return "#{:02x}{:02x}{:02x}".format(*which)


def called(area: Area) -> str:
    """An area in a sentence: by its name, else by its colour."""
    return f'"{area.name}"' if area.name else f"an area drawn in {said(area.colour)}"


def neighbours_of(areas: Sequence[Area]) -> list[dict[int, float]]:
    """For each area the length of the border that it shares with each other one, by index; points do not count."""
    regions = [area.region for area in areas]
    borders: list[dict[int, float]] = [{} for _ in areas]
    for one, other in zip(*STRtree(regions).query(regions, predicate="intersects"), strict=True):
        if one < other:
            length = float(regions[one].boundary.intersection(regions[other].boundary).length)
            if length > 0.0:
                borders[one][int(other)] = borders[other][int(one)] = length
    return borders


Wish = TypeVar("Wish")


def by_place(wishes: Sequence[tuple[Which, Wish]], drawn: Sequence[DrawnArea]) -> list[tuple[Point2 | str, Wish]]:
    """Wishes in which each colour is replaced by a point in every area drawn in it; those come first, to be outranked.

    A name that several artworks share stands for all of them; what single ones are called outranks it.

    Raises: JobFileError with every colour that nothing is drawn in.
    """
    found: list[tuple[Point2 | str, Wish]] = []
    faults: list[Fault] = []
    plain: list[tuple[Point2 | str, Wish]] = []
    sharing: list[tuple[Point2 | str, Wish]] = []
    for which, wish in wishes:
        if isinstance(which, str):
            sharing += [(name, wish) for name in names_sharing(which, drawn)]
        if isinstance(which, str) or len(which) == 2:
            plain.append((which, wish))
            continue
        meant = _drawn_in(which, drawn)
        places = [area.region.representative_point() for area in meant]
        found += [((place.x, place.y), wish) for place in places]
        if not meant:
            known = ", ".join(said(colour) for colour in sorted({area.colour for area in drawn}))
            faults.append(Fault(f"No area is drawn in {said(which)}.", "[order]", f"The colours drawn are {known}."))
    if faults:
        raise JobFileError.of(faults)
    return [*found, *sharing, *plain]


def names_sharing(name: str, drawn: Sequence[DrawnArea]) -> list[str]:
    """What the other areas are called that share a name: artworks of one name are told apart by numbers."""
    return [area.name for area in drawn if area.shared_name == name != area.name]


def _drawn_in(wanted: Colour, drawn: Sequence[DrawnArea]) -> list[DrawnArea]:
    """The areas drawn in the colour that is nearest to one, no further off than `COLOUR_WITHIN`."""
    differences = ciede2000(lab_of(np.array([area.colour for area in drawn])), lab_of(np.array(wanted)))
    best = drawn[int(differences.argmin())].colour
    return [area for area in drawn if area.colour == best] if differences.min() <= COLOUR_WITHIN else []
