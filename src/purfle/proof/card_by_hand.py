"""What the assembly card says of cutting by hand: templates, how each line is guided, the passes in their order."""

from dataclasses import dataclass
from typing import Literal

from purfle.geometry.pose import Pose
from purfle.proof.shelf import Shelf

CuttingWay = Literal["machine", "templates", "guided router", "knife and saw"]
CUTTING_WAYS: tuple[CuttingWay, ...] = ("machine", "templates", "guided router", "knife and saw")


@dataclass(frozen=True, slots=True)
class TemplateOnCard:
    """A template: the names of its files, how thick it is, the diameter of its pins."""

    number: int
    name: str
    thickness: float
    pin: float
    svg: str
    dxf: str


@dataclass(frozen=True, slots=True)
class StepOnCard:
    """One pass along a line: how deep below the face, how far off the line, with which cutter."""

    line: str
    cutter: int
    kind: str
    depth: float
    off_line: float


@dataclass(frozen=True, slots=True)
class GuidingOnCard:
    """How a line is guided: template, bush (`outside`: its diameter) and cutter, where the template lies."""

    line: str
    template: int
    bush: str
    outside: float
    cutter: int
    to_set_up: Pose
    pinned: bool


def read_pose(shelf: Shelf) -> Pose:
    """A pose: mirrored in the x axis, turned, moved."""
    pose = Pose(shelf.number("angle"), shelf.number("x"), shelf.number("y"), shelf.claim("mirrored"))
    shelf.nothing_else()
    return pose


def read_way(shelf: Shelf) -> CuttingWay:
    """How the job is cut."""
    said = shelf.choice("way", CUTTING_WAYS)
    return next(way for way in CUTTING_WAYS if way == said)


def read_template(shelf: Shelf) -> TemplateOnCard:
    """One template of the list."""
    template = TemplateOnCard(
        shelf.whole("number"),
        shelf.text("name"),
        shelf.number("thickness", above=0.0),
        shelf.number("pin", above=0.0),
        shelf.text("svg"),
        shelf.text("dxf"),
    )
    shelf.nothing_else()
    return template


def read_step(shelf: Shelf) -> StepOnCard:
    """One pass by hand."""
    step = StepOnCard(
        shelf.text("line"),
        shelf.whole("cutter"),
        shelf.choice("kind", ("roughing", "last")),
        shelf.number("depth", above=0.0),
        shelf.number("off_line", at_least=0.0),
    )
    shelf.number("minutes", at_least=0.0)
    shelf.nothing_else()
    return step


def read_guiding(shelf: Shelf) -> GuidingOnCard:
    """How one line is guided."""
    bush = shelf.shelf("bush")
    guiding = GuidingOnCard(
        shelf.text("line"),
        shelf.whole("template"),
        bush.text("name"),
        bush.number("outside", above=0.0),
        bush.whole("cutter"),
        read_pose(shelf.shelf("to_set_up")),
        shelf.claim("pinned"),
    )
    bush.nothing_else()
    shelf.nothing_else()
    return guiding
