"""What each program cuts: its passes in groups, the lines that a group cuts to, and what the maker calls them."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.cutting import CutLine, Pass, Program, SetUp
from purfle.model.job import JobResult
from purfle.model.offcuts import Place
from purfle.sheets.parts import labels_of
from purfle.tolerances import DEPTH_AS_CUT, SAME_PLACE

_THINNED = 20


@dataclass(frozen=True, slots=True)
class Group:
    """Passes that belong together: roughing and last pass of some lines of one depth. `words` name them."""

    words: str
    passes: tuple[Pass, ...]
    lines: tuple[CutLine, ...]

    @property
    def depth(self) -> float:
        """How deep the group goes."""
        return max(p.depth for p in self.passes)

    @property
    def roughing(self) -> tuple[Pass, ...]:
        """Its roughing passes, in their order."""
        return tuple(p for p in self.passes if p.kind == "roughing")

    @property
    def last(self) -> tuple[Pass, ...]:
        """Its last passes, and the spring passes after each, in their order."""
        return tuple(p for p in self.passes if p.kind != "roughing")


def groups_of(set_up: SetUp, program: Program) -> list[Group]:
    """The passes of a program in groups, in running order."""
    tails: dict[str, list[Pass]] = {}
    for one in program.passes:
        tails.setdefault(one.what.partition(": ")[2], []).append(one)
    return [Group(words, tuple(passes), _lines_of(set_up, program, passes)) for words, passes in tails.items()]


def lines_of(set_up: SetUp, program: Program) -> tuple[CutLine, ...]:
    """The lines that a program cuts to."""
    return _lines_of(set_up, program, list(program.passes))


def _lines_of(set_up: SetUp, program: Program, passes: list[Pass]) -> tuple[CutLine, ...]:
    """The lines that the cutter runs along in some passes: those that its edge comes to."""
    chosen = [p for p in passes if p.kind == "last"] or passes
    places = [(m.x, m.y) for p in chosen for trip in p.trips for m in trip.moves]
    if not places:
        return set_up.lines
    points = shapely.points(np.array(places))
    reach = program.cutter.radius + max(p.off_line for p in chosen) + DEPTH_AS_CUT
    return tuple(line for line in set_up.lines if _comes_near(points, line.region.boundary, reach))


def _comes_near(points: NDArray[np.object_], edge: BaseGeometry, reach: float) -> bool:
    """True if one of many points lies within reach of an edge. A few of them are asked first: mostly they tell."""
    shapely.prepare(edge)
    return any(bool(shapely.dwithin(edge, some, reach).any()) for some in (points[::_THINNED], points))


def names_of(result: JobResult, set_up: SetUp) -> dict[str, str]:
    """What the maker calls each line of a set-up on the board: by its line id."""
    layout = result.layout
    names = {f"recess-{n}": inlay.name for n, inlay in enumerate(layout.inlays, 1)}
    names |= {f.id: f.name for f in layout.fittings}
    return {line.id: names.get(line.id, line.id) for line in set_up.lines}


def places_of(result: JobResult, set_up: SetUp) -> dict[str, tuple[str, Place]]:
    """Label and place of each part of a set-up on an offcut, by its line id; spares have an s behind their number."""
    labels = labels_of(result.layout)
    found: dict[str, tuple[str, Place]] = {}
    for line in set_up.lines:
        for place in result.on_offcuts.places:
            is_it = place.offcut == set_up.stock and _is_same(place, line)
            if is_it and (place.part.inlay, place.part.number) in labels:
                label = labels[place.part.inlay, place.part.number] + "s" * place.spare
                found[line.id] = (label, place)
    return found


def _is_same(place: Place, line: CutLine) -> bool:
    return bool(np.allclose(place.region.bounds, line.region.bounds, atol=SAME_PLACE))
