"""Which of two overlapping shapes of a drawing lies on top, as the maker wants it."""

from collections.abc import Sequence
from dataclasses import replace

import shapely

from purfle.artwork.drawing import visible_regions
from purfle.artwork.picking import said
from purfle.errors import Fault, JobFileError
from purfle.files.toml_table import nearest
from purfle.model.artwork import Drawing, PaintedShape, Which
from purfle.model.findings import Finding
from purfle.tolerances import FILM

Pair = tuple[Which, Which]
_EDIT = "[areas] on_top"


def restack(drawing: Drawing, pairs: Sequence[Pair], height: float) -> Drawing:
    """The drawing with the first shape of each pair painted over the second; each change is a note in `not_carried`.

    `height`: of the finished design in mm, which places the points. A point stands for the topmost shape there, a name
    or a colour for all shapes that have it.

    Raises: JobFileError for a shape that is not there, a pair that does not overlap or lies so already, and pairs that
    speak against one another.
    """
    faults: list[Fault] = []
    shapes = list(drawing.shapes)
    picked = [tuple(_picked(drawing, which, height, faults) for which in pair) for pair in pairs]
    if not faults:
        for pair, (top, below) in zip(pairs, picked, strict=True):
            faults += _pointless(shapes, pair, top, below)
    if faults:
        raise JobFileError.of(faults)
    for top, below in picked:
        shapes = _lifted(shapes, top, below)
    for pair, (top, below) in zip(pairs, picked, strict=True):
        if not _lies_over(shapes, top, below):
            what = f"{_pair_said(pair)} speaks against another pair."
            faults.append(Fault(what, _EDIT, "Keep one of them, or say it of all the shapes between them."))
    if faults:
        raise JobFileError.of(faults)
    notes = [
        Finding("note", f"Stacked anew: {_pair_said(pair)}.", _EDIT, "Take it out to have it as drawn.", "artwork")
        for pair in pairs
    ]
    return replace(drawing, shapes=tuple(shapes), not_carried=(*drawing.not_carried, *notes))


def _picked(drawing: Drawing, which: Which, height: float, faults: list[Fault]) -> list[PaintedShape]:
    if isinstance(which, str):
        found = [shape for shape in drawing.shapes if shape.name == which]
        known = sorted({shape.name for shape in drawing.shapes if shape.name})
        mend = f"Use {nearest(known, which)}." if known else "The drawing names no shape: use a point inside it."
    elif len(which) == 2:
        left, low, _, high = shapely.total_bounds([region for _, _, region in visible_regions(drawing)]).tolist()
        scale = height / (high - low)
        place = shapely.Point(left + which[0] / scale, low + which[1] / scale)
        found = [shape for shape in drawing.shapes if shape.region.covers(place)][-1:]
        mend = "Give a point inside a shape, in mm from the lower left corner of the design."
    else:
        found = [shape for shape in drawing.shapes if shape.colour == which]
        mend = f"The colours are {', '.join(sorted({said(shape.colour) for shape in drawing.shapes}))}."
    if not found:
        faults.append(Fault(f"The drawing has no shape {said(which)}.", _EDIT, mend))
    return found


def _pointless(
    shapes: list[PaintedShape], pair: Pair, top: list[PaintedShape], below: list[PaintedShape]
) -> list[Fault]:
    if any(one is other for one in top for other in below):
        return [Fault(f"{_pair_said(pair)}: both are one shape.", _EDIT, "Name two shapes.")]
    if not any(_overlap(one, other) for one in top for other in below):
        what = f"{said(pair[0])} and {said(pair[1])} do not overlap."
        return [Fault(what, _EDIT, "Take the pair out: neither hides anything of the other.")]
    if _lies_over(shapes, top, below):
        return [Fault(f"{_pair_said(pair)} already.", _EDIT, "Take the pair out, or turn it round.")]
    return []


def _overlap(one: PaintedShape, other: PaintedShape) -> bool:
    return bool(shapely.intersection(one.region, other.region).area > FILM)


def _place(shapes: list[PaintedShape], shape: PaintedShape) -> int:
    return next(number for number, one in enumerate(shapes) if one is shape)


def _lies_over(shapes: list[PaintedShape], top: list[PaintedShape], below: list[PaintedShape]) -> bool:
    return min(_place(shapes, shape) for shape in top) > max(_place(shapes, shape) for shape in below)


def _lifted(shapes: list[PaintedShape], top: list[PaintedShape], below: list[PaintedShape]) -> list[PaintedShape]:
    """The shapes with the first ones moved directly above the highest of the others, or the others directly below.

    Whichever passes fewer shapes that it overlaps, so that as little else as may be changes.
    """
    if _lies_over(shapes, top, below):
        return shapes
    lowest, highest = (pick(_place(shapes, shape) for shape in some) for pick, some in ((min, top), (max, below)))
    between = [shape for shape in shapes[lowest : highest + 1] if not _is_among(shape, [*top, *below])]
    passed = [sum(_overlap(one, other) for one in some for other in between) for some in (top, below)]
    moved = top if passed[0] <= passed[1] else below
    kept = [shape for shape in shapes if not _is_among(shape, moved)]
    after = _place(kept, shapes[highest]) + 1 if moved is top else _place(kept, shapes[lowest])
    return [*kept[:after], *(shape for shape in shapes if _is_among(shape, moved)), *kept[after:]]


def _is_among(shape: PaintedShape, others: list[PaintedShape]) -> bool:
    return any(shape is other for other in others)


def _pair_said(pair: Pair) -> str:
    return f"{said(pair[0])} over {said(pair[1])}"
