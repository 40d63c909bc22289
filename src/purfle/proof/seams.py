"""Putting the parts together: does every part go in, and how wide is the seam along its whole line."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, STRtree
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.model.proof import SeamReadBack
from purfle.proof.found import stop
from purfle.proof.nearness import nearest, pairs_within
from purfle.proof.regions import grown, inside, only_wood
from purfle.tolerances import (
    NO_WOOD,
    SEAM_AS_CUT,
    SEAM_CORNER_FACTOR,
    SEAM_PLACE,
    SEAM_STEP,
    SEAM_WIDE_SHARE,
)

_MEND = "write the files again from the job; do not cut with these"
_WALL = "the wall of the recess"
_FAR = 5.0
"""In mm: a place with nothing nearer than this is open, however far the next wood is."""
_NOWHERE = MultiPolygon()
_MOST_PLACES = 100
"""Of wide places, the widest so many are listed: what is wide everywhere needs no more."""


@dataclass(frozen=True, slots=True)
class Together:
    """One inlay put together, board frame: `drawn` seam, the recess, and each part with its label.

    `tight` holds the recess at its smallest and the parts at their largest over the height of the wood, `loose` the
    other way round; outline files know only one size, so both are the same.
    """

    inlay: str
    kind: str
    drawn: float
    labels: tuple[str, ...]
    tight: tuple[BaseGeometry, tuple[BaseGeometry, ...]]
    loose: tuple[BaseGeometry, tuple[BaseGeometry, ...]]


@dataclass(frozen=True, slots=True)
class _Samples:
    """Places along every wall: where, whose (0 the recess, then the parts), how much line, how far to the next wood."""

    place: NDArray[np.float64]
    owner: NDArray[np.int64]
    line: NDArray[np.float64]
    width: NDArray[np.float64]


def put_together(together: Together, empty: BaseGeometry = _NOWHERE) -> tuple[SeamReadBack | None, list[Finding]]:
    """The seam of one inlay as read back, and what keeps its parts from going in or its seam from being tight.

    Along the places that are known to stay `empty` there is no seam to measure; None where there is none at all.
    """
    recess, parts = together.tight
    clash, area = _clashes(together, recess, parts)
    tight = _beside(_measure(recess, parts, limit(together)), empty, limit(together))
    same = all(a is b for a, b in zip((recess, *parts), (together.loose[0], *together.loose[1]), strict=True))
    loose = tight if same else _beside(_measure(*together.loose, limit(together)), empty, limit(together))
    if not (len(tight.width) and len(loose.width)):
        return None, clash
    narrow, wide = int(np.argmin(tight.width)), int(np.argmax(loose.width))
    off = np.abs(loose.width - together.drawn) > SEAM_AS_CUT
    seam = SeamReadBack(
        inlay=together.inlay,
        kind=together.kind,
        drawn=together.drawn,
        narrowest=float(tight.width[narrow]),
        narrowest_at=_at(tight, narrow),
        widest=float(loose.width[wide]),
        widest_at=_at(loose, wide),
        share_within=1.0 - float(loose.line[off].sum() / loose.line.sum()),
        # each stretch of seam has wood on both its sides
        length=float(loose.line.sum() / 2),
        wide_places=_wide_places(loose, together.drawn),
        interference_area=area,
    )
    labels = (_WALL, *together.labels)
    return seam, [
        *clash,
        *_seam_faults(
            seam,
            lambda: _between(tight, narrow, (recess, *parts), labels),
            lambda: _between(loose, wide, (together.loose[0], *together.loose[1]), labels),
        ),
        *_hole(together, seam, empty),
    ]


def limit(together: Together) -> float:
    """No seam may be wider than this anywhere."""
    return SEAM_CORNER_FACTOR * together.drawn + SEAM_AS_CUT


def _beside(samples: _Samples, empty: BaseGeometry, most: float) -> _Samples:
    """The samples without those along places that stay empty, nor in the nooks where these run out into seams."""
    if empty.is_empty:
        return samples
    keep = shapely.distance(shapely.points(samples.place), empty) > 2 * most + SEAM_STEP
    return _Samples(samples.place[keep], samples.owner[keep], samples.line[keep], samples.width[keep])


def _at(samples: _Samples, index: int) -> tuple[float, float]:
    x, y = samples.place[index]
    return float(x), float(y)


def _where(together_name: str, kind: str, place: tuple[float, float], whose: str) -> str:
    source = f"the {kind}" if kind in ("programs", "templates", "passes", "patterns") else f"the {kind.upper()} files"
    spot = f"at {place[0]:.2f}, {place[1]:.2f} mm on the board"
    return f"inlay '{together_name}' put together from {source}, {whose}, {spot}"


def _between(samples: _Samples, index: int, regions: tuple[BaseGeometry, ...], labels: tuple[str, ...]) -> str:
    """Whose wall a place stands on, and what it faces: of two parts either may be the one that is wrong."""
    owner = int(samples.owner[index])
    away = shapely.distance(shapely.boundary(np.array(regions, object)), shapely.Point(samples.place[index]))
    away[owner] = np.inf
    return labels[owner] if len(labels) < 2 else f"{labels[owner]} beside {labels[int(np.argmin(away))]}"


def _seam_faults(seam: SeamReadBack, narrow: Callable[[], str], wide: Callable[[], str]) -> list[Finding]:
    """What is wrong with a seam. `narrow`, `wide`: who stands beside it at its narrowest and widest place."""
    found = []
    drawn = f"it is drawn {seam.drawn:.3f} mm wide"
    if seam.narrowest < seam.drawn - SEAM_AS_CUT:
        what = f"the seam is only {seam.narrowest:.3f} mm wide; {drawn}"
        found.append(stop(what, _where(seam.inlay, seam.kind, seam.narrowest_at, narrow()), _MEND, seam.narrowest_at))
    if seam.widest > SEAM_CORNER_FACTOR * seam.drawn + SEAM_AS_CUT:
        what = f"the seam opens to {seam.widest:.3f} mm; {drawn}"
        found.append(stop(what, _where(seam.inlay, seam.kind, seam.widest_at, wide()), _MEND, seam.widest_at))
    if 1 - seam.share_within > SEAM_WIDE_SHARE:
        what = f"only {100 * seam.share_within:.1f} % of the seam is as wide as drawn; {drawn}"
        found.append(stop(what, _where(seam.inlay, seam.kind, seam.widest_at, wide()), _MEND, seam.widest_at))
    return found


def _clashes(together: Together, recess: BaseGeometry, parts: tuple[BaseGeometry, ...]) -> tuple[list[Finding], float]:
    """Wood where wood is already: parts in each other, parts in the wall."""
    pairs = [(i, -1, parts[i].difference(recess)) for i in _not_covered(recess, parts)]
    of_parts = np.array(parts, object)
    left, right = STRtree(of_parts).query(of_parts, predicate="intersects")
    for i, j in zip(left, right, strict=True):
        if i < j:
            pairs.append((int(i), int(j), parts[i].intersection(parts[j])))
    found, total = [], 0.0
    for i, j, shared in pairs:
        # a seam drawn narrower than what cutting can show may close, but no more than that
        deep = only_wood(grown(shared, -max(0.0, SEAM_AS_CUT - together.drawn) / 2))
        if deep.is_empty:
            continue
        area, place = float(shared.area), inside(deep)
        total += area
        other = together.labels[j] if j >= 0 else _WALL
        what = f"{together.labels[i]} does not go in: it overlaps {other} by {area:.3f} mm2"
        where = _where(together.inlay, together.kind, place, together.labels[i])
        mend = (
            "write the files again from the job; if the part's own outline is sound, the card's place for it is wrong"
        )
        found.append(stop(what, where, mend, place))
    return found, total


def _not_covered(recess: BaseGeometry, parts: tuple[BaseGeometry, ...]) -> NDArray[np.int64]:
    shapely.prepare(recess)
    return np.flatnonzero(~shapely.covers(recess, np.array(parts, object)))


def _measure(recess: BaseGeometry, parts: tuple[BaseGeometry, ...], limit: float) -> _Samples:
    """Walk along every wall and measure to the nearest wood of another owner.

    The nearest place of two polylines is always at a corner of one of them, so corners alone find the narrowest;
    places between them serve the share and the widest.
    """
    bits, owner = _bits((recess, *parts))
    start, end = bits[:, 0], bits[:, 1]
    width = np.full(len(start), np.inf)
    for reach in (limit + SEAM_AS_CUT, _FAR):
        wanting = np.flatnonzero(np.isinf(width))
        width[wanting] = _to_others(start[wanting], owner[wanting], bits, owner, reach)
        if np.isfinite(width).all():
            break
    line = np.hypot(*(end - start).T)
    # a place stands for half of the bit before it and half of the one after; a ring's last bit comes before its first
    begins = np.flatnonzero(np.concatenate([[True], (end[:-1] != start[1:]).any(axis=1)]))
    before = np.concatenate([[0.0], line[:-1]])
    before[begins] = line[np.concatenate([begins[1:], [len(line)]]) - 1]
    return _Samples(start, owner, (line + before) / 2, np.minimum(width, _FAR))


def _bits(regions: tuple[BaseGeometry, ...]) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """The walls of the regions in bits (n, 2, 2) no longer than the step, each with the index of its region."""
    dense = shapely.segmentize(shapely.boundary(np.array(regions, object)), SEAM_STEP)
    rings, of_region = shapely.get_parts(dense, return_index=True)
    points, of_ring = shapely.get_coordinates(rings, return_index=True)
    follows = of_ring[1:] == of_ring[:-1]
    bits = np.stack([points[:-1], points[1:]], axis=1)[follows]
    return bits, of_region[of_ring[:-1][follows]]


def _to_others(
    places: NDArray[np.float64],
    owner: NDArray[np.int64],
    bits: NDArray[np.float64],
    of_bit: NDArray[np.int64],
    reach: float,
) -> NDArray[np.float64]:
    """Distance from each place to the nearest bit of another owner, infinite beyond `reach`."""
    pairs = pairs_within(places, bits, reach)
    away = nearest(places, bits, pairs.only(owner[pairs.place] != of_bit[pairs.bit]))[0]
    away[away > reach] = np.inf
    return away


def _wide_places(samples: _Samples, drawn: float) -> tuple[tuple[float, float, float], ...]:
    """Where the seam opens beyond the drawn width: the widest place of each spot, widest first."""
    wide = np.flatnonzero(samples.width > drawn + SEAM_AS_CUT)
    # widest first; equal widths by place, so that the order is the same every time
    x, y = samples.place[wide].round(6).T
    wide = wide[np.lexsort((y, x, -samples.width[wide].round(6)))]
    taken = np.empty((0, 2))
    kept: list[tuple[float, float, float]] = []
    for index in wide:
        place = samples.place[index]
        if len(kept) < _MOST_PLACES and not (np.hypot(*(taken - place).T) < SEAM_PLACE).any():
            taken = np.vstack([taken, place])
            kept.append((*_at(samples, int(index)), float(samples.width[index])))
    return tuple(kept)


def hollow(together: Together) -> BaseGeometry:
    """The places in the recess that are wider than any seam may be and hold no part, shrunk by half that width."""
    recess, parts = together.loose
    return only_wood(grown(recess.difference(shapely.union_all(list(parts))), -limit(together) / 2))


def _hole(together: Together, seam: SeamReadBack, empty: BaseGeometry) -> list[Finding]:
    """A place in the recess that no part fills: only looked for where the seam is too wide somewhere."""
    most = limit(together)
    if seam.widest <= most and together.labels:
        return []
    hole = only_wood(hollow(together).difference(empty))
    if hole.is_empty or math.isclose(hole.area, 0.0, abs_tol=NO_WOOD):
        return []
    place = inside(hole)
    what = f"about {grown(hole, most / 2).area:.2f} mm2 of the recess stay empty: a part is missing or too small"
    return [stop(what, _where(together.inlay, together.kind, place, _WALL), _MEND, place)]
