"""A shop file, read whole: every fault is told, then none of it is used; or all of it is."""

import difflib
import math
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import fields, replace
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import TypeVar

from purfle.errors import Fault, ShopFileError
from purfle.model.season import RINGS
from purfle.model.shop import Cutter, GuideBush, Machine, Offcut, OwnWood, SawBlade, Shop, SoldSizes, VCutter
from purfle.shop.entries import NOTHING, Entry, Notes
from purfle.shop.outlines import read_outline
from purfle.shop.prices import mark_up_of, price_of
from purfle.toml_lines import lines_of
from purfle.units import LengthUnit

LARGEST_FILE = 5_000_000
"""In bytes: no shop file is larger than this."""
MOST_ERROR = 0.5
"""A machine or a cutter that is further off (mm) than this makes no inlays: a slip of the unit."""
LEAST_CHIP, MOST_CHIP = 0.001, 2.0
"""A chip load (mm an edge) beyond these is a slip of the unit."""
ROOM_FOR_ROUNDING = 0.01
"""A V cutter's edges may be said to be longer than its angle and diameter allow by this share."""
AnyCutter = TypeVar("AnyCutter", bound=Cutter)
Thing = TypeVar("Thing")
NO_MACHINE = "none"
"""What is said for the machine in a shop where all is cut by hand."""
HANDS = Machine("", (1.0, 1.0, 1.0), 1.0, 1.0, 1.0, 1.0, 1.0)
"""Stands for a machine where there is none."""
SAW_REACH = 100.0
"""A saw's blade cuts through wood so thick (mm; common practice, no source)."""
LEAST_SOLD, MOST_SOLD = 0.3, 20_000.0
"""Sizes (mm) of boards that are sold; beyond these limits they are slips of the pen."""
OWN_FIGURES = {
    "density": (50.0, 1500.0),
    "shrinkage_radial": (0.1, 20.0),
    "shrinkage_tangential": (0.1, 30.0),
    "shrinkage_volume": (0.1, 40.0),
    "change_radial": (1e-5, 0.01),
    "change_tangential": (1e-5, 0.01),
    "bending_strength": (5.0, 400.0),
    "stiffness": (0.5, 40.0),
    "hardness": (50.0, 50_000.0),
}
"""Figures that a maker may give of a wood, in the units of `OwnWood`; beyond these limits they are slips of the pen."""
UNITS: dict[str, LengthUnit] = {"mm": "mm", "inch": "inch", "in": "inch"}


def load_shop(path: Path) -> Shop:
    """The shop that a file describes. Raises ShopFileError with everything that is wrong in it."""
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise ShopFileError("this is too large for a shop file", str(path), "name the shop file, a text in TOML")
        data = path.read_bytes()
    except OSError as error:
        why = error.strerror or "it cannot be opened"
        raise ShopFileError("the shop file cannot be read", str(path), f"{why}; check its name and place") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ShopFileError("the shop file is not a text", str(path), "save it as text in UTF-8") from None
    return read_shop(text, path.name)


def cutter_named(shop: Shop, name: str) -> Cutter:
    """The straight cutter, or in a shop of saws the saw, with this name; case and spaces don't matter.

    Raises ShopFileError if there is none.
    """
    are_saws = bool(shop.cutters) and all(isinstance(one, SawBlade) for one in shop.cutters)
    return _named(shop.cutters, name, "saw" if are_saws else "cutter")


def v_cutter_named(shop: Shop, name: str) -> VCutter:
    """The V cutter of the shop with this name; case and spaces don't matter. Raises ShopFileError if there is none."""
    if not shop.v_cutters:
        mend = "add a [[cutter]] with its angle, such as angle = 60, and tip_width if its tip is not sharp"
        raise ShopFileError("there is no V cutter in the shop", "cutters", mend)
    return _named(shop.v_cutters, name, "V cutter")


def _named(cutters: Sequence[AnyCutter], name: str, what: str) -> AnyCutter:
    wanted = "".join(name.split()).casefold()
    for cutter in cutters:
        if "".join(cutter.name.split()).casefold() == wanted:
            return cutter
    names = [cutter.name for cutter in cutters]
    near = difflib.get_close_matches(name, names, n=1)
    mend = f"perhaps '{near[0]}' is meant" if near else f"{what}s in the shop: {', '.join(names)}"
    raise ShopFileError(f"there is no {what} '{name}' in the shop", "cutters", mend)


def first_shop_text() -> str:
    """A commented shop file to start from: it loads as it stands."""
    return files("purfle.shop").joinpath("first", "shop.toml").read_text(encoding="utf-8")


def read_shop(text: str, name: str = "shop.toml") -> Shop:
    """The shop that a text in TOML describes; `name` stands in the messages."""
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        mend = "put it right at that place; texts stand in quotes"
        raise ShopFileError(f"the shop file is not TOML: {error}", name, mend) from None
    notes = Notes(name, lines=lines_of(text.replace("\r\n", "\n")))
    top = Entry(values, "", notes)
    notes.bare = UNITS.get(top.text("units", needed=False, choice=tuple(UNITS)).casefold())
    if notes.faults:
        notes.bare = "mm"  # a slip of the unit is told; that no number has one then is no fault of its own
    shop = _shop(top)
    top.unknown_keys()
    if notes.faults:
        raise ShopFileError.of(_once(notes.faults))
    return shop


def _once(faults: list[Fault]) -> list[Fault]:
    return list(dict.fromkeys(faults))


def _shop(top: Entry) -> Shop:
    currency = top.text("currency", needed=False)
    rate = _or_none(top, "hourly_rate")
    machine_rate, mark_up = _or_none(top, "machine_rate"), mark_up_of(top)
    top.asked |= {"machine", "cutter"}
    by_hand = top.values.get("machine") == NO_MACHINE
    machines = [] if by_hand else [_machine(entry) for entry in top.tables("machine", "one")]
    sawn = "saw" in top.values and "cutter" not in top.values
    every = () if sawn else tuple(_cutter(entry) for entry in top.tables("cutter", "several"))
    v_cutters = tuple(cutter for cutter in every if isinstance(cutter, VCutter))
    cutters = tuple(cutter for cutter in every if not isinstance(cutter, VCutter))
    offcuts = _optional(top, "offcut", _offcut)
    bushes = _optional(top, "guide_bush", _guide_bush)
    saws = tuple(replace(saw, number=number) for number, saw in enumerate(_optional(top, "saw", _saw), 1))
    woods = _optional(top, "wood", _own_wood)
    prices = _optional(top, "price", price_of)
    sold = _optional(top, "sold", _sold)
    _no_doubles(top, "sold", "wood", [one.wood for one in sold])
    _no_doubles(top, "price", "of", [price.of for price in prices])
    _no_doubles(top, "cutter", "number", [str(cutter.number) for cutter in every])
    _no_doubles(top, "cutter", "name", [cutter.name for cutter in every])
    _no_doubles(top, "offcut", "name", [offcut.name for offcut in offcuts])
    _no_doubles(top, "guide_bush", "name", [bush.name for bush in bushes])
    _no_doubles(top, "saw", "name", [saw.name for saw in saws])
    _no_doubles(top, "wood", "name", [wood.name for wood in woods])
    if "cutter" in top.values and not cutters:
        what = "straight cutter" if v_cutters else "cutter"
        top.fault("cutter", f"there is no {what} in the shop", "add one under a heading [[cutter]]")
    machine = machines[0] if machines else HANDS
    rack = Shop(cutters, machine, offcuts, currency, rate, v_cutters, bushes, saws, woods)
    return replace(rack, machine_rate=machine_rate, mark_up=mark_up, prices=prices, sold=sold)


def _optional(top: Entry, key: str, read: Callable[[Entry], Thing]) -> tuple[Thing, ...]:
    """Tables that a shop need not have."""
    top.asked.add(key)
    return tuple(read(entry) for entry in top.tables(key, "several")) if key in top.values else ()


def _maybe_length(entry: Entry, key: str, between: tuple[float, float]) -> float | None:
    return entry.length(key, between) if entry.has(key) else None


def _date(entry: Entry, key: str) -> str:
    """A date of the calendar, as TOML has it; empty where none is given."""
    value = entry.get(key, needed=False)
    if value is NOTHING:
        return ""
    if type(value) is date:
        return value.isoformat()
    entry.fault(key, f"{value!r} is not a date", f"write {key} = 2026-11-30")
    return ""


def _or_none(entry: Entry, key: str) -> float | None:
    return entry.number(key, (0.0, 1e9)) if entry.has(key) else None


def _no_doubles(top: Entry, table: str, key: str, given: list[str]) -> None:
    for one in dict.fromkeys(given):
        if one and given.count(one) > 1:
            top.notes.fault(f"{key} '{one}' is given twice", f"[[{table}]]", f"give each {table} a {key} of its own")


def _machine(entry: Entry) -> Machine:
    machine = Machine(
        name=entry.text("name"),
        travel=_travel(entry),
        speed=entry.number("speed", (100.0, 200_000.0)),
        max_feed=entry.length("max_feed", (10.0, 60_000.0), per="/min"),
        rapid_feed=entry.length("rapid_feed", (10.0, 200_000.0), per="/min"),
        acceleration=entry.length("acceleration", (1.0, 50_000.0), per="/s2"),
        safe_height=entry.length("safe_height", (0.5, 200.0)),
        slowest_speed=entry.number("slowest_speed", (1.0, 200_000.0), default=0.0),
        power=entry.number("power", (1.0, 50_000.0)) if entry.has("power") else None,
        repeatability=_maybe_length(entry, "repeatability", (0.0, MOST_ERROR)),
        run_out=_maybe_length(entry, "run_out", (0.0, MOST_ERROR)),
    )
    if machine.slowest_speed > machine.speed:
        what = f"the machine turns no slower than {machine.slowest_speed:g} rpm, and no faster than {machine.speed:g}"
        entry.fault("slowest_speed", what, "give the lower of both as slowest_speed, the higher as speed")
    entry.unknown_keys()
    return machine


def _travel(entry: Entry) -> tuple[float, float, float]:
    value = entry.get("travel", needed=True)
    if value is NOTHING:
        return (1.0, 1.0, 1.0)
    if not isinstance(value, list) or len(value) != 3:
        entry.fault("travel", "'travel' is not three lengths", 'write travel = ["600 mm", "400 mm", "80 mm"]')
        return (1.0, 1.0, 1.0)
    x, y, z = (entry.as_mm(one, "travel") for one in value)
    if x is None or y is None or z is None:
        return (1.0, 1.0, 1.0)
    if min(x, y, z) <= 0:
        entry.fault("travel", "the machine cannot travel nothing", "give three lengths above 0")
    return (x, y, z)


def _cutter(entry: Entry) -> Cutter:
    diameter = entry.length("diameter", (0.2, 60.0))
    # a groove much wider or narrower than the cutter is a slip of the unit, not wear
    groove = (0.8 * diameter, 1.2 * diameter)
    shank = (0.2 * diameter, 20.0 * diameter)
    cutter = Cutter(
        number=entry.whole("number", (1, 999)),
        name=entry.text("name"),
        diameter=diameter,
        flutes=entry.whole("flutes", (1, 12)),
        cutting_length=entry.length("cutting_length", (0.2, 200.0)),
        stick_out=entry.length("stick_out", (1.0, 300.0)),
        max_speed=entry.number("max_speed", (100.0, 200_000.0)),
        path_width=_maybe_length(entry, "path_width", groove),
        note=entry.text("note", needed=False),
        speed=entry.number("speed", (100.0, 200_000.0)) if entry.has("speed") else None,
        shank=_maybe_length(entry, "shank", shank),
        chip_load=_maybe_length(entry, "chip_load", (LEAST_CHIP, MOST_CHIP)),
        path_width_error=_maybe_length(entry, "path_width_error", (0.0, MOST_ERROR)),
        goes_in=_maybe_length(entry, "goes_in", (-MOST_ERROR, MOST_ERROR)),
        fit_trial=_date(entry, "fit_trial"),
        price=_or_none(entry, "price"),
        life=entry.number("life_hours", (0.01, 100_000.0)) if entry.has("life_hours") else None,
    )
    if cutter.speed is not None and cutter.speed > cutter.max_speed:
        what = f"a speed of {cutter.speed:g} rpm is above the {cutter.max_speed:g} rpm that are marked on the cutter"
        entry.fault("speed", what, f"set speed to {cutter.max_speed:g} or less, or take the line out")
    if entry.has("angle"):
        cutter = _v_cutter(entry, cutter)
    entry.unknown_keys()
    return cutter


def _v_cutter(entry: Entry, cutter: Cutter) -> VCutter:
    """One with `angle`, the whole of its V in degrees. `tip_width`: of the flat at its tip; nothing if it is sharp."""
    angle = entry.number("angle", (10.0, 120.0))
    tip = 0.0
    if entry.has("tip_width"):
        tip = entry.length("tip_width", (0.0, 0.5 * cutter.diameter))
    if cutter.path_width is not None:
        entry.fault("path_width", "a V cutter has no width of groove", "take it out; give tip_width instead")
    reach = (cutter.diameter - tip) / 2.0 / math.tan(math.radians(angle / 2.0))
    if cutter.cutting_length > reach * (1.0 + ROOM_FOR_ROUNDING):
        size = f"{angle:g} degrees and {cutter.diameter:.1f} mm"
        what = f"edges {cutter.cutting_length:.1f} mm long do not fit a V of {size}"
        entry.fault("cutting_length", what, f"at {angle:g} degrees they reach {reach:.1f} mm deep; measure again")
    known = {field.name: getattr(cutter, field.name) for field in fields(Cutter)}
    return VCutter(**known, half_angle=angle / 2.0, tip_radius=tip / 2.0)


def _saw(entry: Entry) -> SawBlade:
    """A fret saw's blade by the width of its groove; it is longer than any wood that it cuts is thick."""
    groove = entry.length("groove", (0.05, 3.0))
    saw = SawBlade(0, entry.text("name"), groove, 1, SAW_REACH, SAW_REACH, 1.0, note=entry.text("note", needed=False))
    entry.unknown_keys()
    return saw


def _guide_bush(entry: Entry) -> GuideBush:
    """A guide bush: thinner inside than outside, its collar wider than itself."""
    outside = entry.length("outside", (3.0, 80.0))
    inside = entry.length("inside", (1.0, 75.0))
    length = entry.length("length", (1.0, 40.0))
    collar = entry.length("collar", (3.0, 120.0)) if entry.get("collar", needed=False) is not NOTHING else None
    if inside >= outside:
        what = f"a bush of {outside:.2f} mm outside cannot be {inside:.2f} mm inside"
        entry.fault("inside", what, "measure both with a caliper")
    if collar is not None and collar <= outside:
        what = f"a collar of {collar:.2f} mm does not fit over a bush of {outside:.2f} mm"
        entry.fault("collar", what, "give the diameter of its outside")
    bush = GuideBush(entry.text("name"), outside, inside, length, collar)
    entry.unknown_keys()
    return bush


def _offcut(entry: Entry) -> Offcut:
    outline, defects = read_outline(entry)
    offcut = Offcut(
        name=entry.text("name"),
        wood=entry.text("wood"),
        outline=outline,
        thickness=entry.length("thickness", (0.1, 500.0)),
        grain=entry.number("grain", (-360.0, 360.0), default=0.0),
        defects=defects,
        price=_or_none(entry, "price"),
        rings=_rings(entry),
        stands=entry.text("stands", needed=False),
    )
    entry.unknown_keys()
    return offcut


def _sold(entry: Entry) -> SoldSizes:
    """The sizes that boards of a wood, or of any, are sold in."""
    keys = ("thicknesses", "widths", "lengths")
    sizes = SoldSizes(entry.text("wood", needed=False), *(_sizes(entry, key) for key in keys))
    entry.unknown_keys()
    return sizes


def _sizes(entry: Entry, key: str) -> tuple[float, ...]:
    """A list of lengths, from small to large."""
    value = entry.get(key, needed=True)
    if value is NOTHING:
        return ()
    if not isinstance(value, list) or not value:
        entry.fault(key, f"'{key}' is not a list of lengths", f'write {key} = ["100 mm", "150 mm"]')
        return ()
    read = [entry.as_mm(one, key) for one in value]
    sizes = sorted({size for size in read if size is not None})
    for size in sizes:
        if not LEAST_SOLD <= size <= MOST_SOLD:
            entry.fault(key, f"{size:g} mm cannot be right", f"give {LEAST_SOLD:g} to {MOST_SOLD:g} mm")
    return tuple(sizes)


def _rings(entry: Entry) -> float | None:
    """The angle of the growth rings to the face: in words, or in degrees; None where nothing says."""
    value = entry.get("rings", needed=False)
    if value is NOTHING:
        return None
    if isinstance(value, str):
        if value.strip().casefold() not in RINGS:
            mend = f"write {', '.join(RINGS)}, or the angle of the growth rings to the face, 0 to 90 degrees"
            entry.fault("rings", f"'{value}' is not understood", mend)
        return RINGS.get(value.strip().casefold())
    return entry.number("rings", (0.0, 90.0))


def _own_wood(entry: Entry) -> OwnWood:
    """A wood by the maker's own figures."""
    figures = {key: entry.number(key, limits) if entry.has(key) else None for key, limits in OWN_FIGURES.items()}
    wood = OwnWood(entry.text("name"), entry.text("source"), entry.text("botanical", needed=False), **figures)
    if all(figure is None for figure in figures.values()):
        entry.fault("name", f"no figure of '{wood.name}' is given", f"give one or more of {', '.join(OWN_FIGURES)}")
    entry.unknown_keys()
    return wood
