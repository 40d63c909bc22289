"""What lies in a face of the board, and which distances place it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from purfle.model.board import Fitting, Inlay, Layout, Mark
from purfle.model.findings import Face
from purfle.model.pieces import Region
from purfle.sheets.dimensions import Distance
from purfle.sheets.style import Style
from purfle.sheets.view import Side, View
from purfle.tolerances import MARK_ON, SAME_PLACE

OVER = 6.0
"""A pencilled line runs this far past the picture, in mm of paper."""
RIGHT_HAND = 0.6
"""A recess whose middle lies beyond this share of the board's length is placed from the right side of the drawing."""


@dataclass(frozen=True, slots=True)
class Feature:
    """One recess of a face as drawn: an inlay or a fitting, its region in the board frame, its label.

    `is_first`: the first recess of a picture that is let in one order after the other, beside each other.
    """

    region: Region
    label: str
    inlay: Inlay | None = None
    fitting: Fitting | None = None
    is_first: bool = False

    @property
    def name(self) -> str:
        """What the maker calls it."""
        return self.inlay.name if self.inlay else self.fitting.name if self.fitting else ""

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of its bounds, board frame."""
        x0, y0, x1, y1 = self.region.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    @property
    def is_picture(self) -> bool:
        """True for the design itself: it is named by the sheet, and measured by its pencilled lines."""
        return self.inlay is not None and self.inlay.kind == "picture"


def over_features(layout: Layout, face: Face, style: Style) -> list[Feature]:
    """The recesses of one face that are cut into glued and levelled inserts: nothing of them is set out by hand."""
    return [_inlay_feature(i, style) for i in layout.inlays if i.face == face and i.into]


def _inlay_feature(inlay: Inlay, style: Style) -> Feature:
    if inlay.kind == "plug":
        return Feature(inlay.recess, str(inlay.fit.inserts[0].number), inlay=inlay)
    size = style.size(*finished_size(inlay))
    # a name that ends in a number would run into the size: "piece 1 1 5/64"
    name = f"{inlay.name}," if inlay.name[-1:].isdigit() else inlay.name
    return Feature(inlay.recess, f"{name} {size}, {style.depth(inlay.depth)} deep", inlay=inlay)


def features_of(layout: Layout, face: Face, style: Style) -> list[Feature]:
    """Everything let into the wood of one face, inlays first; what is let into inserts is not among it."""
    inlays = [_in_turn(i, layout, style) for i in layout.inlays if i.face == face and not i.into]
    return inlays + [
        Feature(f.wanted, f"{f.name}{_diameter(f, style)}, {style.depth(f.depth)} deep", fitting=f)
        for f in layout.fittings
        if f.face == face
    ]


def _in_turn(inlay: Inlay, layout: Layout, style: Style) -> Feature:
    """A recess that is called the first of its picture where others follow beside it."""
    feature = _inlay_feature(inlay, style)
    if not later_orders(layout, inlay):
        return feature
    return replace(
        feature, label=f"{inlay.name}, first: {feature.label.removeprefix(inlay.name).lstrip(', ')}", is_first=True
    )


def laid_out(layout: Layout, face: Face, style: Style) -> list[Feature]:
    """Everything that is set out on a face. A picture whose tapered walls are let in one order after the other is one:
    its lines are those of all its pieces, whichever recess they are in.
    """
    return [_whole(feature, layout, style) for feature in features_of(layout, face, style)]


def _whole(feature: Feature, layout: Layout, style: Style) -> Feature:
    if feature.inlay is None or not (later := later_orders(layout, feature.inlay)):
        return feature
    orders = [feature.inlay.fit, *(inlay.fit for inlay in later)]
    whole = orders[0]
    pieces = replace(whole.pieces, pieces=tuple(piece for fit in orders for piece in fit.pieces.pieces))
    inserts = tuple(insert for fit in orders for insert in fit.inserts)
    recess = shapely.union_all([fit.recess for fit in orders])
    return _inlay_feature(
        replace(feature.inlay, fit=replace(whole, pieces=pieces, inserts=inserts, recess=recess)), style
    )


def later_orders(layout: Layout, inlay: Inlay) -> list[Inlay]:
    """What is let into the board beside an inlay with tapered walls, once that is level."""
    if inlay.fit.walls is None or inlay.into or inlay.kind != "picture":
        return []
    return [one for one in layout.inlays if one.into and one.fit.walls is not None and one.face == inlay.face]


def distances_of(layout: Layout, view: View, style: Style) -> list[Distance]:
    """The distances to show beside a face: one for each line, two for the middle of a recess; equal ones once.

    The check has its own line, and is not shown twice.
    """
    features = laid_out(layout, view.face, style)
    check = layout.check if layout.check and layout.check.face == view.face else None
    wishes: list[Distance] = []
    for mark in placing_marks(layout, view.face, style):
        holders = held_by(mark, features)
        if mark.from_b is not None and not (check and _is_same(mark.from_b, check.from_b)):
            wishes.append(_across(view, mark.from_b, holders, style))
        if mark.from_a is not None and not (check and _is_same(mark.from_a, check.from_a)):
            wishes.append(_along_b(view, mark.from_a, holders, style))
    return _each_once(wishes)


def placing_marks(layout: Layout, face: Face, style: Style) -> list[Mark]:
    """The marks of a face that place a recess: every line, and points that are the middle of one. No proof points."""
    features = laid_out(layout, face, style)
    marks = [m for m in layout.marks if m.face == face]
    return [m for m in marks if m.kind != "point" or held_by(m, features)]


def proof_marks(layout: Layout, face: Face, style: Style) -> list[Mark]:
    """The points of a face that only prove what was set out."""
    placing = placing_marks(layout, face, style)
    return [m for m in layout.marks if m.face == face and m not in placing]


def held_by(mark: Mark, features: Sequence[Feature]) -> list[Feature]:
    """The recesses that a mark places: those with an end, a side or their middle on it."""
    if mark.kind == "point":
        return [f for f in features if not f.is_picture and _is_at(f.middle, (mark.from_b, mark.from_a))]
    at, axis = (mark.from_b, 0) if mark.kind == "line_x" else (mark.from_a, 1)
    return [f for f in features if at is not None and _touches(f, axis, at)]


def _is_same(one: float, other: float | None) -> bool:
    return other is not None and abs(one - other) <= SAME_PLACE


def _touches(feature: Feature, axis: int, at: float) -> bool:
    low, high = feature.region.bounds[axis], feature.region.bounds[axis + 2]
    places = (low, high, (low + high) / 2) if feature.is_picture else (low, high)
    return any(abs(at - place) <= MARK_ON for place in places)


def _is_at(middle: tuple[float, float], at: tuple[float | None, float | None]) -> bool:
    return all(b is not None and abs(a - b) <= MARK_ON for a, b in zip(middle, at, strict=True))


def _across(view: View, at: float, holders: list[Feature], style: Style) -> Distance:
    """A distance from B, on the side where its recess lies; that of the picture along A."""
    width = view.board.width
    is_far = bool(holders) and all(not f.is_picture and f.middle[1] > width / 2 for f in holders)
    side: Side = "far" if is_far else "a"
    gaps = [(width - f.region.bounds[3]) if is_far else f.region.bounds[1] for f in holders] or [0.0]
    past = _pencilled(at, 0, holders, min(gaps) / view.scale)
    return Distance(side, at / view.scale, past - min(gaps) / view.scale, style.rule(at))


def _along_b(view: View, at: float, holders: list[Feature], style: Style) -> Distance:
    """A distance from A, on the left unless all its recesses lie to the right."""
    length = view.board.length
    is_right = bool(holders) and all(not f.is_picture and f.middle[0] > length * RIGHT_HAND for f in holders)
    side: Side = "right" if is_right else "left"
    gaps = [(length - f.region.bounds[2]) if is_right else f.region.bounds[0] for f in holders] or [0.0]
    past = _pencilled(at, 1, holders, min(gaps) / view.scale)
    return Distance(side, at / view.scale, past - min(gaps) / view.scale, style.rule(at))


def is_middle(at: float, axis: int, holders: Sequence[Feature]) -> bool:
    """True if a line is the middle line of the picture."""
    return any(f.is_picture and abs(f.middle[axis] - at) <= MARK_ON for f in holders)


def _pencilled(at: float, axis: int, holders: list[Feature], gap: float) -> float:
    """How far a pencilled line runs past its recess towards the datum edge; a middle line runs off the board."""
    if not any(f.is_picture for f in holders):
        return 0.0
    return gap + OVER if axis == 0 and is_middle(at, axis, holders) else OVER


def _each_once(wishes: list[Distance]) -> list[Distance]:
    """Equal figures on one axis once: on the left before the right, along A before the far side."""
    kept: list[Distance] = []
    for wish in sorted(wishes, key=lambda w: (w.side in ("right", "far"), -w.starts)):
        axis = wish.side in ("left", "right")
        if not any(k.figure == wish.figure and (k.side in ("left", "right")) == axis for k in kept):
            kept.append(wish)
    return kept


def finished_size(inlay: Inlay) -> tuple[float, float]:
    """The size of an inlay's finished line: a picture along A and B, as it is set out; a key's long side first."""
    return drawn_size(inlay) if inlay.kind == "picture" else long_and_short(inlay)


def drawn_size(inlay: Inlay) -> tuple[float, float]:
    """Length along A and width along B of an inlay's pieces together."""
    x0, y0, x1, y1 = shapely.total_bounds([inlay.pose.region(p.region) for p in inlay.fit.pieces.pieces])
    return float(x1 - x0), float(y1 - y0)


def long_and_short(inlay: Inlay) -> tuple[float, float]:
    """The sides of the smallest rectangle around an inlay's pieces, the longer one first."""
    whole = shapely.geometrycollections([p.region for p in inlay.fit.pieces.pieces])
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(whole))
    one, other = (math.dist(corners[i], corners[i + 1]) for i in (0, 1))
    return max(one, other), min(one, other)


def _diameter(fitting: Fitting, style: Style) -> str:
    return f" Ø {style.length(fitting.size[0])}" if fitting.is_round else ""
