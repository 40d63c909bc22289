"""The part of `report.json` that tells what the seasons do to a job."""

from typing import Any

from purfle.model.season import Air, Climate, InsertSeasons, SeamAtWorst, Seasons

Entry = dict[str, Any]


def seasons_entry(seasons: Seasons | None) -> Entry | None:
    """What the seasons do to a job; None where it says nothing of its climate."""
    if seasons is None:
        return None
    return {
        "shop": _climate(seasons.wish.shop),
        "place": _climate(seasons.wish.place),
        "fitted": [
            {"when": one.when, "board_percent": float(one.board), "parts_percent": float(one.parts)}
            for one in seasons.fitted
        ],
        "opens_at_mm": float(seasons.opens_at),
        "board_rings_deg": _maybe(seasons.board_rings),
        "board_along": _grown(seasons.board_along),
        "board_across": _grown(seasons.board_across),
        "without_figures": list(seasons.unknown),
        "inserts": [_insert(one) for one in seasons.inserts],
    }


def _climate(climate: Climate) -> Entry:
    return {
        "name": climate.name,
        "source": climate.source,
        "status": climate.status,
        "winter": _air(climate.winter),
        "summer": _air(climate.summer),
    }


def _air(air: Air) -> Entry:
    return {
        "moisture_percent": float(air.moisture),
        "humidity_percent": _maybe(air.humidity),
        "temperature_c": _maybe(air.temperature),
    }


def _insert(one: InsertSeasons) -> Entry:
    return {
        "inlay": one.inlay,
        "number": one.number,
        "name": one.name,
        "wood": one.wood,
        "off_grain_deg": float(one.off_grain),
        "rings_deg": _maybe(one.rings),
        "along": _grown((one.along, *one.grows_along)),
        "across": _grown((one.across, *one.grows_across)),
        "narrowest": _seam(one.narrowest),
        "widest": _seam(one.widest),
        "opens_beyond_mm": _maybe(one.opens_beyond),
        "pushes_beyond_mm": _maybe(one.pushes_beyond),
        "if_turned": _range(one.turned),
        "if_quarter_sawn": _range(one.quarter),
    }


def _grown(sizes: tuple[float, float, float]) -> Entry:
    size, least, most = sizes
    return {"size_mm": float(size), "grows_least_mm": float(least), "grows_most_mm": float(most)}


def _seam(seam: SeamAtWorst) -> Entry:
    x, y = seam.place
    at = {"at_mm": [float(x), float(y)], "season": seam.season, "against": seam.against}
    return {"width_mm": float(seam.width), **at}


def _range(widths: tuple[float, float] | None) -> Entry | None:
    return None if widths is None else {"narrowest_mm": float(widths[0]), "widest_mm": float(widths[1])}


def _maybe(number: float | None) -> float | None:
    return None if number is None else float(number)
