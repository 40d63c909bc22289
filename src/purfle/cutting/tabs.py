"""Where tabs stand: on long straight or gentle runs of a part's outline, evenly round its middle, never at a corner.

the cutter's middle goes level over a tab for a length of its width and a cutter's; what stands is narrowest there,
and as long as that at its foot on the wall, since the ends of the groove are round
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.cutting.laps import least_between
from purfle.cutting.lines import Named
from purfle.cutting.rings import Ring
from purfle.geometry.offsetting import Region, difference, grow, polygons, union_of
from purfle.model.cutting import CuttingRule
from purfle.model.findings import Finding
from purfle.model.offcuts import Tab
from purfle.tolerances import PATH_JOIN, SAME_PLACE

Reals = NDArray[np.float64]
FEWEST = 2
"""One tab alone lets a part turn about it."""
STEP = 0.5
"""Tabs are tried so far apart along the outline, mm."""
TIGHT_DEG, GENTLE_DEG = 25.0, 75.0
"""Over a cutter's width of its way a run may turn by so much, and over a whole tab by so much: all else is a corner or
a tight arc, which a chisel follows badly (common practice, no source)."""
BESIDE = 1.0
"""So much of the run beyond each end of a tab has to be gentle too, mm (common practice, no source)."""
LANDS_ON = 1.5
"""Wood that the tab leads to, at least, mm (common practice, no source)."""
STANDS_ON = 1.5
"""Wood of the part behind its tab, at least, mm: a thin tip snaps when the tab is cut (common practice, no source)."""
GAP = 0.5
"""The ends of what is looked at for wood stand off the wall and the groove by this, mm: a run bends a little."""
TALLEST = 0.5
"""Share of the wood's thickness that a tab is high, at most."""
UNEVEN = 1.0 / 3.0
"""A tab stands off its even place by this share of the distance between two, at most."""
APART = 2.0
"""Between two tabs, at least, mm."""


@dataclass(frozen=True, slots=True)
class _Foot:
    """A place where a tab may stand: how far along the cutter's way, how much the run turns there, and the tab."""

    along: float
    turn: float
    tab: Tab


@dataclass(frozen=True, slots=True)
class _Wish:
    """What a tab of one part has to be like: its size, the radius of the cutter, the wood that stays around."""

    width: float
    height: float
    radius: float
    stays: BaseGeometry

    @property
    def long(self) -> float:
        """How far the cutter's middle goes over a tab."""
        return self.width + 2.0 * self.radius


def room_for_tabs(width: float) -> tuple[float, float]:
    """How far (mm) from the edge of a stock, and from each other, parts lie so that their tabs lead to wood that stays.

    `width`: of the cutter's groove.
    """
    return width + LANDS_ON + GAP, 2.0 * width + LANDS_ON + GAP


def with_tabs(
    parts: Sequence[Named], stock: Polygon, rule: CuttingRule, thickness: float, where: str
) -> tuple[tuple[Named, ...], tuple[Finding, ...]]:
    """The parts with the tabs that they are held by, and those told that find no room for two of them."""
    stays = _stays(parts, stock)
    height = min(rule.tab_height, TALLEST * thickness)
    held = []
    for part in parts:
        wish = _Wish(rule.tab_width, height, part.cut_by[0][1].radius, stays)
        tabs = _tabs_of(next(polygons(part.line.region)), wish, rule)
        held.append(replace(part, line=replace(part.line, tabs=tabs)))
    return tuple(held), tuple(_told(held, height, rule, where))


def _told(held: Sequence[Named], height: float, rule: CuttingRule, where: str) -> Iterator[Finding]:
    without = [part.name for part in held if not part.line.tabs]
    if without:
        what = f"no room for two tabs, so tape alone holds: {_counted(without)}"
        mend = f"ask for narrower tabs than {rule.tab_width:.1f} mm (tab_width in [cutting]), lay these parts further "
        mend += "apart (between in [offcuts]), or tape the whole offcut down"
        yield Finding("note", what, where, mend, "cutting")
    if height < rule.tab_height - SAME_PLACE:
        what = f"tabs are {height:.2f} mm high, not {rule.tab_height:.2f} mm: half the thickness of the wood"
        mend = f"leave it at that, or ask for tabs of {height:.2f} mm or lower (tab_height in [cutting])"
        yield Finding("note", what, where, mend, "cutting")


def _counted(names: Sequence[str]) -> str:
    """Parts as sheets name them, those that lie there several times once, with how many."""
    counts = Counter(name.removesuffix(", spare") for name in names)
    return "; ".join(f"{name} ({count} of it)" if count > 1 else name for name, count in counts.items())


def _stays(parts: Sequence[Named], stock: Polygon) -> Region:
    """The wood that is left around all parts and reaches the edge of the stock, where it is held."""
    grooves = [grow(Polygon(p.exterior), part.cut_by[0][1].width) for part in parts for p in polygons(part.line.region)]
    left = list(polygons(difference(stock, union_of(grooves))))
    held = [one for one in left if shapely.dwithin(one, stock.exterior, PATH_JOIN)]
    return max(held, key=lambda one: one.area, default=Polygon())


def _tabs_of(part: Polygon, wish: _Wish, rule: CuttingRule) -> tuple[Tab, ...]:
    """As many tabs as asked for, or fewer where no more find room; none where two do not."""
    way = _way_round(part, wish.radius)
    feet = list(_feet(part, way, wish))
    spacing = wish.long + max(APART, least_between(wish.height + rule.through))
    for count in range(rule.tabs, FEWEST - 1, -1):
        best = _evenest(feet, count, (way.length, spacing), part)
        if best:
            return tuple(foot.tab for foot in best)
    return ()


def _way_round(part: Polygon, radius: float) -> Ring:
    outline = next(polygons(grow(Polygon(part.exterior), radius))).exterior
    points = np.asarray(outline.coords)
    return Ring.of(points if outline.is_ccw else points[::-1])


# --- places


def _feet(part: Polygon, way: Ring, wish: _Wish) -> Iterator[_Foot]:
    """Every place, a step from the one before it, where a tab may stand."""
    bends = _Bends.of(way, wish.radius)
    shapely.prepare(part)
    shapely.prepare(wish.stays)
    half = wish.long / 2.0
    for along in np.arange(0.0, way.length, STEP).tolist():
        turn, tightest = bends.between(along - half - BESIDE, along + half + BESIDE)
        if turn > GENTLE_DEG or tightest > TIGHT_DEG or 2.0 * (half + BESIDE) > way.length:
            continue
        tab = _tab(part, [way.at(along + off) for off in (-half, 0.0, half)], wish)
        if tab is not None:
            yield _Foot(along, turn, tab)


@dataclass(frozen=True, slots=True)
class _Bends:
    """Where a closed way turns, three times round so that no window runs over its end: places, degrees turned up to
    and with each, and degrees turned within a radius about each.
    """

    at: Reals
    turned: Reals
    near: Reals
    length: float

    @classmethod
    def of(cls, way: Ring, radius: float) -> "_Bends":
        """The bends of a way, looked at over a length of two radii."""
        steps = np.diff(way.points, axis=0)
        heading = np.arctan2(steps[:, 1], steps[:, 0])
        turn = np.abs(np.degrees((np.diff(heading, prepend=heading[-1]) + math.pi) % math.tau - math.pi))
        at = np.concatenate([way.along[:-1] + lap * way.length for lap in (-1, 0, 1)])
        turned = np.cumsum(np.tile(turn, 3))
        before = np.concatenate(([0.0], turned))
        first, last = np.searchsorted(at, at - radius), np.searchsorted(at, at + radius, side="right")
        return cls(at, turned, before[last] - before[first], way.length)

    def between(self, start: float, end: float) -> tuple[float, float]:
        """Degrees turned between two places, and the most within two radii there."""
        first, last = np.searchsorted(self.at, start), np.searchsorted(self.at, end, side="right")
        if last <= first:
            return 0.0, 0.0
        before = float(self.turned[first - 1]) if first else 0.0
        return float(self.turned[last - 1]) - before, float(self.near[first:last].max())


def _tab(part: Polygon, middles: Sequence[Reals], wish: _Wish) -> Tab | None:
    """The tab between two places of the cutter's middle, with the place between them; None where it does not hold.

    Its axes are those of the line between the two places: there the groove's round ends come nearest to each other.
    """
    first, middle, last = middles
    apart = last - first
    between = float(np.hypot(*apart))
    along = apart / between
    out = np.array([along[1], -along[0]])  # the way round is counter-clockwise
    centre = (first + last) / 2.0
    foot = _on_wall(part, centre, out, wish.radius)
    if foot is None:
        return None
    width = between - 2.0 * wish.radius
    sides = [foot + along * off for off in (-width / 2.0, 0.0, width / 2.0)]
    lands = _bars(sides, out, 2.0 * wish.radius + GAP, 2.0 * wish.radius + LANDS_ON)
    behind = _bars(sides, out, -GAP, -max(STANDS_ON, width / 2.0))
    if not (wish.stays.covers(lands) and part.covers(behind)):
        return None
    ends = [shapely.get_coordinates(shapely.shortest_line(part.exterior, shapely.Point(at)))[0] for at in (first, last)]
    reach = max(abs(float(np.dot(end - foot, along))) for end in ends)
    x, y = (float(way) for way in foot)
    outwards = math.degrees(math.atan2(out[1], out[0])) % 360.0
    at = (float(middle[0]), float(middle[1]))
    return Tab((x, y), outwards, width, 2.0 * reach, wish.height, at, wish.long)


def _on_wall(part: Polygon, centre: Reals, out: Reals, radius: float) -> Reals | None:
    """Where a line inwards from between two places of the cutter's middle meets the wall."""
    ray = LineString([centre, centre - out * (radius + GAP)])
    met = shapely.get_coordinates(ray.intersection(part.exterior))
    if not len(met):
        return None
    return np.asarray(met[int(np.argmin(np.hypot(*(met - centre).T)))])


def _bars(sides: Sequence[Reals], out: Reals, near: float, far: float) -> MultiLineString:
    """Lines outwards from some places, from one distance off the wall to another."""
    return MultiLineString([LineString([side + out * near, side + out * far]) for side in sides])


# --- which of them


def _evenest(feet: Sequence[_Foot], count: int, room: tuple[float, float], part: Polygon) -> tuple[_Foot, ...] | None:
    """So many of the places, as evenly round the part as can be, their middle nearest to its own.

    `room`: once round, and from one tab to the next at least.
    """
    if len(feet) < count:
        return None
    found = [some for first in feet if (some := _even(feet, first, count, room))]
    return min(found, key=lambda some: _cost(some, room[0], part), default=None)


def _even(feet: Sequence[_Foot], first: _Foot, count: int, room: tuple[float, float]) -> tuple[_Foot, ...] | None:
    """The places nearest to even ones that begin with the first; None where one lies too far off, or two too near."""
    around, spacing = room
    chosen = [first]
    for number in range(1, count):
        wanted = first.along + number * around / count
        nearest = min(feet, key=lambda foot: (round(abs(_off(foot.along, wanted, around)), 6), foot.along))
        if abs(_off(nearest.along, wanted, around)) > UNEVEN * around / count:
            return None
        chosen.append(nearest)
    alongs = sorted(foot.along for foot in chosen)
    gaps = [(alongs[(k + 1) % count] - alongs[k]) % around for k in range(count)]
    return tuple(chosen) if min(gaps) >= spacing else None


def _off(along: float, wanted: float, around: float) -> float:
    return (along - wanted + around / 2.0) % around - around / 2.0


def _cost(some: Sequence[_Foot], around: float, part: Polygon) -> tuple[float, float]:
    """How uneven a choice is, in shares of the part's own size: off its middle, off even places, and how bent."""
    middle = np.mean([foot.tab.place for foot in some], axis=0)
    off = math.dist(middle, part.centroid.coords[0]) / math.sqrt(part.area)
    wide = around / len(some)
    uneven = sum(abs(_off(foot.along, some[0].along + k * wide, around)) for k, foot in enumerate(some)) / around
    bent = sum(foot.turn for foot in some) / len(some) / GENTLE_DEG
    return round(off + uneven + bent, 6), some[0].along
