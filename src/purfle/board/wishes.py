"""What the maker asks for: which fit, on which face, how deep, and where it shall stand."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Literal

from purfle.geometry.offsetting import union_of
from purfle.geometry.pose import Pose
from purfle.model.findings import Face
from purfle.model.job import Distance, FitWish, Job, KeyRule, PictureRule, ReadyRule
from purfle.model.pieces import Fit


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a design stands: `along_a` from edge B, `along_b` from edge A, on either face.

    `to_middle`: they locate the middle of the inserts' bounds as they lie on the board, else the end nearest to B and
    to A. `angle` turns it counter-clockwise and `mirrored` swaps its left and right, both as seen on its face.
    `pose`: where it stands already, as seen on its face; then nothing else counts.
    """

    along_a: Distance
    along_b: Distance
    to_middle: bool = True
    angle: float = 0.0
    mirrored: bool = False
    pose: Pose | None = None


@dataclass(frozen=True, slots=True)
class InlayWish:
    """One inlay as asked for. `proud` and `glue_room` as in `model.board.Inlay`.

    `whole`: with tapered walls, all orders of its design in one fit, which its place is measured to.
    """

    name: str
    kind: Literal["picture", "key", "plug"]
    fit: Fit
    face: Face
    spot: Spot
    depth: float
    proud: float
    glue_room: float
    into: str = ""
    whole: Fit | None = None


OVER_DEPTH = 0.6
"""Depth of a recess in an insert, as a share of the depth of the recess that holds the insert: so that both are thick
enough to last (common practice, no source)."""


def wishes_of(job: Job, fits: Mapping[str, Fit], design: Pose | None = None) -> tuple[InlayWish, ...]:
    """All inlays of a job: its picture (the fit called "picture"), then its keys (fits called as they are).

    `design`: where a design of several artworks stands, as seen on their face; it has the fit called "design". Last
    come the later orders of either (fits called "picture 2" and so on), in their order.
    """
    if job.trial is not None and design is not None:
        return tuple(
            _plug_wish(fits[rule.name], rule.name, job, design) for rule in job.artworks if isinstance(rule, ReadyRule)
        )
    keys = tuple(key_wish(fits[key.name], key, job.fit) for key in job.keys)
    if design is not None:
        first = _design_wish(fits["design"], job, design)
    else:
        assert job.picture is not None, "a job without a picture has a design"
        first = picture_wish("picture", fits["picture"], job.picture, job.fit)
    taken = [first.name, *(key.name for key in keys)]
    if first.fit.walls is not None:
        orders = [fit for name, fit in fits.items() if name == first.name or name.startswith(f"{first.name} ")]
        first = replace(first, whole=whole_fit([fit for fit in orders if fit.walls is not None]))
    return (first, *keys, *_over_wishes(first, fits, job.fit.over_depth, taken))


def _over_wishes(
    first: InlayWish, fits: Mapping[str, Fit], over_depth: float | None, taken: Sequence[str]
) -> Iterator[InlayWish]:
    """What is let into the inserts of an inlay, order by order, each less deep by the same share."""
    share = over_depth / first.depth if over_depth is not None else OVER_DEPTH
    below = first
    for order in count(2):
        if (fit := fits.get(f"{first.name} {order}")) is None:
            return
        depth = over_depth if order == 2 and over_depth is not None else below.depth * share
        depth = first.depth if fit.walls is not None else depth  # it goes into the board, beside the others
        below = replace(first, name=_over_name(first.name, fit, taken), fit=fit, depth=depth, into=below.name)
        yield below


def whole_fit(orders: Sequence[Fit]) -> Fit:
    """All orders of a design that lie side by side in the board, as one fit: that of the first with all inserts."""
    inserts = tuple(insert for fit in orders for insert in fit.inserts)
    return replace(orders[0], inserts=inserts, recess=union_of([fit.recess for fit in orders]))


def _over_name(design: str, fit: Fit, taken: Sequence[str]) -> str:
    """A spot that is alone in its order goes by its own name."""
    name = fit.inserts[0].name
    return name if len(fit.inserts) == 1 and name and name not in taken else f"{design}, order {fit.order}"


def _design_wish(fit: Fit, job: Job, pose: Pose) -> InlayWish:
    """The wish for all artworks of a job as one; they share their face and depth."""
    first, asked = job.artworks[0], job.fit
    spot = Spot(first.along_a, first.along_b, pose=pose)
    return InlayWish("design", "picture", fit, first.face, spot, first.depth, _proud(fit, asked), asked.glue_room)


def _plug_wish(fit: Fit, name: str, job: Job, pose: Pose) -> InlayWish:
    """The wish for one plug of a fit trial, where all of them are drawn together."""
    return replace(_design_wish(fit, job, pose), name=name, kind="plug")


def picture_wish(name: str, fit: Fit, rule: PictureRule, asked: FitWish) -> InlayWish:
    """The wish for a picture, from the job's rule for it."""
    spot = Spot(rule.along_a, rule.along_b, rule.to_middle, rule.angle, rule.mirrored)
    return InlayWish(name, "picture", fit, rule.face, spot, rule.depth, _proud(fit, asked), asked.glue_room)


def _proud(fit: Fit, asked: FitWish) -> float:
    """How far inserts stand above the face before they are levelled; sawn off, they still stand the saw room."""
    return asked.proud if fit.walls is None else fit.walls.saw_room


def key_wish(fit: Fit, rule: KeyRule, asked: FitWish) -> InlayWish:
    """The wish for a butterfly key whose fit is drawn with its length along x; `rule.angle` turns that from edge A.

    A key's distances always locate its middle.
    """
    spot = Spot(rule.along_a, rule.along_b, to_middle=True, angle=rule.angle)
    return InlayWish(rule.name, "key", fit, rule.face, spot, rule.depth, asked.proud, asked.glue_room)
