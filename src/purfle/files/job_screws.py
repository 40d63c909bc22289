"""The holes that a fitting of the job file is held by: its wood screws, its threaded insert, holes right through."""

import math

from purfle.files.job_place import pair_of
from purfle.files.toml_table import MORE_THAN_NOTHING, Table
from purfle.model.job import InsertRule, ScrewRule
from purfle.tolerances import SAME_PLACE
from purfle.wood import screw_root

Places = tuple[tuple[float, float], ...]
MOST_SCREWS = 24
"""No fitting has more screws than this."""
THICKEST, LONGEST = 20.0, 300.0
"""Limits (mm) beyond which a screw's figure is a slip of the pen."""
BELOW = 1.0
"""Room (mm) for chips below a threaded insert: common practice, no source."""
AS_OUTSIDE = 1.25
"""Outside of a threaded insert by its root where the file is silent: common practice, no source."""


def screw_rule(table: Table, size: tuple[float, float], is_disc: bool, fixed: Places | None = None) -> ScrewRule:
    """The table [fitting.screws]. `size` of the fitting, along A and along B; `fixed`: where they have to stand."""
    faults = len(table.source.faults)
    shank = table.length("shank", limits=(MORE_THAN_NOTHING[0], THICKEST))
    root = table.length("root", screw_root(shank), (MORE_THAN_NOTHING[0], THICKEST))
    if root > shank:
        table.fault("root is more than shank", "root", "The root is the thread's inner diameter: two thirds of shank.")
    pilot = table.length("pilot", limits=(MORE_THAN_NOTHING[0], THICKEST)) if table.has("pilot") else None
    if pilot is not None and pilot >= shank:
        table.fault("pilot is as wide as the shank", "pilot", "Leave it out: it is reckoned from root and wood.")
    rule = ScrewRule(
        shank=shank,
        root=root,
        length=table.length("length", limits=(MORE_THAN_NOTHING[0], LONGEST)),
        pilot=pilot,
        places=fixed if fixed is not None else _places(table, size, is_disc),
        withdrawal=table.yes("withdrawal", False),
    )
    if fixed is None and len(table.source.faults) == faults and min(size) > SAME_PLACE:
        _refuse_beside(table, rule, size, is_disc)
    table.close()
    return rule


def through_rule(diameter: float, places: Places) -> ScrewRule:
    """Holes right through the board."""
    return ScrewRule(diameter, diameter, 0.0, diameter, places, is_through=True)


def own_insert(table: Table) -> InsertRule:
    """A threaded insert that is a fitting by itself."""
    root = table.length("root")
    outside = table.length("outside", AS_OUTSIDE * root)
    if outside < root:
        table.fault("outside is less than root", "outside", "It is the diameter over the insert's thread.")
    if table.has("depth"):
        return InsertRule(root, outside, table.length("depth"))
    return InsertRule(root, outside, table.length("length") + table.length("below", BELOW, (0.0, LONGEST)))


def insert_rule(table: Table) -> InsertRule:
    """The table [fitting.insert]: a threaded insert in the middle of a plate."""
    rule = own_insert(table)
    table.close()
    return rule


def _places(table: Table, size: tuple[float, float], is_disc: bool) -> Places:
    """Where the screws stand from the middle of their fitting: on a circle, at the corners, in a row, or one by one."""
    ways = [key for key in ("circle", "from_ends", "spacing", "at") if table.has(key)]
    if len(ways) != 1:
        what = (
            "It is not said where the screws stand" if not ways else f"{' and '.join(ways)} both say where they stand"
        )
        mend = (
            'Give one of: circle = "38 mm" with count; from_ends and from_sides (four at the corners); spacing with '
            'count (a row); at = [["10 mm", "0 mm"], ...] from the middle.'
        )
        table.fault(what, ways[-1] if ways else "at", mend)
        table.asked += ["count", "first", "from_sides"]
        return ()
    way = ways[0]
    if way == "at":
        value = table.values["at"]
        pairs = value if isinstance(value, list) else [value]
        return tuple(pair_of(table, pair, "at") for pair in pairs)
    if way == "from_ends":
        x, y = size[0] / 2 - table.length("from_ends"), size[1] / 2 - table.length("from_sides")
        if is_disc:
            table.fault("A round plate has no corners", "from_ends", 'Give circle = "38 mm" and count instead.')
        return tuple((way_x * x, way_y * y) for way_y in (-1.0, 1.0) for way_x in (-1.0, 1.0))
    count = count_of(table, MOST_SCREWS)
    if way == "circle":
        return on_circle(count, table.length("circle"), table.number("first", 90.0, -360.0, 360.0))
    spacing = table.length("spacing")
    row = [spacing * (i - (count - 1) / 2) for i in range(count)]
    return tuple((at, 0.0) if size[0] >= size[1] else (0.0, at) for at in row)


def count_of(table: Table, most: int, least: int = 1) -> int:
    """How many: a whole number."""
    if not table.has("count"):
        table.fault(f"count is missing in [{table.path}]", "count", "Add a line count = 4.")
        return least
    value = table.number("count", least, least, most)
    if value != int(value):
        table.fault("count has to be a whole number", "count", f"Use {round(value)}.")
    return max(least, int(value))


def on_circle(count: int, diameter: float, first: float) -> Places:
    """Places at equal steps round a circle about the origin, counter-clockwise from `first` (degrees from A).

    >>> [(round(x, 3), round(y, 3)) for x, y in on_circle(4, 10.0, 90.0)]
    [(0.0, 5.0), (-5.0, 0.0), (-0.0, -5.0), (5.0, -0.0)]
    """
    turns = [math.radians(first + 360.0 * i / count) for i in range(count)]
    return tuple((diameter / 2 * math.cos(turn), diameter / 2 * math.sin(turn)) for turn in turns)


def _refuse_beside(table: Table, rule: ScrewRule, size: tuple[float, float], is_disc: bool) -> None:
    """Screws have to go through their fitting, and not through each other."""
    key = next((key for key in ("circle", "from_ends", "spacing", "at") if table.has(key)), "at")
    for number, (x, y) in enumerate(rule.places, 1):
        over = math.hypot(x, y) - size[0] / 2 if is_disc else max(abs(x) - size[0] / 2, abs(y) - size[1] / 2)
        if over + rule.shank / 2 > SAME_PLACE:
            mend = "Places are those from the middle of the fitting: move them inward."
            table.fault(f"Screw {number} does not lie on its fitting", key, mend)
            return
    for number, place in enumerate(rule.places, 1):
        if any(math.dist(place, other) < rule.shank for other in rule.places[: number - 1]):
            table.fault(f"Screw {number} runs into another one", key, "Give them places of their own.")
            return
