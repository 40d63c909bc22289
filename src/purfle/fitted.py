"""The fits of a job: what they are held to, which cutter finishes which area, the fit of its design and its keys."""

from collections.abc import Sequence
from dataclasses import replace

import shapely

from purfle import artwork, fit
from purfle.errors import Fault, JobFileError
from purfle.mate import ALONE, Answer, Mate
from purfle.model.job import Job, KeyRule, ReadyRule
from purfle.model.pieces import DrawnArea, Fit, FitRule
from purfle.model.shop import Shop
from purfle.model.tapered import TaperedRule
from purfle.model.templates import TemplateRule
from purfle.shop import cutter_named, v_cutter_named
from purfle.units import in_mm
from purfle.wood import find as find_wood


def fit_rule(job: Job, shop: Shop) -> FitRule:
    """What the fit is held to: the seam asked for, and the cutter that finishes it."""
    wish, templates = job.fit, template_rule_of(job, shop)
    radius = cutter_named(shop, wish.cutter).radius
    seam = wish.seam if templates is None else templates.seam
    return FitRule(radius, seam, corners=wish.corners, corner_wishes=wish.corner_wishes)


def template_rule_of(job: Job, shop: Shop) -> TemplateRule | None:
    """How the job is cut with templates, None where it is cut another way: the maker's bushes, and the seam."""
    if job.templates is None:
        return None
    from purfle.templates import template_rule

    return template_rule(job.templates, shop, cutter_named(shop, job.fit.cutter), job.fit.seam)


def fit_all(job: Job, shop: Shop, drawn: tuple[DrawnArea, ...], mate: Mate = ALONE) -> dict[str, Fit]:
    """The fit of the picture ("picture"), or of all artworks together ("design"), and of each key, by name.

    What is let into the inserts of "picture" is called "picture 2", and so on.
    """
    if job.trial is not None:
        return fit_plugs(job, shop, drawn, mate)
    rule = fit_rule(job, shop)
    drawn, own = finishing_cutters(job, shop, drawn)
    of_key = replace(rule, corner_wishes=())
    radii = [own.get(key.name, rule.cutter_radius) for key in job.keys]
    templates = template_rule_of(job, shop)
    inside = templates.least_inside if templates else None
    keys = [
        mate.share(fit_key, key, replace(of_key, cutter_radius=radius), inside)
        for key, radius in zip(job.keys, radii, strict=True)
    ]
    name = "design" if job.picture is None else "picture"
    ordered = fit_design(job, shop, drawn, mate)
    fits = {name if one.order == 1 else f"{name} {one.order}": one for one in ordered}
    return fits | {key.name: made() for key, made in zip(job.keys, keys, strict=True)}


def fit_plugs(job: Job, shop: Shop, drawn: tuple[DrawnArea, ...], mate: Mate = ALONE) -> dict[str, Fit]:
    """The fit of each plug of a fit trial by its name, with its own seam; they are numbered from 1 in their order."""
    rule = fit_rule(job, shop)
    made: list[tuple[str, Answer[Fit]]] = []
    for plug in job.artworks:
        if isinstance(plug, ReadyRule) and plug.seam is not None:
            (area,) = [area for area in drawn if area.name == plug.name]
            its = replace(rule, seam=plug.seam)
            made.append((plug.name, mate.share(fit_plug, len(made) + 1, area, its)))
    return {name: fit() for name, fit in made}


def fit_plug(number: int, area: DrawnArea, rule: FitRule) -> Fit:
    """The fit of one plug."""
    alone = fit.let_in(fit.make_pieces((area,), rule), rule)
    pieces = tuple(replace(piece, number=number) for piece in alone.pieces.pieces)
    inserts = tuple(replace(insert, number=number) for insert in alone.inserts)
    return replace(alone, pieces=replace(alone.pieces, pieces=pieces), inserts=inserts)


def fit_design(job: Job, shop: Shop, drawn: tuple[DrawnArea, ...], mate: Mate = ALONE) -> tuple[Fit, ...]:
    """The fit of the design, one for each order of letting in."""
    rule, walls = fit_rule(job, shop), tapered_rule(job, shop)
    if walls is not None:
        from purfle.fit.tapered_walls import let_in_tapered  # few jobs have tapered walls

        return let_in_tapered(drawn, replace(rule, seam=0.0), walls)
    templates = template_rule_of(job, shop)
    if templates is not None:
        from purfle.fit.apart import let_in_apart  # few jobs are cut with templates

        return (let_in_apart(drawn, rule, templates.least_inside),)
    return fit.let_in_order(drawn, rule, artwork.by_place(job.order, drawn), mate)


def tapered_rule(job: Job, shop: Shop) -> TaperedRule | None:
    """The walls of the design where they are tapered: the V cutter's angle and tip, the recess's depth shared out."""
    wish = job.fit.tapered
    if wish is None:
        return None
    cutter, depth = v_cutter_named(shop, wish.v_cutter), job.artworks[0].depth
    sink = depth - job.fit.glue_room
    if sink <= 0.0:
        what = f"a recess {in_mm(depth)} deep has no room for an insert over {in_mm(job.fit.glue_room)} of glue room"
        raise JobFileError(what, "fit.glue_room", "make the recess deeper, or the glue room smaller")
    return TaperedRule(cutter.half_angle, cutter.tip_radius, sink, job.fit.glue_room, wish.saw_room)


def fit_key(key: KeyRule, rule: FitRule, least_inside: float | None = None) -> Fit:
    """The fit of one butterfly key. `least_inside`: its tightest inside corner where it is cut with templates."""
    shape = artwork.butterfly_key(key.length, key.end_width, key.waist_width)
    area = DrawnArea(key.name, find_wood(key.wood).id, find_wood(key.wood).look.fresh, shape)
    if least_inside is not None:
        from purfle.fit.apart import let_in_apart

        return let_in_apart((area,), rule, least_inside)
    return fit.let_in(fit.make_pieces((area,), rule), rule)


def finishing_cutters(
    job: Job, shop: Shop, drawn: tuple[DrawnArea, ...]
) -> tuple[tuple[DrawnArea, ...], dict[str, float]]:
    """The areas, those that the job gives another finishing cutter with its radius; and the keys' radii by name.

    Names outrank points; a name that several artworks share stands for all of them. In a design made symmetrical an
    area's mirror image gets its cutter too. Raises JobFileError with every wish that meets nothing, and with mirror
    images that are given two different cutters.
    """
    areas, keys = list(drawn), {key.name for key in job.keys}
    own: dict[str, float] = {}
    faults: list[Fault] = []
    shared = [(one, name) for which, name in job.cutters for one in _sharing(which, drawn)]
    for which, name in sorted((*shared, *job.cutters), key=lambda wish: isinstance(wish[0], str)):
        radius = cutter_named(shop, name).radius
        if isinstance(which, str):
            meant = [number for number, area in enumerate(areas) if area.name == which]
            own |= {which: radius} if which in keys else {}
        else:
            meant = [n for n, area in enumerate(areas) if area.region.covers(shapely.Point(which))][:1]
        for number in meant:
            areas[number] = replace(areas[number], cutter_radius=radius)
        if not meant and which not in keys:
            faults.append(_nothing_meant(which, [*(area.name for area in areas), *keys]))
    wish = job.picture.edits.symmetry if job.picture else None
    if wish is not None:
        faults += _give_to_images(areas, wish.upright)
    if faults:
        raise JobFileError.of(faults)
    return tuple(areas), own


def _sharing(which: tuple[float, float] | str, drawn: Sequence[DrawnArea]) -> list[str]:
    return artwork.names_sharing(which, drawn) if isinstance(which, str) else []


def _give_to_images(areas: list[DrawnArea], upright: bool) -> list[Fault]:
    """Give the mirror image of each area with a cutter of its own the same one, in place; a fault where it has another.

    A design made symmetrical is so about its middle.
    """
    left, low, right, high = shapely.total_bounds([area.region for area in areas]).tolist()
    sense, shift = ((-1.0, 1.0), (left + right, 0.0)) if upright else ((1.0, -1.0), (0.0, low + high))
    for area in [area for area in areas if area.cutter_radius is not None]:
        image = shapely.transform(area.region, lambda places: places * sense + shift)
        overlaps = [float(shapely.intersection(image, other.region).area) for other in areas]
        number = overlaps.index(max(overlaps))
        other = areas[number]
        if overlaps[number] <= image.area / 2.0 or other.cutter_radius == area.cutter_radius:
            continue
        if other.cutter_radius is not None:
            what = f'"{area.name}" and its mirror image "{other.name}" are given different cutters'
            mend = "Give both the same one; one of them alone will do. Or take symmetrical out of [areas]."
            return [Fault(what, "job.toml, cutters", mend)]
        areas[number] = replace(other, cutter_radius=area.cutter_radius)
    return []


def _nothing_meant(which: tuple[float, float] | str, names: Sequence[str]) -> Fault:
    called = f'"{which}"' if isinstance(which, str) else in_mm(*which)
    known = ", ".join(sorted({name for name in names if name}))
    mend = f"name one of these ({known}), or a point inside an area, in mm from the design's lower left corner"
    return Fault(f"no area and no key is meant by {called}", f"job.toml, cutters.{called}", mend)
