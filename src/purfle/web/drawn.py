"""What the page draws: the board with both faces, what is let in, the offcuts with the parts in them.

Everything lies in the board frame (mm, x along edge A, y from edge A inwards, as seen through the show face) or, on an
offcut, in that of the offcut. Keys are described in `docs/page.schema.json`.
"""

from collections.abc import Sequence
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from purfle import board as boards
from purfle.job import Design
from purfle.model.board import Fitting, Hole, Inlay, Layout
from purfle.model.job import Artwork, Job, JobResult, PictureRule
from purfle.model.offcuts import OnOffcuts, Place
from purfle.model.pieces import Insert
from purfle.model.shop import Shop
from purfle.web.docket.wording import tables_of
from purfle.web.paths import path_of, placed_path, placed_spot, spot_in
from purfle.wood import find as find_wood

Drawn = dict[str, Any]


def bare_board(job: Job) -> Drawn:
    """The board alone."""
    board = job.board
    return {
        "wood": find_wood(board.wood).id,
        "length": board.length,
        "width": board.width,
        "thickness": board.thickness,
        "grain": board.grain,
        "outline": path_of(board.outline),
        "photograph": board.photograph is not None,
    }


def woods_of(job: Job, shop: Shop, used: Sequence[str]) -> Drawn:
    """Every wood that is drawn, by its id: its name and its colours."""
    said = woods_said(job, shop)
    woods = {find_wood(name).id: find_wood(name) for name in [*said, *used]}
    return {
        key: {
            "name": said.get(key, one.common),
            "fresh": _colour(one.look.fresh),
            "finished": _colour(one.look.finished),
            "aged": _colour(one.look.aged),
            "figure": one.look.grain,
            "contrast": one.look.contrast,
        }
        for key, one in sorted(woods.items())
    }


def woods_said(job: Job, shop: Shop) -> dict[str, str]:
    """What the maker calls each wood of the job and of the rack, by its id."""
    names = [*(offcut.wood for offcut in shop.offcuts), *(key.wood for key in job.keys), job.board.wood]
    return {find_wood(name).id: name for name in names}


def _colour(rgb: Sequence[int]) -> str:
    return "#" + "".join(f"{level:02x}" for level in rgb)


def pieces_of(layout: Layout, offcuts: OnOffcuts | None) -> list[Drawn]:
    """Every insert where it lies on the board, those let in later after what they are let into."""
    grains = {(one.part.inlay, one.part.number): one.part.grain for one in offcuts.places} if offcuts else {}
    found = []
    for inlay in layout.inlays:
        for insert in inlay.fit.inserts:
            found.append(_piece(inlay, insert, grains.get((inlay.name, insert.number), 0.0)))
    return found


def _piece(inlay: Inlay, insert: Insert, grain: float) -> Drawn:
    region = inlay.pose.region(insert.region)
    return {
        "id": f"{inlay.name} {insert.number}",
        "number": insert.number,
        "name": insert.name,
        "wood": insert.wood,
        "face": inlay.face,
        "kind": inlay.kind,
        "into": inlay.into,
        "d": placed_path(insert.region, inlay.pose),
        "grain": round(inlay.pose.direction(grain), 2),
        "spot": placed_spot(insert.region, inlay.pose),
        "box": _box(region),
    }


def areas_of(job: Job, design: Design) -> list[Drawn]:
    """The areas of a design at true size where it will stand, as long as its pieces are still being made."""
    frame = shapely.box(*shapely.total_bounds([area.region for area in design.drawn]))
    rule = job.artworks[0]
    pose = design.pose or boards.place_artwork(job.board, rule, frame)
    found = []
    for number, area in enumerate(design.drawn, 1):
        region = pose.region(area.region)
        drawn = {"id": f"area {number}", "number": number, "name": area.name, "wood": area.wood, "face": rule.face}
        drawn |= {"kind": "area", "into": "", "d": path_of(region), "grain": 0.0, "spot": [*spot_in(region)]}
        found.append(drawn | {"box": _box(region)})
    return found


def recesses_of(layout: Layout) -> list[Drawn]:
    """What is cut into each face, drawn dashed on the other one: recesses of inlays and of fittings."""
    found: list[Drawn] = []
    for inlay in layout.inlays:
        if not inlay.into:
            cut = {"face": inlay.face, "kind": inlay.kind, "name": inlay.name, "depth": inlay.depth}
            found.append({**cut, "d": placed_path(inlay.fit.recess, inlay.pose)})
    found += [
        {"face": one.face, "kind": "fitting", "name": one.name, "d": path_of(one.wanted), "depth": one.depth}
        for one in layout.fittings
    ]
    return found


def artworks_of(job: Job, pieces: Sequence[Drawn]) -> list[Drawn]:
    """Everything that is let in but keys: where it stands, measured to its middle; how to say so in the job file.

    Where the job has several artworks the pieces are those of all together, and only the first figure of size is known.
    """
    of_design = [one["box"] for one in pieces if one["kind"] in ("picture", "plug", "area")]
    several = len(job.artworks) > 1
    found, counts = [], {}  # type: ignore[var-annotated]
    for rule in job.artworks:
        kind = "picture" if isinstance(rule, PictureRule) else rule.kind
        place = counts.get(kind, 0)
        counts[kind] = place + 1
        alone = isinstance(rule, PictureRule) and not several
        path = ["picture"] if alone else [kind, place]
        box = _around(of_design) if of_design and not several else None
        found.append(_artwork(rule, kind, path) | ({"box": box} if box else {}))
    return found


def _artwork(rule: Artwork, kind: str, path: list[str | int]) -> Drawn:
    name = rule.file.stem if isinstance(rule, PictureRule) else rule.name or kind
    return {
        "path": path,
        "kind": kind,
        "name": name,
        "face": rule.face,
        "angle": rule.angle,
        "mirrored": rule.mirrored,
        "depth": rule.depth,
        "height": rule.height if isinstance(rule, PictureRule) else None,
        "along_a": rule.along_a.datum,
        "along_b": rule.along_b.datum,
        "to_middle": rule.to_middle,
    }


def fittings_of(layout: Layout, job: Job) -> list[Drawn]:
    """Hardware that is let in, and holes, each with the place of its table in the job file."""
    order = dict(zip((rule.name for rule in job.fittings), tables_of(job.fittings), strict=True))
    return [_fitting(one, order.get(one.name)) for one in layout.fittings]


def _fitting(one: Fitting, place: int | None) -> Drawn:
    return {
        "path": None if place is None else ["fitting", place],
        "kind": one.kind,
        "name": one.name,
        "face": one.face,
        "d": path_of(one.wanted),
        "middle": [round(c, 3) for c in one.centre],
        "size": [round(c, 3) for c in one.size],
        "depth": one.depth,
        "round": one.is_round,
        "open_edge": one.open_edge,
    }


def keys_of(layout: Layout, job: Job) -> list[Drawn]:
    """Butterfly keys, each with the place of its table in the job file."""
    order = {rule.name: number for number, rule in enumerate(job.keys)}
    found = []
    for inlay in layout.inlays:
        if inlay.kind == "key":
            box = _box(inlay.recess)
            middle = [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]
            path = ["butterfly_key", order.get(inlay.name, 0)]
            found.append({"path": path, "name": inlay.name, "face": inlay.face, "middle": middle, "depth": inlay.depth})
    return found


def holes_of(layout: Layout) -> list[Drawn]:
    """Holes that are drilled by hand."""
    return [_hole(one) for one in layout.holes]


def _hole(one: Hole) -> Drawn:
    place = [round(c, 3) for c in one.centre]
    return {"face": one.face, "middle": place, "drill": one.drill, "kind": one.kind, "through": one.is_through}


def rack_of(shop: Shop, filled: OnOffcuts | None) -> list[Drawn]:
    """Every offcut of the rack in its order, with the parts that come out of it."""
    found = []
    for number, offcut in enumerate(shop.offcuts):
        left, low, right, high = offcut.outline.bounds
        places = [one for one in filled.places if one.offcut == offcut.name] if filled else []
        found.append(
            {
                "path": ["offcut", number],
                "name": offcut.name,
                "wood": find_wood(offcut.wood).id,
                "said": offcut.wood,
                "d": path_of(offcut.outline),
                "defects": path_of(offcut.defects),
                "size": [round(right - left, 2), round(high - low, 2)],
                "thickness": offcut.thickness,
                "grain": offcut.grain,
                "stands": offcut.stands,
                "parts": [_part(one) for one in places],
            }
        )
    return found


def _part(place: Place) -> Drawn:
    part = place.part
    drawn = {"d": placed_path(part.region, place.pose, 0.05), "spot": placed_spot(part.region, place.pose)}
    return {"number": part.number, "inlay": part.inlay, "spare": place.spare, **drawn}


def _box(region: BaseGeometry) -> list[float]:
    return [round(float(side), 3) for side in region.bounds]


def _around(boxes: Sequence[Sequence[float]]) -> list[float]:
    return [
        min(one[0] for one in boxes),
        min(one[1] for one in boxes),
        max(one[2] for one in boxes),
        max(one[3] for one in boxes),
    ]


def of_result(result: JobResult) -> Drawn:
    """Everything of a job that has been foreseen."""
    return of_layout(result.job, result.shop, result.layout, result.on_offcuts)


def of_layout(job: Job, shop: Shop, layout: Layout, offcuts: OnOffcuts | None) -> Drawn:
    """Everything of a layout; the offcuts without parts where those have not been placed."""
    pieces = pieces_of(layout, offcuts)
    drawn = of_areas(job, shop, pieces)
    drawn |= {"recesses": recesses_of(layout), "fittings": fittings_of(layout, job), "keys": keys_of(layout, job)}
    drawn |= {"holes": holes_of(layout)}
    return drawn | ({"rack": rack_of(shop, offcuts)} if offcuts else {})


def of_areas(job: Job, shop: Shop, pieces: list[Drawn]) -> Drawn:
    """The board with what is drawn on it so far."""
    return {
        "board": bare_board(job),
        "woods": woods_of(job, shop, [one["wood"] for one in pieces]),
        "pieces": pieces,
        "artworks": artworks_of(job, pieces),
        "recesses": [],
        "fittings": [],
        "keys": [],
        "holes": [],
    }
