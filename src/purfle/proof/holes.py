"""Holes that are drilled by hand, as the assembly card states them, against the recesses as their files cut them."""

from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Face, Finding
from purfle.proof.found import stop
from purfle.proof.shelf import Shelf
from purfle.tolerances import NO_WOOD

FACES: tuple[Face, Face] = ("show", "underside")


@dataclass(frozen=True, slots=True)
class HoleOnCard:
    """One hole, board frame: `diameter` of all that it takes, `fitting` that it serves."""

    number: int
    name: str
    face: Face
    centre: tuple[float, float]
    diameter: float
    depth: float
    through: bool
    fitting: str


@dataclass(frozen=True, slots=True)
class Hollow:
    """One recess of the board as cut, board frame. `fitting`: the name of the hardware that it is for."""

    name: str
    face: Face
    region: BaseGeometry
    depth: float
    fitting: str = ""


def read_hole(shelf: Shelf) -> HoleOnCard:
    """One hole of the assembly card."""
    x, y = shelf.numbers("centre", 2)
    hole = HoleOnCard(
        number=shelf.whole("number"),
        name=shelf.text("name"),
        face="show" if shelf.choice("face", FACES) == "show" else "underside",
        centre=(x, y),
        diameter=shelf.number("diameter", above=0.0),
        depth=shelf.number("depth", above=0.0),
        through=shelf.claim("through"),
        fitting=shelf.text("fitting"),
    )
    shelf.nothing_else()
    return hole


def check_holes(
    holes: tuple[HoleOnCard, ...], recesses: list[Hollow], board: BaseGeometry, thickness: float
) -> list[Finding]:
    """Holes that come out where they must not: off the board or through it, into what is cut from the other face or
    beside, into each other.
    """
    found = []
    for hole in holes:
        disc, where = _disc(hole), _where(hole)
        if not shapely.covers(board, disc):
            mend = "move it inward, and write the files again"
            found.append(stop(f"{hole.name} does not lie on the board", where, mend, hole.centre))
        if not hole.through and hole.depth >= thickness:
            what = f"{hole.name} is {hole.depth:.2f} mm deep and comes through {thickness:.2f} mm of board"
            found.append(stop(what, where, "take it shorter, and write the files again", hole.centre))
        for recess in recesses:
            if disc.intersection(recess.region).area > NO_WOOD and _runs_into(hole, recess, thickness):
                what = f"{hole.name} runs into {recess.name} on the {_told(recess.face)}"
                mend = "take it shorter, or move one of them, and write the files again"
                found.append(stop(what, where, mend, hole.centre))
    return found


def check_pairs(holes: tuple[HoleOnCard, ...], thickness: float) -> list[Finding]:
    """Holes that run into each other: of one face, of which one is through, or from both faces too deep."""
    found = []
    for one, other in combinations(holes, 2):
        is_deep = one.face == other.face or one.through or other.through or one.depth + other.depth >= thickness
        if is_deep and _disc(one).intersection(_disc(other)).area > NO_WOOD:
            what = f"{one.name} and {other.name} run into each other"
            mend = "move one of them, or take it shorter, and write the files again"
            found.append(stop(what, _where(one), mend, one.centre))
    return found


def _disc(hole: HoleOnCard) -> Polygon:
    """All that a hole takes of the board, board frame."""
    return shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=90)


def _where(hole: HoleOnCard) -> str:
    at = f"{hole.centre[0]:.2f}, {hole.centre[1]:.2f} mm"
    return f"hole {hole.number} of the {_told(hole.face)} ({hole.name}), at {at}"


def _runs_into(hole: HoleOnCard, recess: Hollow, thickness: float) -> bool:
    """True where a hole that overlaps a recess in plan meets it: not in its own fitting's, not above its floor."""
    if recess.fitting and (recess.fitting == hole.fitting or hole.through):
        return False
    return hole.through or recess.face == hole.face or hole.depth + recess.depth >= thickness


def _told(face: str) -> str:
    return "show face" if face == "show" else face
