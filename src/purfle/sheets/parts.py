"""The parts of a job as the sheets name them: label, wood, size, the offcut they come from, the grain on the board."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from purfle.geometry.pose import Pose
from purfle.model.board import Inlay, Layout
from purfle.model.job import JobResult
from purfle.model.offcuts import Place, Wanted
from purfle.model.pieces import Insert
from purfle.model.shop import Offcut
from purfle.sheets.lettering import listed, plural
from purfle.sheets.style import Style
from purfle.wood import find

WORTH_PLANING = 0.1
"""An offcut thicker than its inserts by more (mm) is planed first (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part. `wood`: as the maker calls it. `places`: on the offcuts, spares last; empty if none has room for it.

    `grain` in degrees in the board frame. `along`, `across`: its size along its grain and across it. `spares`: how many
    more of it come out of the wood, laid beside it or as further slices of a block.
    """

    label: str
    inlay: Inlay
    insert: Insert
    wood: str
    places: tuple[Place, ...]
    grain: float
    along: float
    across: float
    spares: int = 0

    @property
    def spare_words(self) -> str:
        """', and a spare', ', and 3 spares', or nothing."""
        return "" if not self.spares else ", and a spare" if self.spares == 1 else f", and {self.spares} spares"


def labels_of(layout: Layout) -> dict[tuple[str, int], str]:
    """What is written on each part: its number; of a butterfly key k, or k1, k2 and so on."""
    keys = [(i.name, p.number) for i in layout.inlays if i.kind == "key" for p in i.fit.inserts]
    labels = {key: f"k{n}" if len(keys) > 1 else "k" for n, key in enumerate(keys, 1)}
    pictures = [(i.name, p.number) for i in layout.inlays if i.kind != "key" for p in i.fit.inserts]
    return labels | {part: str(part[1]) for part in pictures}


def host_labels(inlays: Sequence[Inlay]) -> list[str]:
    """The numbers of the pieces that some inlays are let into; keys have nothing let into them."""
    return [str(number) for number in sorted({host for i in inlays for p in i.fit.inserts for host in p.hosts})]


def wood_name(result: JobResult, wood: str) -> str:
    """A wood as this maker calls it: as the rack has it, else as the job has it, else its common name."""
    species = find(wood)
    said = [offcut.wood for offcut in result.shop.offcuts] + [result.job.board.wood, *(k.wood for k in result.job.keys)]
    words = [word for word in said if find(word).id == species.id]
    return words[0] if words else wood if wood != species.id else species.common.partition(" (")[0]


def parts_of(result: JobResult) -> list[Part]:
    """Every part of the job, those of the picture first, by number."""
    labels = labels_of(result.layout)
    parts = []
    for inlay in sorted(result.layout.inlays, key=lambda i: i.kind == "key"):
        for insert in inlay.fit.inserts:
            key = (inlay.name, insert.number)
            places = tuple(p for p in result.on_offcuts.places if (p.part.inlay, p.part.number) == key)
            places = tuple(sorted(places, key=lambda p: p.spare))
            grain = _grain(result, key, inlay, places)
            along, across = _size(insert, grain)
            wood = wood_name(result, insert.wood)
            named = (labels[key], inlay, insert, wood, places)
            spares = _spares(result, places)
            parts.append(Part(*named, inlay.pose.direction(grain), along, across, spares))
    return parts


def _spares(result: JobResult, places: tuple[Place, ...]) -> int:
    sawings = [result.on_offcuts.sawing(place.offcut) for place in places]
    return max(0, sum(sawing.copies if sawing else 1 for sawing in sawings) - 1)


def _grain(result: JobResult, key: tuple[str, int], inlay: Inlay, places: tuple[Place, ...]) -> float:
    """Direction of a part's fibres in the artwork frame: as cut, else as wanted, else along datum edge A."""
    if places:
        offcut = next(o for o in result.on_offcuts.used if o.name == places[0].offcut)
        return places[0].pose.inverse().direction(offcut.grain)
    wanted: list[Wanted] = [w for w in result.on_offcuts.unplaced if (w.inlay, w.number) == key]
    return wanted[0].grain if wanted else inlay.pose.inverse().direction(0.0)


def _size(insert: Insert, grain: float) -> tuple[float, float]:
    x0, y0, x1, y1 = shapely.transform(insert.region, Pose(-grain).points).bounds
    return x1 - x0, y1 - y0


def counted(parts: list[Part]) -> str:
    """'14 pieces and a butterfly key'."""
    keys = [part.inlay.name for part in parts if part.inlay.kind == "key"]
    pieces = [plural(len(parts) - len(keys), "piece")] if len(parts) > len(keys) else []
    named = keys[0] if len(set(keys)) == 1 and len(keys) == 1 else "butterfly key"
    return listed([*pieces, *([f"a {named}" if len(keys) == 1 else plural(len(keys), named)] if keys else [])])


def thickness_as_cut(result: JobResult, part: Part) -> float:
    """The thickness a part has when it leaves its offcut; the wanted one where it has no offcut yet.

    With tapered walls that of the insert when it is sawn off its plate, whatever its offcut.
    """
    if part.inlay.fit.walls is not None:
        return part.inlay.fit.walls.insert_depth
    if not part.places:
        return part.inlay.insert_thickness
    if sawing := result.on_offcuts.sawing(part.places[0].offcut):
        return sawing.thickness
    return next(o.thickness for o in result.on_offcuts.used if o.name == part.places[0].offcut)


def wood_and_offcut(part: Part, spare: int = 0) -> str:
    """'holly, offcut 7': the wood of a part and where it comes from; once where both have one name."""
    if not part.places:
        return part.wood
    offcut = part.places[min(spare, len(part.places) - 1)].offcut
    return part.wood if offcut.casefold() == part.wood.casefold() else f"{part.wood}, {offcut}"


def proud_as_cut(result: JobResult, part: Part) -> float:
    """How far a part stands above the face if it is not planed before it is let in."""
    if part.inlay.fit.walls is not None:
        return part.inlay.proud
    return part.inlay.proud + thickness_as_cut(result, part) - part.inlay.insert_thickness


def planed_thickness(result: JobResult, offcut: Offcut) -> float:
    """What an offcut is planed to: the thickness of its thickest insert, so that none sinks below the face.

    Its own thickness where that is no more, or hardly more; a block stays as it is until its parts are sawn off.
    """
    if result.on_offcuts.sawing(offcut.name):
        return offcut.thickness
    names = {(place.part.inlay, place.part.number) for place in result.on_offcuts.places if place.offcut == offcut.name}
    wanted = [
        inlay.insert_thickness
        for inlay in result.layout.inlays
        for insert in inlay.fit.inserts
        if (inlay.name, insert.number) in names and inlay.fit.walls is None
    ]
    thickest = max(wanted, default=offcut.thickness)
    return thickest if offcut.thickness - thickest > WORTH_PLANING else offcut.thickness


def proud_if_planed(result: JobResult, part: Part) -> float:
    """How far a part stands above the face if its offcut is planed first: more than asked beside thicker inserts."""
    if not part.places or part.inlay.fit.walls is not None:
        return part.inlay.proud
    if result.on_offcuts.sawing(part.places[0].offcut):
        return proud_as_cut(result, part)
    offcut = next(o for o in result.on_offcuts.used if o.name == part.places[0].offcut)
    return part.inlay.proud + planed_thickness(result, offcut) - part.inlay.insert_thickness


def board_words(result: JobResult, style: Style) -> str:
    """'white oak, 420 × 260 × 19 mm'."""
    board = result.layout.board
    size = style.size(board.length, board.width, board.thickness)
    return f"{wood_name(result, board.wood)}, {size} {style.word}"
