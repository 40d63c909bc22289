"""What stands in the maker's shop: cutters, machine, offcuts."""

from dataclasses import dataclass
from typing import Literal

from shapely import MultiPolygon, Polygon


@dataclass(frozen=True, slots=True)
class Cutter:
    """A straight cutter. `number` is its T word. `path_width` is what it really cuts (a fit trial), else its diameter.

    `cutting_length`: of the edges; `stick_out`: from the collet; speeds in rpm; `max_speed` as marked on it, `speed`
    the one that the maker runs it at, None for the highest that cutter and machine allow. `shank`: its diameter above
    the edges, None if it is that of the edges. `chip_load` as its maker says, mm an edge; None for that of the table.
    `path_width_error`: of the path width, a standard deviation in mm; `goes_in`: the narrowest seam (mm) with which a
    plug went in by hand; `fit_trial`: when that was found, as a date. None or empty where no fit trial has said so.
    `price` of one, `life`: hours that it cuts before it is worn; None where the maker does not say.
    """

    number: int
    name: str
    diameter: float
    flutes: int
    cutting_length: float
    stick_out: float
    max_speed: float
    path_width: float | None = None
    note: str = ""
    speed: float | None = None
    shank: float | None = None
    chip_load: float | None = None
    path_width_error: float | None = None
    goes_in: float | None = None
    fit_trial: str = ""
    price: float | None = None
    life: float | None = None

    @property
    def width(self) -> float:
        """The width of groove it cuts."""
        return self.path_width if self.path_width is not None else self.diameter

    @property
    def radius(self) -> float:
        """Half the width it cuts."""
        return self.width / 2


@dataclass(frozen=True, slots=True)
class VCutter(Cutter):
    """A V cutter. `half_angle`: between its axis and its edge, degrees; `tip_radius`: of the flat at its tip.

    `diameter` is its largest; `cutting_length` how deep it can go before that.
    """

    half_angle: float = 30.0
    tip_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class SawBlade(Cutter):
    """A fret saw's blade, which counts as a cutter as wide as its groove; it does not turn."""


@dataclass(frozen=True, slots=True)
class GuideBush:
    """The collar round a hand router's cutter that follows a template. `outside` and `inside`: its diameters.

    `length`: how far it stands out below the base. `collar`: outside diameter of a ring that fits over it, None where
    it has none: with the ring on it is another bush.
    """

    name: str
    outside: float
    inside: float
    length: float
    collar: float | None = None


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine that runs a program. Travels in mm, speeds in rpm, feeds in mm/min, acceleration in mm/s2.

    `slowest_speed`: it turns no slower; `power` of its spindle in W. `repeatability`: it comes back to a place within
    so much either way, mm; `run_out`: how far the cutter's rim swings in all, mm. None where the maker does not say.
    """

    name: str
    travel: tuple[float, float, float]
    speed: float
    max_feed: float
    rapid_feed: float
    acceleration: float
    safe_height: float
    slowest_speed: float = 0.0
    power: float | None = None
    repeatability: float | None = None
    run_out: float | None = None

    @property
    def is_there(self) -> bool:
        """False where it only stands for a machine, in a shop that has none."""
        return bool(self.name)

    def turns_slowly_enough(self, cutter: Cutter) -> bool:
        """True if it can turn no faster than is marked on a cutter."""
        return self.slowest_speed <= cutter.max_speed


@dataclass(frozen=True, slots=True)
class Offcut:
    """A piece of stock on the rack. `outline` in its own frame, lower left corner of its bounds at (0, 0).

    `grain` in degrees in that frame. `defects`: knots and checks to keep clear of. `price` of the whole offcut.
    `rings`: angle of its growth rings to its face, degrees, 0 flat-sawn to 90 quarter-sawn; None where nothing says.
    `stands`: where it is to be found, in the maker's words.
    """

    name: str
    wood: str
    outline: Polygon
    thickness: float
    grain: float = 0.0
    defects: MultiPolygon = MultiPolygon()
    price: float | None = None
    rings: float | None = None
    stands: str = ""


@dataclass(frozen=True, slots=True)
class SoldSizes:
    """Sizes in mm that boards of a wood are sold in, planed, each from small to large; `wood` empty: any other wood."""

    wood: str
    thicknesses: tuple[float, ...]
    widths: tuple[float, ...]
    lengths: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class OwnWood:
    """A wood by the maker's own figures. `source`: where they come from; a figure that is not given is None.

    Units as in the table of woods: density kg/m3 and shrinkage, %, coefficients of change, shares for 1 % of moisture;
    bending strength MPa, stiffness GPa, hardness N.
    """

    name: str
    source: str
    botanical: str = ""
    density: float | None = None
    shrinkage_radial: float | None = None
    shrinkage_tangential: float | None = None
    shrinkage_volume: float | None = None
    change_radial: float | None = None
    change_tangential: float | None = None
    bending_strength: float | None = None
    stiffness: float | None = None
    hardness: float | None = None


@dataclass(frozen=True, slots=True)
class Price:
    """What is paid for so much `of` something: a wood, glue, a finish. `amount` in mm3 or in g, as `measure` says."""

    of: str
    price: float
    amount: float
    measure: Literal["mm3", "g"]


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything the maker has. `cutters` are the straight ones. `currency` is the word put after a price.

    `woods`: those that the maker has figures of.
    `hourly_rate`: of the maker's own hour; `machine_rate`: of an hour in which the machine cuts, beside that;
    `mark_up`: what is put on the costs, as a share. None where the maker does not say.
    """

    cutters: tuple[Cutter, ...]
    machine: Machine
    offcuts: tuple[Offcut, ...]
    currency: str = ""
    hourly_rate: float | None = None
    v_cutters: tuple[VCutter, ...] = ()
    guide_bushes: tuple[GuideBush, ...] = ()
    saws: tuple[SawBlade, ...] = ()
    woods: tuple[OwnWood, ...] = ()
    machine_rate: float | None = None
    mark_up: float | None = None
    prices: tuple[Price, ...] = ()
    sold: tuple[SoldSizes, ...] = ()
