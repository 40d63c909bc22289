"""Pieces and fit as features for other programs: RFC 7946-shaped, in mm, y up."""

from typing import Any

import shapely
from shapely.geometry import mapping

from purfle.geometry.offsetting import Region
from purfle.model.pieces import Fit

_DECIMALS = 6
Features = list[dict[str, Any]]


def pieces_features(fit: Fit) -> Features:
    """Features of kind drawn, insert, recess and lost, each with piece, colour, kind, order and cutter_mm.

    `drawn` are the pieces as they tile, seam not yet taken; the ground among them is piece 0, which of a later order is
    the inserts that it is let into, so it is left out there. `closed_mm` of a drawn piece is the diameter by which it
    is closed: its cutter's, less the seam that is taken off it afterwards. `hosts`: numbers of the inserts that an
    insert is let into. A recess has a feature for each cutter that finishes parts of it.
    """
    pieces = fit.pieces
    named = {one.number: {"name": one.name, "wood": one.wood, "colour": _hex(one.colour)} for one in fit.inserts}
    own = {one.number: fit.radius_of(one) for one in fit.inserts}
    recesses = _recesses(fit)
    features = []
    if fit.order == 1:
        features.append(_feature(fit, pieces.ground, "drawn", 0, {"name": "ground", **_closed(fit, min(recesses))}))
    for piece in pieces.pieces:
        said = {**named[piece.number], **_closed(fit, own[piece.number])}
        features.append(_feature(fit, piece.region, "drawn", piece.number, said))
    for insert in fit.inserts:
        said = {**named[insert.number], **_cutter(own[insert.number]), "hosts": list(insert.hosts)}
        features.append(_feature(fit, insert.region, "insert", insert.number, said))
    for radius, region in sorted(recesses.items()):
        features.append(_feature(fit, region, "recess", 0, {"name": "recess", **_cutter(radius)}))
    for lost in pieces.lost:
        said = {"name": lost.name, "wood": lost.wood, "why": lost.why, "instead": lost.instead}
        features.append(_feature(fit, lost.region, "lost", None, {**said, **_cutter(fit.rule.cutter_radius)}))
    return features


def _recesses(fit: Fit) -> dict[float, Region]:
    """The recess by the radius of the cutter that finishes it; as it is where that is one cutter."""
    parts = fit.recess_parts()
    radii = {radius for _, radius in parts}
    if len(radii) == 1:
        return {radii.pop(): fit.recess}
    return {radius: shapely.MultiPolygon([part for part, its in parts if its == radius]) for radius in radii}


def _cutter(radius: float) -> dict[str, Any]:
    return {"cutter_mm": round(2.0 * radius, _DECIMALS)}


def _closed(fit: Fit, radius: float) -> dict[str, Any]:
    return {**_cutter(radius), "closed_mm": round(max(2.0 * radius - fit.rule.seam, 0.0), _DECIMALS)}


def _feature(fit: Fit, region: Region, kind: str, piece: int | None, properties: dict[str, Any]) -> dict[str, Any]:
    shown = shapely.orient_polygons(region)
    return {
        "type": "Feature",
        "properties": {"kind": kind, "piece": piece, "colour": None, "order": fit.order, **properties},
        "geometry": mapping(shown),
    }


def _hex(colour: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
