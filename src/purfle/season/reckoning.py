"""Reckoning the seasons of a job: bodies of wood from its parts, their growth, their seams at their worst."""

from dataclasses import replace

import numpy as np

from purfle.errors import PurfleError
from purfle.model.board import Inlay, Layout
from purfle.model.job import Job
from purfle.model.offcuts import TURNED, OnOffcuts
from purfle.model.pieces import Insert
from purfle.model.season import QUARTER, Fitted, InsertSeasons, SeamAtWorst, SeasonName, Seasons, SeasonWish
from purfle.model.shop import Shop
from purfle.season.bodies import Body, Sides, off_grain, sides_of
from purfle.season.findings import findings_of
from purfle.season.seams import Year, seam_through_the_year, size_limits, years_of
from purfle.wood import moves, practice, species_among

WIDER = 1.5
"""A seam asked for wider than what reads as a line is open at this share of it (common practice, no source)."""


def reckon(job: Job, shop: Shop, layout: Layout, on_offcuts: OnOffcuts) -> Seasons | None:
    """What the seasons do to a job; None where it says nothing of its climate."""
    if job.season is None:
        return None
    wish = job.season
    board = _board(job, shop)
    there: dict[SeasonName, float] = {"winter": wish.place.winter.moisture, "summer": wish.place.summer.moisture}
    years = years_of(fitted_of(wish), there)
    bodies = {inlay.name: [_body(inlay, one, shop, on_offcuts) for one in inlay.fit.inserts] for inlay in layout.inlays}
    inserts: list[InsertSeasons] = []
    if moves(board.species):
        for inlay in layout.inlays:
            inserts += _of_inlay(inlay, board, bodies, layout, years)
    every = [(board, job.board.wood), *_named(layout, bodies)]
    unknown = tuple(dict.fromkeys(wood for body, wood in every if body is None or not moves(body.species)))
    seasons = Seasons(
        wish=wish,
        fitted=fitted_of(wish),
        opens_at=opens_at(job.fit.seam),
        board_rings=job.board.rings,
        board_along=_grows(board, years)[0],
        board_across=_grows(board, years)[1],
        inserts=tuple(inserts),
        unknown=unknown,
    )
    return replace(seasons, findings=findings_of(seasons, layout))


def fitted_of(wish: SeasonWish) -> tuple[Fitted, ...]:
    """Every state that the wood may be fitted in: as measured, in the season that is named, or in either."""
    if wish.board_moisture is not None and wish.parts_moisture is not None:
        return (Fitted("measured", wish.board_moisture, wish.parts_moisture),)
    seasons: list[SeasonName] = [wish.made] if wish.made else ["winter", "summer"]
    found = []
    for season in seasons:
        usual = wish.shop.air(season).moisture
        board = usual if wish.board_moisture is None else wish.board_moisture
        found.append(Fitted(season, board, usual if wish.parts_moisture is None else wish.parts_moisture))
    return tuple(found)


def opens_at(seam: float) -> float:
    """The width (mm) at which a seam reads as a line, for one that was asked for so wide."""
    line = practice("fit", "seam (glue gap) per side").high
    assert line is not None
    return max(line, WIDER * seam)


def _board(job: Job, shop: Shop) -> Body:
    return Body(species_among(job.board.wood, shop.woods), job.board.outline, job.board.grain, job.board.rings)


def _body(inlay: Inlay, insert: Insert, shop: Shop, on_offcuts: OnOffcuts) -> Body | None:
    """An insert as it lies in the board; None for one whose wood has no figure."""
    grain, rings = _grain_and_rings(inlay, insert, shop, on_offcuts)
    try:
        species = species_among(insert.wood, shop.woods)
    except PurfleError:
        return None
    region = inlay.pose.region(insert.region)
    return Body(species, region, inlay.pose.direction(grain), rings) if moves(species) else None


def _grain_and_rings(inlay: Inlay, insert: Insert, shop: Shop, on_offcuts: OnOffcuts) -> tuple[float, float | None]:
    """Direction of its fibres in the artwork frame, as cut, else as wanted; and how its offcut was cut."""
    name = (inlay.name, insert.number)
    for place in on_offcuts.places:
        if (place.part.inlay, place.part.number) == name and not place.spare:
            offcut = next(one for one in shop.offcuts if one.name == place.offcut)
            return place.to_artwork.direction(offcut.grain), offcut.rings
    for part in on_offcuts.unplaced:
        if (part.inlay, part.number) == name:
            return (part.grain if part.hangs is None else TURNED.direction(part.grain)), None
    return 0.0, None


def _named(layout: Layout, bodies: dict[str, list[Body | None]]) -> list[tuple[Body | None, str]]:
    return [
        (body, insert.wood)
        for inlay in layout.inlays
        for body, insert in zip(bodies[inlay.name], inlay.fit.inserts, strict=True)
    ]


def _of_inlay(
    inlay: Inlay, board: Body, bodies: dict[str, list[Body | None]], layout: Layout, years: list[Year]
) -> list[InsertSeasons]:
    """The inserts of one inlay."""
    seam = 0.0 if inlay.fit.walls is not None else inlay.fit.rule.seam
    mine = bodies[inlay.name]
    found = []
    for insert, body, sides in zip(inlay.fit.inserts, mine, sides_of(mine, seam), strict=True):
        if body is None or sides is None:
            continue
        host = _host(inlay, insert, bodies, layout)
        if insert.hosts and host is None:
            continue  # its ground has no figure, and is named
        around = (host or board, mine)
        found.append(_of_insert((inlay, insert), (body, sides), around, years, host is not None))
    return found


def _host(inlay: Inlay, insert: Insert, bodies: dict[str, list[Body | None]], layout: Layout) -> Body | None:
    """The insert that this one is let into, the largest of them; None for the board, or where it is left out."""
    hosts = [
        body
        for other in layout.inlays
        if other.name == inlay.into
        for one, body in zip(other.fit.inserts, bodies[other.name], strict=True)
        if one.number in insert.hosts and body is not None
    ]
    return max(hosts, key=lambda body: float(body.region.area), default=None)


def _of_insert(
    named: tuple[Inlay, Insert],
    own: tuple[Body, Sides],
    around: tuple[Body, list[Body | None]],
    years: list[Year],
    in_part: bool,
) -> InsertSeasons:
    (inlay, insert), (body, sides), (ground, others) = named, own, around
    seam = 0.0 if inlay.fit.walls is not None else inlay.fit.rule.seam
    numbers = [one.number for one in inlay.fit.inserts]

    def worst(as_if: Body) -> tuple[SeamAtWorst, SeamAtWorst]:
        low, high = seam_through_the_year(as_if, sides, (ground, others), years, in_part)
        return tuple(  # type: ignore[return-value]
            replace(one, width=seam + one.width, against=numbers[one.against - 1] if one.against else 0)
            for one in (low, high)
        )

    low, high = worst(body)
    opens, pushes = size_limits(body, ground, years, (opens_at(seam) - seam, seam), in_part)
    along, across = _grows(body, years, is_part=True)
    angle = off_grain(body.grain, ground.grain)
    is_fine = low.width >= 0.0 and high.width <= opens_at(seam)
    turned = None if is_fine or angle < ALONG else _widths(worst(replace(body, grain=ground.grain)))
    quarter = None if is_fine or body.rings == QUARTER else _widths(worst(replace(body, rings=QUARTER)))
    return InsertSeasons(
        inlay=inlay.name,
        number=insert.number,
        name=insert.name or inlay.name,
        wood=insert.wood,
        off_grain=angle,
        rings=body.rings,
        along=along[0],
        across=across[0],
        grows_along=along[1:],
        grows_across=across[1:],
        narrowest=low,
        widest=high,
        opens_beyond=opens,
        pushes_beyond=pushes,
        turned=turned,
        quarter=quarter,
    )


ALONG = 1.0
"""Fibres that lie nearer than this (degrees) to those of their ground lie along them."""


def _widths(seams: tuple[SeamAtWorst, SeamAtWorst]) -> tuple[float, float]:
    return seams[0].width, seams[1].width


Sizes = tuple[float, float, float]


def _grows(body: Body, years: list[Year], is_part: bool = False) -> tuple[Sizes, Sizes]:
    """Size along and across the fibres of a body, each with its least and its most growth, mm."""
    along, across = body.sizes
    if not moves(body.species):
        return (along, 0.0, 0.0), (across, 0.0, 0.0)
    grown = [body.growth(year.parts if is_part else year.board) for year in years]
    lengths = np.array([one for one, _ in grown]) * along
    widths = np.concatenate([two for _, two in grown]) * across
    return (along, float(lengths.min()), float(lengths.max())), (across, float(widths.min()), float(widths.max()))
