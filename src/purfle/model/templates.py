"""Templates for a hand router: the bushes that follow them, the templates themselves, and how each line is guided."""

from dataclasses import dataclass

from shapely import Polygon

from purfle.geometry.pose import Pose
from purfle.model.shop import Cutter


@dataclass(frozen=True, slots=True)
class Guide:
    """A cutter in a guide bush. `bush`: its name; `outside`: its outside diameter, mm; `length`: below the base."""

    bush: str
    outside: float
    length: float
    cutter: Cutter

    @property
    def offset(self) -> float:
        """How far the cutter's edge stays behind the bush's: what a recess is smaller than its template, each side."""
        return (self.outside - self.cutter.width) / 2.0

    @property
    def across(self) -> float:
        """From the bush's edge to the far edge of the cutter: what an insert is smaller than its template, each side.

        The tightest inside corner of an insert too: round the sharp corner of a template.
        """
        return (self.outside + self.cutter.width) / 2.0


@dataclass(frozen=True, slots=True)
class BushPair:
    """The guide of the recess and that of the insert. `seam`: what one template for both leaves on each side, mm."""

    recess: Guide
    insert: Guide

    @property
    def seam(self) -> float:
        """Half the difference of widths: (Bm + Dm + Df - Bf) / 2, below 0 where the insert does not go in."""
        return self.insert.across - self.recess.offset


@dataclass(frozen=True, slots=True)
class TemplateRule:
    """How a job is cut with templates. Lengths in mm.

    `shared`: one template serves recess and insert, the seam is that of the pair; else each has its own, and the seam
    is as asked. `thickness` of the template's wood; `border` of it that is left round an opening; `pin`: diameter of
    the pins that hold it. `pins_in_show_face`: their holes may be drilled into the show face too.
    """

    pair: BushPair
    shared: bool
    seam: float
    thickness: float
    border: float
    pin: float
    pins_in_show_face: bool

    @property
    def least_inside(self) -> float:
        """The tightest inside corner of an insert that bush and cutter allow, or the recess's bush round its ground."""
        return max(self.pair.insert.across, self.pair.recess.offset + self.seam)


@dataclass(frozen=True, slots=True)
class TemplateWish:
    """Templates as the job asks for them: bushes by name (empty: found in the shop), sizes as in `TemplateRule`.

    `seam_asked`: the job gives the seam; else it is that of the pair.
    """

    recess_bush: str
    insert_bush: str
    thickness: float
    border: float
    pin: float
    pins_in_show_face: bool
    seam_asked: bool


@dataclass(frozen=True, slots=True)
class Template:
    """One template, in a frame of its own whose origin is the middle of its opening.

    `outline` of its wood, `opening` that the bush follows, `pins`: middles of the holes for its pins, none where there
    is no room for them. `file`: name of its files without their ending.
    """

    number: int
    name: str
    file: str
    outline: Polygon
    opening: Polygon
    pins: tuple[tuple[float, float], ...]
    pin: float
    thickness: float


@dataclass(frozen=True, slots=True)
class Guiding:
    """How one line is guided: its template, the cutter in its bush, and where the template lies.

    `pose`: from the template's frame to that of the set-up, never mirrored. `pinned`: held by its pins in holes of the
    stock; else by tape, its middle lines on pencilled ones.
    """

    line: str
    template: int
    guide: Guide
    pose: Pose
    pinned: bool
