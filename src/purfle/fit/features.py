"""Pieces and fit as features for other programs: RFC 7946-shaped, in mm, y up."""

from typing import Any

import shapely
from shapely.geometry import mapping

from purfle.fit.cells import needed_radius
from purfle.geometry.offsetting import Region
from purfle.model.pieces import Fit, Pieces

_DECIMALS = 6


def pieces_features(pieces: Pieces, fit: Fit) -> list[dict[str, Any]]:
    """Features of kind drawn, insert, recess and lost, each with piece, colour, kind and cutter_mm.

    `drawn` are the pieces as they tile, seam not yet taken; the ground among them is piece 0. `closed_mm` of a drawn
    piece is the diameter by which it is closed: the cutter's, less the seam that is taken off it afterwards.
    """
    cutter = 2.0 * fit.rule.cutter_radius
    closed = {"cutter_mm": round(cutter, _DECIMALS), "closed_mm": round(2.0 * needed_radius(fit.rule), _DECIMALS)}
    features = [_feature(pieces.ground, "drawn", 0, {"name": "ground", **closed})]
    for piece in pieces.pieces:
        named = {"name": piece.name, "wood": piece.wood, "colour": _hex(piece.colour)}
        features.append(_feature(piece.region, "drawn", piece.number, {**named, **closed}))
    for insert in fit.inserts:
        named = {"name": insert.name, "wood": insert.wood, "colour": _hex(insert.colour)}
        features.append(_feature(insert.region, "insert", insert.number, {**named, "cutter_mm": cutter}))
    features.append(_feature(fit.recess, "recess", 0, {"name": "recess", "cutter_mm": cutter}))
    for lost in pieces.lost:
        said = {"name": lost.name, "wood": lost.wood, "why": lost.why, "instead": lost.instead}
        features.append(_feature(lost.region, "lost", None, {**said, "cutter_mm": cutter}))
    return features


def _feature(region: Region, kind: str, piece: int | None, properties: dict[str, Any]) -> dict[str, Any]:
    shown = shapely.orient_polygons(region)
    return {
        "type": "Feature",
        "properties": {"kind": kind, "piece": piece, "colour": None, **properties},
        "geometry": mapping(shown),
    }


def _hex(colour: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*colour)
