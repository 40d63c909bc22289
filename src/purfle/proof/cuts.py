"""What the programs of one set-up leave: each line's region and depth, as cut."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, STRtree
from shapely.geometry.base import BaseGeometry

from purfle.errors import ProgramError
from purfle.proof.card import SetUpOnCard
from purfle.proof.program import Reading
from purfle.proof.regions import grown, only_wood, polygons
from purfle.proof.sweep import Unswept, Way, sections
from purfle.proof.tabs import Tabbed, levels_of, tab_levels
from purfle.tolerances import DEPTH_AS_CUT, JUST_BELOW, NO_WOOD

OFF_STOCK = 50.0
"""In mm: further than this beside the stock nothing that is cut matters, also of recesses that run out over an edge."""
_MEND = (
    "do not cut with it; make the job again with a seam 0.01 mm wider or narrower, and report this program as a fault"
)
Outlined = dict[str, tuple[BaseGeometry, ...]]
"""For each line, its outline from every file that has it."""


@dataclass(frozen=True, slots=True)
class LineCut:
    """One line as cut, in the set-up frame: the `least` region over its whole height, the `most`, and the depth."""

    least: BaseGeometry
    most: BaseGeometry
    depth: float


@dataclass(frozen=True, slots=True)
class SetUpCut:
    """One set-up as cut: its lines, what was cut near no line, and what each program takes away at the top.

    Cut by hand it has no programs, but `sources`: for each line the files and bushes that guide it. `from_outlines`:
    what guides it are the outline files themselves.
    """

    set_up: SetUpOnCard
    readings: tuple[Reading, ...]
    ways: tuple[Way, ...]
    lines: dict[str, LineCut]
    stray: BaseGeometry
    tops: tuple[BaseGeometry, ...]
    sources: dict[str, str] = field(default_factory=dict)
    by_hand_radius: float = 0.0
    from_outlines: bool = False
    tabbed: tuple[Tabbed, ...] = ()

    @property
    def smallest_radius(self) -> float:
        """Of the cutters that cut here."""
        return min((way.radius for way in self.ways), default=self.by_hand_radius)

    @property
    def cut_by(self) -> str:
        """What cuts here, as a word."""
        return "passes" if self.from_outlines else "templates" if self.sources else "program"

    def files_of(self, line: str) -> str:
        """The files that say how a line is cut."""
        return self.sources.get(line) or ", ".join(program.file for program in self.set_up.programs)


def cut_set_up(
    set_up: SetUpOnCard, readings: tuple[Reading, ...], ways: tuple[Way, ...], outlines: Outlined
) -> SetUpCut:
    """Sweep all programs of a set-up and give each line its part of what was cut; `outlines` say where to look."""
    depths = _levels(set_up)
    by_program = [_swept(reading, way, depths) for reading, way in zip(readings, ways, strict=True)]
    levels = {depth: _together([found[index] for found in by_program]) for index, depth in enumerate(depths)}
    tops = tuple(found[0] for found in by_program)
    if set_up.cuts_parts:
        lines, tabbed = _parts(set_up, levels, ways, outlines)
        return SetUpCut(set_up, readings, ways, lines, MultiPolygon(), tops, tabbed=tabbed)
    lines, others = _recesses(set_up, levels, ways, outlines)
    stray = MultiPolygon(list(others)).intersection(set_up.outline) if len(others) else MultiPolygon()
    return SetUpCut(set_up, readings, ways, lines, only_wood(stray), tops)


def _swept(reading: Reading, way: Way, depths: tuple[float, ...]) -> tuple[BaseGeometry, ...]:
    """What a program takes away at each depth; where the engine cannot tell, the line of the program at fault."""
    try:
        return sections(way, depths)
    except Unswept as lost:
        x, y = reading.end[lost.move, :2]
        where = f"{reading.file}, line {reading.line[lost.move]}, at {x:.2f}, {y:.2f} mm on the machine"
        raise ProgramError("what the cutter takes away here cannot be worked out", where, _MEND) from lost


def _together(regions: Sequence[BaseGeometry] | NDArray[np.object_]) -> BaseGeometry:
    """All regions as one; a single one as it is."""
    alone: BaseGeometry = regions[0] if len(regions) == 1 else shapely.union_all(regions)
    return alone


def _levels(set_up: SetUpOnCard) -> tuple[float, ...]:
    """The depths that tell everything about straight walls: just below the top, just above and below each floor."""
    if set_up.cuts_parts:
        return tuple(sorted({JUST_BELOW, *tab_levels(set_up), set_up.underside}))
    floors = {line.depth + side for line in set_up.lines for side in (-DEPTH_AS_CUT, DEPTH_AS_CUT)}
    return tuple(sorted({JUST_BELOW, *(depth for depth in floors if depth > JUST_BELOW)}))


def _recesses(
    set_up: SetUpOnCard, levels: dict[float, BaseGeometry], ways: tuple[Way, ...], outlines: Outlined
) -> tuple[dict[str, LineCut], NDArray[np.object_]]:
    """Each line with what was cut where it lies; and what was cut where none lies."""
    top = polygons(_near_stock(levels[JUST_BELOW], set_up))
    tree, owned = STRtree(top), np.zeros(len(top), bool)
    found = {}
    for line in set_up.lines:
        touched = [tree.query(outline, predicate="intersects") for outline in outlines.get(line.id, ())]
        if not touched:
            continue
        places = [_together(top[pieces]) for pieces in touched]
        likest = _likest(places, outlines[line.id])
        most = places[likest]
        owned[touched[likest]] = True
        floor = levels.get(line.depth - DEPTH_AS_CUT, levels[JUST_BELOW])
        least = floor.intersection(most) if len(top) > 1 else floor
        found[line.id] = _settled(least, most, _depth(most, ways, 0.0))
    return found, top[~owned]


def _near_stock(region: BaseGeometry, set_up: SetUpOnCard) -> BaseGeometry:
    """What a damaged program cuts far off the stock is cut off: there is no wood, and no end to measuring it."""
    left, low, right, high = set_up.outline.bounds
    near = shapely.box(left - OFF_STOCK, low - OFF_STOCK, right + OFF_STOCK, high + OFF_STOCK)
    return region if near.contains(shapely.envelope(region)) else region.intersection(near)


def _parts(
    set_up: SetUpOnCard, levels: dict[float, BaseGeometry], ways: tuple[Way, ...], outlines: Outlined
) -> tuple[dict[str, LineCut], tuple[Tabbed, ...]]:
    """Each part as cut; one on tabs as it is once they are cut by hand."""
    shelves = {depth: polygons(set_up.outline.difference(cut)) for depth, cut in levels.items()}
    trees = {depth: STRtree(shelf) for depth, shelf in shelves.items()}

    def wood(depth: float, outline: BaseGeometry) -> BaseGeometry:
        return _at(shelves[depth], trees[depth], outline)

    widest = max((way.radius for way in ways), default=0.0)
    found: dict[str, LineCut] = {}
    on_tabs: list[Tabbed] = []
    for line in set_up.lines:
        places = outlines.get(line.id, ())
        if not places:
            continue
        ends = [wood(set_up.underside, outline) for outline in places]
        if line.tabs:
            tops = [levels_of(tab, set_up.thickness) for tab in line.tabs]
            held = [
                Tabbed(
                    line,
                    end,
                    tuple((wood(over, outline), wood(under, outline)) for over, under in tops),
                    wood(min(over for over, _ in tops), outline),
                    2.0 * widest,
                )
                for end, outline in zip(ends, places, strict=True)
            ]
            ends = [one.pared for one in held]
            on_tabs.append(held[_likest(ends, places)])
        best = _likest(ends, places)
        least = wood(JUST_BELOW, places[best])
        found[line.id] = _settled(least, ends[best], _depth(places[best], ways, 2.5 * widest))
    return found, tuple(on_tabs)


def _likest(cut: list[BaseGeometry], outlines: tuple[BaseGeometry, ...]) -> int:
    """Which outline the programs follow: an outline file that lies elsewhere must not say where to look."""
    if len(cut) == 1 or cut[0].equals_exact(cut[1]):
        return 0
    misfit = [found.symmetric_difference(outline).area for found, outline in zip(cut, outlines, strict=True)]
    return int(np.argmin(misfit))


def _at(pieces: NDArray[np.object_], tree: STRtree, outline: BaseGeometry) -> BaseGeometry:
    """The one piece of wood that lies where the outline is."""
    near = pieces[tree.query(outline, predicate="intersects")]
    if len(near) < 2:
        return near[0] if len(near) else MultiPolygon()
    shared = shapely.area(shapely.intersection(near, outline))
    best: BaseGeometry = near[int(np.argmax(shared))]
    return best


def _settled(least: BaseGeometry, most: BaseGeometry, depth: float) -> LineCut:
    """Where top and bottom are the same wood, both are held as one region: what follows is done once."""
    same = abs(most.area - least.area) < NO_WOOD
    return LineCut(most if same else least, most, depth)


def _depth(region: BaseGeometry, ways: tuple[Way, ...], around: float) -> float:
    """Deepest place that any cutter reaches in (or around) a region."""
    room = grown(region, around)
    shapely.prepare(room)
    deepest = 0.0
    for way in ways:
        here = shapely.contains_xy(room, way.end[:, 0], way.end[:, 1]) & np.isfinite(way.end[:, 2])
        if here.any():
            deepest = max(deepest, -float(way.end[here, 2].min()))
    return deepest
