"""The skin that roughing leaves below parts: nothing but the last pass, on the line, goes through it."""

import numpy as np
import shapely
from shapely import STRtree

from purfle.model.findings import Finding
from purfle.proof.cuts import Outlined, SetUpCut
from purfle.proof.found import stop
from purfle.proof.program import Reading
from purfle.proof.sweep import Way
from purfle.tolerances import DEPTH_LISTED, GRID, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with this one"
_BESIDE = 1.1
"""Roughing stays off the line by no more than this, mm."""
_ROUND = 0.5
"""What goes along so large a share of an outline goes round it."""


def check_skin(cut: SetUpCut, outlines: Outlined) -> list[Finding]:
    """Every part whose skin a pass off the line goes through: tape or tabs hold it sooner than the card says."""
    skin = cut.set_up.skin
    if skin <= DEPTH_LISTED or not cut.set_up.cuts_parts:
        return []
    names = [line.id for line in cut.set_up.lines if outlines.get(line.id)]
    walls = [shapely.boundary(outlines[name][0]) for name in names]
    top = cut.set_up.thickness - skin + DEPTH_LISTED
    return [
        found
        for reading, way in zip(cut.readings, cut.ways, strict=True)
        for found in _through(reading, way.below(top), names, walls)
    ]


def _through(reading: Reading, deep: Way, names: list[str], walls: list[shapely.Geometry]) -> list[Finding]:
    """What a program's way below the skin goes round without being on the line of any part."""
    bits = shapely.linestrings(deep.level)
    bit, wall = STRtree(walls).query(bits, predicate="dwithin", distance=deep.radius + _BESIDE)
    away = shapely.distance(shapely.centroid(bits[bit]), np.array(walls)[wall])
    on_line = np.zeros(len(bits), bool)
    on_line[bit[np.abs(away - deep.radius) <= SIDE_AS_CUT + GRID]] = True
    off = ~on_line[bit] & (away > deep.radius)
    found = []
    for number, name in enumerate(names):
        mine = bit[off & (wall == number)]
        if shapely.length(bits[mine]).sum() > _ROUND * walls[number].length:
            what = f"a pass off the line goes round '{name}' below its skin: the part is loose before its last pass"
            found.append(stop(what, f"{reading.file}, line {reading.line[deep.move[mine[0]]]}, line '{name}'", _MEND))
    return found
