"""The job as the maker states it, and everything made of it on the way."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from purfle.model.artwork import AreaEdits, Areas, Colour, DrawingUnit, Photograph, Place, Which
from purfle.model.board import BARE_KINDS, Board, FittingKind, Layout
from purfle.model.carrying import Carrying, CarryWish
from purfle.model.chances import FitChance
from purfle.model.cutting import CuttingPlan, CuttingRule
from purfle.model.findings import Face, Finding
from purfle.model.keys import KeyFigures
from purfle.model.offcuts import Laid, OnOffcuts
from purfle.model.pieces import CornerWay, Way
from purfle.model.proof import Proof
from purfle.model.reckoning import BenchWork, FinishWish, QuoteWish, Reckoning
from purfle.model.season import Seasons, SeasonWish
from purfle.model.shop import Shop
from purfle.model.templates import TemplateWish

if TYPE_CHECKING:
    from purfle.model.ready import Form

LengthUnit = Literal["mm", "inch", "inch-decimal"]
Paper = Literal["a4", "letter"]
ReadyKind = Literal["shape", "stringing", "banding", "lettering"]


@dataclass(frozen=True, slots=True)
class Distance:
    """A place along one axis: `amount` from the datum "edge" (A or B), the "far_edge" or, signed, the "centre"."""

    datum: Literal["edge", "far_edge", "centre"]
    amount: float


@dataclass(frozen=True, slots=True)
class PictureRule:
    """The artwork of the job: file, finished height, where it stands, how deep it is let in.

    `to_middle`: True if `along_a`/`along_b` locate the middle of the design, False for its left/lower end.
    `woods` assigns a wood to an area: by colour, or by the point (x, y in mm from the design's lower left) inside it.
    `number_of_woods` that a picture is held to, bare board not counted; None: as many as it shows.
    `drawing_unit`: what one unit of a DXF is, None as its file says.
    `photograph`: what is known of a photographed sheet, None where the picture is none; where it says how large the
    sheet is, `height` may be 0: as drawn on it.
    `ground_at`: a place in the picture, px, that shows bare board.
    `names`: of the area at a point, or instead of the name that the drawing gives it. `edits`: of the areas.
    """

    file: Path
    height: float
    along_a: Distance
    along_b: Distance
    to_middle: bool
    angle: float
    mirrored: bool
    depth: float
    face: Face
    number_of_woods: int | None
    ground_colour: Colour | None
    woods: tuple[tuple[Colour | tuple[float, float] | str, str], ...]
    names: tuple[tuple[tuple[float, float] | str, str], ...]
    grain: tuple[tuple[str, float], ...]
    drawing_unit: DrawingUnit | None = None
    edits: AreaEdits = AreaEdits()
    photograph: Photograph | None = None
    ground_at: Place | None = None


@dataclass(frozen=True, slots=True)
class ReadyRule:
    """A ready artwork: its form, its woods in the order in which the form names them, where it stands, how deep.

    `to_middle`: `along_a`/`along_b` locate its middle, else on each axis the end nearest to the edge measured from.
    `angle` turns it counter-clockwise and `mirrored` swaps left and right, as seen on its face.
    `kind`: the word of its table; `files`: what else it was made from (a font). `seam`: its own, where it is a plug of
    a fit trial and let in by itself; None for that of the job.
    """

    kind: ReadyKind
    name: str
    form: "Form"
    woods: tuple[str, ...]
    along_a: Distance
    along_b: Distance
    to_middle: bool
    angle: float
    mirrored: bool
    depth: float
    face: Face
    files: tuple[Path, ...] = ()
    seam: float | None = None


Artwork = PictureRule | ReadyRule


@dataclass(frozen=True, slots=True)
class FitTrial:
    """A job that tries a cutter: square plugs of one `wood` and `size` (mm), one for each of the `seams` (mm)."""

    wood: str
    size: float
    seams: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class KeyRule:
    """A butterfly key: its wood, length across the crack, end and waist widths, depth, middle, angle of its length."""

    name: str
    wood: str
    face: Face
    length: float
    end_width: float
    waist_width: float
    depth: float
    along_a: Distance
    along_b: Distance
    angle: float


@dataclass(frozen=True, slots=True)
class ScrewRule:
    """Wood screws of one fitting, or holes right through where `is_through`: then `shank` is the hole's diameter.

    `root`, `length`, `pilot` in mm; `pilot` None: as the wood asks for. `places`: from the middle of the fitting along
    A and B. `withdrawal`: the force that pulls one out is asked for.
    """

    shank: float
    root: float
    length: float
    pilot: float | None
    places: tuple[tuple[float, float], ...]
    is_through: bool = False
    withdrawal: bool = False


@dataclass(frozen=True, slots=True)
class InsertRule:
    """A threaded insert in the middle of a fitting: its `root` and `outside` diameters and the depth of its hole."""

    root: float
    outside: float
    depth: float


@dataclass(frozen=True, slots=True)
class FittingRule:
    """Hardware to be let in: `length` along A and `width` along B of its recess, or a diameter for round ones.

    `thickness` of the hardware itself, 0: as its recess is deep. `depth` 0: it lies on the face, or is a hole alone.
    `is_disc`, `knuckle`, `line` as in `model.board.Fitting`. `screws` and `insert`: the holes it is held by.
    """

    kind: FittingKind
    name: str
    face: Face
    length: float
    width: float
    depth: float
    play: float
    along_a: Distance
    along_b: Distance
    open_edge: bool
    thickness: float = 0.0
    is_disc: bool = False
    knuckle: float = 0.0
    screws: ScrewRule | None = None
    insert: InsertRule | None = None
    line: int = 0

    @property
    def is_let_in(self) -> bool:
        """True if a recess is cut for it."""
        return self.kind not in BARE_KINDS and (self.kind != "foot plate" or self.depth > 0.0)


@dataclass(frozen=True, slots=True)
class TaperedWish:
    """Tapered walls as asked for: the V cutter's name in the shop, and the saw room."""

    v_cutter: str
    saw_room: float


@dataclass(frozen=True, slots=True)
class FitWish:
    """The fit as asked for: seam, the cutter that finishes it (name in the shop), proud amount, glue room.

    `corners` of the recess are left round or chiselled; `corner_wishes` say otherwise for single ones, each by a place
    near it, in mm from the design's lower left corner. `over_depth` is the depth of a recess that is cut into an
    insert, None for the usual share of the depth below it. `tapered`: the walls of the design, None where they are
    straight; then `cutter` clears its bottoms and cuts its plates loose, and keys and fittings stay straight.
    `moisture`: by how many % of moisture parts and board may differ from when they were cut; None: as is usual.
    """

    seam: float
    cutter: str
    proud: float
    glue_room: float
    corners: CornerWay = "round"
    corner_wishes: tuple[tuple[tuple[float, float], CornerWay], ...] = ()
    over_depth: float | None = None
    tapered: TaperedWish | None = None
    moisture: float | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work. `change`: short fingerprint of everything that the files depend on.

    `folder` holds job.toml; `shop_file` is the shop that serves it (beside it, above it, or the first one).
    `picture` is the one and only artwork, None where the job has others: `artworks` are all of them, in the order of
    the file; where they overlap, the later one lies over the earlier one. `order` overrules how an area is let in, by
    its name, a point inside it (mm from the design's lower left corner) or its colour. `cutters`: the finishing cutter
    of an area by name or point, or of a butterfly key by its name, where it is not that of `fit`. `trial`: the job is a
    fit trial, whose plugs are its artworks. `templates`: what the job says of them, where it is cut that way.
    `season`: the climates that it is made and will stand in, None where it says nothing of them. `bench`:
    minutes of work at the bench that the maker knows better. `laid`: parts that the maker laid on offcuts.
    """

    name: str
    slug: str
    folder: Path
    unit: LengthUnit
    paper: Paper
    board: Board
    picture: PictureRule | None
    keys: tuple[KeyRule, ...]
    fittings: tuple[FittingRule, ...]
    fit: FitWish
    cutting: CuttingRule
    margin: float
    between: float
    least_left: float
    change: str
    shop_file: Path = Path("shop.toml")
    artworks: tuple[Artwork, ...] = ()
    grain: tuple[tuple[str, float], ...] = ()
    order: tuple[tuple[Which, Way], ...] = ()
    cutters: tuple[tuple[tuple[float, float] | str, str], ...] = ()
    trial: FitTrial | None = None
    templates: TemplateWish | None = None
    season: SeasonWish | None = None
    carrying: CarryWish | None = None
    finish: FinishWish = FinishWish()
    quote: QuoteWish = QuoteWish()
    bench: tuple[tuple[BenchWork, float], ...] = ()
    laid: tuple[Laid, ...] = ()


@dataclass(frozen=True, slots=True)
class JobResult:
    """Every noun made on the way, so that each can be drawn. `proof` is None until the files were read back.

    `mm_per_unit`: mm in one unit of `areas`. `board_picture`: the show face as photographed, seen from straight above,
    sRGB (h, w, 3), its lower left corner where the edges A and B meet; None where no photograph was given. `chances`:
    of each inlay with straight walls, as far as tolerances say. `seasons`: what they do to it, if its climate is said.
    `reckoning`: its time and money; None of a fit trial.
    `keys`: what is known of each butterfly key. `carrying`: how it carries, where it stands on something.
    """

    job: Job
    shop: Shop
    areas: Areas
    mm_per_unit: float
    layout: Layout
    on_offcuts: OnOffcuts
    cutting: CuttingPlan
    proof: Proof | None
    findings: tuple[Finding, ...]
    board_picture: NDArray[np.uint8] | None = field(default=None, compare=False)
    chances: tuple[FitChance, ...] = ()
    seasons: Seasons | None = None
    reckoning: Reckoning | None = None
    keys: tuple[KeyFigures, ...] = ()
    carrying: Carrying | None = None
