"""What becomes of a job, foreseen without a file: the stages up to the plan, each kept under what it depends on.

A change of the job does only those stages again whose inputs it changed: a design that is moved keeps its areas, its
fit, its places on the offcuts and the plans of all offcuts. `tests/faces/test_page_answers.py` holds that the nouns are
those of `job.make`. What is not done here: programs, outlines, sheets, and the dry fit that reads them back; so nothing
that is foreseen is proven.
"""

import hashlib
import struct
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any, Protocol, TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from purfle import board, cutting, keys, offcuts, season
from purfle import job as flow
from purfle.carrying import carry
from purfle.chances import chances_of
from purfle.errors import Fault, PlacingError, PurfleError
from purfle.fitted import fit_all
from purfle.hard_stop import HardStop
from purfle.mate import Answer, Mate
from purfle.model.board import Layout
from purfle.model.job import Distance, Job, JobResult, PictureRule
from purfle.model.offcuts import OnOffcuts
from purfle.model.pieces import Fit
from purfle.model.shop import Shop

R = TypeVar("R")
ANYWHERE = Distance("edge", 0.0)


class Keeper(Protocol):
    """Keeps what stages made, by the stage's name and the fingerprint of what it depends on."""

    def kept(self, stage: str, of: str, make: Callable[[], R]) -> R:
        """What was made of this before, else made now."""

    def seen(self, stage: str, of: str) -> Any | None:
        """What was made of this before, None if nothing was."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A job and its shop as read, and the fingerprints of its design and of its fits."""

    job: Job
    shop: Shop
    design: str
    fits: str

    @classmethod
    def of(cls, job: Job, shop: Shop) -> "Asked":
        """The fingerprints of a job: where its one picture stands, and whatever its pieces do not know of, left out."""
        alone = job.picture is not None and len(job.artworks) == 1
        artworks = [_placed_anywhere(one) if alone and isinstance(one, PictureRule) else one for one in job.artworks]
        files = [content_of(rule.file) for rule in job.artworks if isinstance(rule, PictureRule)]
        rack = sorted({offcut.wood for offcut in shop.offcuts})
        where = None if alone else (job.board.length, job.board.width)
        of_design = (artworks, files, rack, shop.cutters, job.board.wood, where, job.fit, job.cutters, job.order)
        design = fingerprint(*of_design, job.templates, job.trial)
        bushes = (shop.guide_bushes, shop.v_cutters, job.cutting.way)
        keys_anywhere = [replace(key, along_a=ANYWHERE, along_b=ANYWHERE) for key in job.keys]
        return cls(job, shop, design, fingerprint(design, keys_anywhere, bushes, [one.depth for one in job.artworks]))


def _placed_anywhere(rule: PictureRule) -> PictureRule:
    """A picture without what only its place on the board depends on."""
    placed = replace(rule, along_a=ANYWHERE, along_b=ANYWHERE, to_middle=True, angle=0.0, mirrored=False)
    return replace(placed, depth=0.0, face="show", grain=())


def foresee(asked: Asked, keeper: Keeper) -> JobResult:
    """The job with everything that can be known before its files are written; `proof` is None.

    Raises: PurfleError where it cannot be made, told in the unit of the job.
    """
    tell = flow.telling(asked.job, asked.shop)
    try:
        return _foreseen(asked, keeper, tell)
    except PurfleError as refusal:
        raise refusal.reworded(tell) from refusal


def _foreseen(asked: Asked, keeper: Keeper, tell: Callable[[str], str]) -> JobResult:
    shop, mate = asked.shop, Remembering(keeper)
    edged, edges = keeper.kept("edges", fingerprint(asked.job.board), lambda: flow.board_with_edges(asked.job.board))
    asked = replace(asked, job=replace(asked.job, board=edged))
    design = design_kept(asked, keeper)
    job = flow.with_height(asked.job, design)
    fits = keeper.kept("pieces", asked.fits, lambda: _fits(job, shop, design, mate))
    layout = layout_kept(asked, job, (fits, design), keeper)
    on_offcuts, clampings = _on_offcuts(job, shop, layout, keeper)
    seasons, figures = season.reckon(job, shop, layout, on_offcuts), keys.figures_of_keys(job, layout, on_offcuts)
    carrying, carried = carry(layout, job.carrying)
    plan = flow.planned(job, shop, (layout, on_offcuts), clampings, mate)
    found = (*design.findings, *edges, *flow.findings_of(layout, on_offcuts), *keys.findings_of_keys(figures))
    found = (*found, *(seasons.findings if seasons else ()), *carried, *plan.findings)
    result = JobResult(job, shop, design.areas, design.mm_per_unit, layout, on_offcuts, plan, None, found)
    result = replace(result, seasons=seasons, keys=figures, carrying=carrying)
    result = replace(result, findings=tuple(one.reworded(tell) for one in found))
    return flow.reckoned(replace(result, chances=chances_of(job, shop, layout.inlays, on_offcuts)))


def design_kept(asked: Asked, keeper: Keeper) -> flow.Design:
    """The design, made once for its fingerprint."""
    return keeper.kept("areas", asked.design, lambda: flow.design_of(asked.job, asked.shop, HardStop()))


def _fits(job: Job, shop: Shop, design: flow.Design, mate: Mate) -> dict[str, Fit]:
    with HardStop():
        return fit_all(job, shop, design.drawn, mate)


def layout_kept(asked: Asked, job: Job, made: tuple[Mapping[str, Fit], flow.Design], keeper: Keeper) -> Layout:
    """The layout, made once for the fits and places that it is made of."""
    wishes = board.wishes_of(job, made[0], made[1].pose)
    return keeper.kept(
        "board",
        _of_layout(asked, job, made[1]),
        lambda: board.lay_out(job.board, wishes, job.fittings, job.least_left, Remembering(keeper)),
    )


def _of_layout(asked: Asked, job: Job, design: flow.Design) -> str:
    places = [(one.along_a, one.along_b, one.to_middle, one.angle, one.mirrored, one.face) for one in job.artworks]
    return fingerprint(asked.fits, places, job.board, job.fittings, job.keys, job.least_left, job.fit, design.pose)


def _on_offcuts(job: Job, shop: Shop, layout: Layout, keeper: Keeper) -> tuple[OnOffcuts, tuple[cutting.Clamping, ...]]:
    grain = job.picture.grain if job.picture else job.grain
    parts = offcuts.wanted_parts(layout, grain, cutting.block_over(job, shop))
    rule = (job.margin, job.between, job.cutting, job.fit, job.cutters, job.templates, job.laid)
    of = fingerprint(parts, shop.offcuts, shop.sold, shop.cutters, shop.guide_bushes, rule)
    placed = keeper.kept("offcuts", of, lambda: flow.place_on_offcuts(job, shop, layout))
    on_board = cutting.with_fibres(cutting.board_clampings(job, layout, shop), layout, placed)
    clampings = cutting.in_order(on_board, cutting.offcut_clampings(job, layout, placed, shop))
    return flow.held(layout, placed, clampings), tuple(clampings)


@dataclass(frozen=True, slots=True)
class Glimpse:
    """What is known of a job at once; `design` and `layout` are None where their stages have not been done yet.

    `faults`: for which the job cannot be made as it stands, told in its unit. Where `is_whole` is not true, the layout
    knows where everything lies, and nothing of marks, walls and wood left.
    """

    job: Job
    design: flow.Design | None = None
    layout: Layout | None = None
    faults: tuple[Fault, ...] = ()
    is_whole: bool = False


def glimpse(asked: Asked, keeper: Keeper) -> Glimpse:
    """The coarse answer: whatever can be had at once from stages that were done before."""
    design: flow.Design | None = keeper.seen("areas", asked.design)
    fits: dict[str, Fit] | None = keeper.seen("pieces", asked.fits)
    if design is None or asked.job.board.edges_seen:
        return Glimpse(asked.job)
    job = flow.with_height(asked.job, design)
    if fits is None:
        return Glimpse(job, design)
    whole: Layout | None = keeper.seen("board", _of_layout(asked, job, design))
    if whole is not None:
        return Glimpse(job, design, whole, is_whole=True)
    try:
        wishes = board.wishes_of(job, fits, design.pose)
        layout, faults = board.glance(job.board, wishes, job.fittings, job.least_left)
        refusal = PlacingError.of(faults) if faults else None
    except PurfleError as empty:
        layout, refusal = None, empty
    if refusal is None:
        return Glimpse(job, design, layout)
    return Glimpse(job, design, layout, refusal.reworded(flow.telling(job, asked.shop)).faults)


class Remembering(Mate):
    """Does everything in turn, and what is shared only once for the same words."""

    def __init__(self, keeper: Keeper) -> None:
        super().__init__()
        self.keeper = keeper

    def share(self, function: Callable[..., R], *words: Any) -> Answer[R]:
        """Done when it is called for, unless it was done before."""
        if not function.__module__.startswith("purfle.cutting"):
            return super().share(function, *words)
        of = fingerprint(function.__name__, *(_of_the_plan(word) if isinstance(word, Job) else word for word in words))
        return Answer(self, 0, "share", lambda: self.keeper.kept("plan", of, lambda: function(*words)))


def _of_the_plan(job: Job) -> tuple[Any, ...]:
    """What the plan of a clamping depends on beside the clamping and the shop."""
    return job.cutting, job.fit, job.cutters, job.slug, job.unit, job.templates, [one.depth for one in job.artworks]


def content_of(file: Path) -> str:
    """The fingerprint of what stands in a file; empty where it cannot be read."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""


def fingerprint(*values: Any) -> str:
    """The same for equal values, and another as soon as anything in them differs.

    >>> fingerprint(1.0, "a") == fingerprint(1.0, "a"), fingerprint("ab", "c") == fingerprint("a", "bc")
    (True, False)
    """
    digest = hashlib.sha256()
    for value in values:
        for part in _parts(value):
            digest.update(struct.pack(">Q", len(part)) + part)
    return digest.hexdigest()[:32]


def _parts(value: Any) -> Iterable[bytes]:
    if isinstance(value, BaseGeometry):
        yield bytes(shapely.to_wkb(value))
    elif isinstance(value, np.ndarray):
        yield str(value.shape).encode() + value.tobytes()
    elif is_dataclass(value) and not isinstance(value, type):
        yield type(value).__name__.encode()
        for one in fields(value):
            yield from _parts(getattr(value, one.name))
    elif isinstance(value, Mapping):
        yield b"{"
        for key, one in value.items():
            yield from _parts(key)
            yield from _parts(one)
        yield b"}"
    elif isinstance(value, (list, tuple)):
        yield b"["
        for one in value:
            yield from _parts(one)
        yield b"]"
    else:
        yield f"{type(value).__name__} {value!r}".encode()
