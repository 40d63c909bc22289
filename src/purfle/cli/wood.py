"""`purfle wood`, `purfle moisture`, `purfle movement`: figures of woods, each with where it comes from."""

import json
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from purfle import wood
from purfle.errors import PurfleError
from purfle.model.season import RINGS, Air, Climate
from purfle.model.shop import OwnWood
from purfle.shop import load_shop
from purfle.units import INCH, length, show

SHOP_FILE = "shop.toml"
FIGURES = {
    "density": ("density at 12 %", "density_kg_per_m3", "kg/m3"),
    "shrinkage_radial": ("shrinkage, radial", "shrinkage_radial_percent", "%"),
    "shrinkage_tangential": ("shrinkage, tangential", "shrinkage_tangential_percent", "%"),
    "shrinkage_volume": ("shrinkage, volume", "shrinkage_volume_percent", "%"),
    "change_radial": ("change for 1 %, quarter-sawn", "change_radial_per_percent", "of the width"),
    "change_tangential": ("change for 1 %, flat-sawn", "change_tangential_per_percent", "of the width"),
    "bending_strength": ("bending strength", "bending_strength_mpa", "MPa"),
    "stiffness": ("stiffness", "stiffness_gpa", "GPa"),
    "hardness": ("hardness (Janka)", "hardness_n", "N"),
}
"""Figures of a species: as they are told, their key in JSON, their unit."""


def species(arguments: Namespace) -> int:
    """Every figure of one wood."""
    own = _own_woods(arguments.shop)
    name = " ".join(arguments.species)
    meant = wood.species_among(name, own)
    others = () if meant.id == meant.common else _others(name)
    if arguments.json:
        _print_json(_species_entry(name, meant, others))
        return 0
    print(meant.common + (f" ({meant.botanical})" if meant.botanical else ""))
    if others:
        print(f'  "{name}" is taken for it, as the trade does; {", ".join(one.common for one in others)} go by it too')
    for key, (words, _, unit) in FIGURES.items():
        figure = getattr(meant, key)
        value = f"{figure.value:g} {unit}" if figure else "nothing published"
        print(f"  {words:<29} {value:<21} {_origin(figure.source, figure.status) if figure else ''}".rstrip())
    for hazard in _hazards(meant):
        print(f"  {'harm':<29} {hazard['told']}  {_origin(hazard['source_code'], hazard['status'])}")
    print("  Shrinkage is from green to oven-dry; strength, stiffness and hardness are at 12 % of moisture.")
    return 0


def moisture(arguments: Namespace) -> int:
    """The moisture that wood settles at in some air, or in the climates known by name."""
    if arguments.climates:
        return _climates(arguments.json)
    missing = [word for word in ("temperature", "humidity") if getattr(arguments, word) is None]
    if missing:
        mend = "write: purfle moisture --temperature 20C --humidity 50, or purfle moisture --climates"
        verb = "is" if len(missing) == 1 else "are"
        raise PurfleError(f"{' and '.join(missing)} of the air {verb} not given", f"--{missing[0]}", mend)
    celsius = wood.temperature(arguments.temperature, "--temperature")
    relative = wood.humidity(arguments.humidity, "--humidity")
    air = Air(wood.moisture_content(celsius, relative), celsius, relative)
    source = {"source": wood.publication("WH282-4-5"), "status": "confirmed"}
    if arguments.json:
        _print_json(_air_entry(air) | source)
        return 0
    print(f"Wood settles at {air.moisture:.1f} % of moisture in air of {_air_words(air)}.")
    print(f"  {_origin('WH282-4-5', 'confirmed')}")
    return 0


def movement(arguments: Namespace) -> int:
    """How much a width, or a length, changes from one moisture or air to another."""
    own = _own_woods(arguments.shop)
    meant = wood.species_among(" ".join(arguments.species), own)
    width = length(arguments.width, None, "--width")
    if width <= 0.0:
        raise PurfleError(
            "a width of nothing has no change", "--width", 'give the width across the grain, such as "300mm"'
        )
    before, after = (_air(getattr(arguments, end), f"--{name}") for end, name in (("before", "from"), ("after", "to")))
    rings = _rings(arguments.cut)
    between = (before.moisture, after.moisture)
    growth = wood.growth_along(between) if arguments.along else wood.growth_across(meant, rings, between)
    entry = _movement_entry(width, growth.share)
    if arguments.json:
        figure = {"equation": growth.equation, "figure": growth.figure, "source_code": growth.source}
        figure |= {"source": wood.publication(growth.source), "status": growth.status}
        cut = {"along_the_fibres": arguments.along, "rings_deg": None if arguments.along else rings}
        airs = {"from": _air_entry(before), "to": _air_entry(after)}
        _print_json({"species": meant.id, "common": meant.common, **airs, **cut, **entry, "by": figure})
        return 0
    _tell_movement(entry, (before, after), growth, _cut_words(meant, rings, arguments.along))
    return 0


def _tell_movement(entry: dict[str, float], airs: tuple[Air, Air], growth: Any, cut: str) -> None:
    """One change of size in words, in both units."""
    change = abs(entry["change_mm"])
    way = "keeps its size" if change == 0.0 else "grows by" if entry["change_mm"] > 0.0 else "shrinks by"
    amount = "" if change == 0.0 else f" {change:.2f} mm ({change / float(INCH):.3f} in)"
    size = f"{show(entry['width_mm'], 'mm')} ({entry['width_in']:.3f} in)"
    print(f"{cut}, {size}, {way}{amount} from {airs[0].moisture:.1f} % to {airs[1].moisture:.1f} % of moisture.")
    print(f"  It is then {entry['width_after_mm']:.2f} mm ({entry['width_after_in']:.3f} in).")
    by = {"13-2": "Eq. (13-2), coefficient", "13-3": "Eq. (13-3), shrinkage in %,"}
    print(f"  By {by.get(growth.equation, 'growth along the fibres,')} {growth.figure:g}: ", end="")
    print(_origin(growth.source, growth.status))


def _climates(as_json: bool) -> int:
    """Every climate that is known by name."""
    if as_json:
        _print_json({"climates": [_climate_entry(one) for one in wood.all_climates()]})
        return 0
    for one in wood.all_climates():
        seasons = f"winter {one.winter.moisture:.1f} %, summer {one.summer.moisture:.1f} %"
        print(f"{one.name}: {seasons} of moisture\n  {_origin(one.source, one.status)}; {one.note}")
    return 0


def _species_entry(name: str, meant: wood.Species, others: Iterable[wood.Species]) -> dict[str, Any]:
    figures: dict[str, Any] = {}
    for key, (_, said, _) in FIGURES.items():
        figure = getattr(meant, key)
        figures[said] = None
        if figure is not None:
            origin = {"source_code": figure.source, "source": wood.publication(figure.source), "status": figure.status}
            figures[said] = {"value": figure.value, **origin}
    named = {"asked": name, "species": meant.id, "common": meant.common, "botanical": meant.botanical}
    also = [{"species": one.id, "common": one.common} for one in others]
    return {**named, "also_called_so": also, "figures": figures, "harm": _hazards(meant)}


def _hazards(meant: wood.Species) -> list[dict[str, str]]:
    """What is published of the wood's harm."""
    try:
        found = wood.hazards_of(meant.id)
    except PurfleError:  # a wood of the maker's own stands in no chart
        return []
    return [
        {
            "reaction": one.reaction,
            "site": one.site,
            "potency": one.potency,
            "told": wood.harm_told(one),
            "source_code": one.source,
            "source": wood.publication(one.source),
            "status": one.status,
        }
        for one in found
    ]


def _air_entry(air: Air) -> dict[str, float | None]:
    known = {"temperature_c": air.temperature, "humidity_percent": air.humidity, "moisture_percent": air.moisture}
    return {key: None if value is None else round(value, 6) for key, value in known.items()}


def _climate_entry(one: Climate) -> dict[str, Any]:
    seasons = {"winter": _air_entry(one.winter), "summer": _air_entry(one.summer)}
    origin = {"source_code": one.source, "source": wood.publication(one.source), "status": one.status}
    return {"name": one.name, **seasons, **origin, "note": one.note}


def _movement_entry(width: float, share: float) -> dict[str, float]:
    sizes = {"width": width, "change": width * share, "width_after": width * (1.0 + share)}
    units = (("mm", 1.0), ("in", float(INCH)))
    return {f"{name}_{unit}": round(size / one, 6) for name, size in sizes.items() for unit, one in units}


def _others(name: str) -> tuple[wood.Species, ...]:
    """The other woods of a name; none for a name that only the shop file knows."""
    try:
        return wood.also_called(name)
    except PurfleError:
        return ()


def _own_woods(given: str | None) -> tuple[OwnWood, ...]:
    """The maker's own woods: of the shop file that is given, else of the one in this folder, if there is one."""
    if given is None:
        return load_shop(Path(SHOP_FILE)).woods if Path(SHOP_FILE).is_file() else ()
    return load_shop(Path(given)).woods


def _air(text: str, where: str) -> Air:
    """Air, a climate with its season, or the moisture of wood itself, with or without its sign."""
    try:
        return Air(float(wood.moisture(text, where)))
    except PurfleError:
        if text.strip().rstrip("%").strip().replace(".", "").replace("-", "").isdigit():
            raise
    return wood.air_or_season(text, where)


def _rings(cut: str) -> float:
    """The angle of the growth rings to the face: in words or in degrees."""
    word = cut.strip().casefold()
    if word in RINGS:
        return RINGS[word]
    try:
        angle = float(word)
    except ValueError:
        angle = -1.0
    if not 0.0 <= angle <= 90.0:
        mend = "write flat, quarter, between, or the angle of the growth rings to the face, 0 to 90 degrees"
        raise PurfleError(f'"{cut}" is no way to cut a board', "--cut", mend)
    return angle


def _cut_words(meant: wood.Species, rings: float, along: bool) -> str:
    name = meant.common[:1].upper() + meant.common[1:]
    if along:
        return f"{name} along its fibres"
    cuts = {0.0: "flat-sawn", 90.0: "quarter-sawn"}
    return f"{name}, {cuts.get(rings, f'growth rings at {rings:g} degrees to the face')}"


def _air_words(air: Air) -> str:
    assert air.temperature is not None
    assert air.humidity is not None
    return f"{air.temperature:.1f} C ({air.temperature * 1.8 + 32:.1f} F) and {air.humidity:g} % humidity"


def _origin(source: str, status: str) -> str:
    told = {"memory": "from memory", "confirmed2": "second-hand"}.get(status, status)
    return f"[{wood.publication(source)}; {told}]"


def _print_json(entry: dict[str, Any]) -> None:
    print(json.dumps(entry, indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False))
