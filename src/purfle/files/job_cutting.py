"""[cutting] and [templates] of the job file: the way of cutting, and what each way wants to know."""

import math
from typing import get_args

from purfle.files.toml_table import Limits, Table
from purfle.model.cutting import CuttingRule, CuttingWay, Holding, WayRound
from purfle.model.job import LengthUnit
from purfle.model.templates import TemplateWish
from purfle.units import INCH

CUTTING_WAYS: tuple[CuttingWay, ...] = get_args(CuttingWay)
MOST_LEFT, MOST_THROUGH, MOST_SKIN = 1.0, 3.0, 2.0
"""Limits (mm) beyond which a figure is a slip of the pen."""
MOST_SPRING_PASSES = 2
"""What a third would take is less than what the machine repeats."""
THICKNESS_MM, THICKNESS_INCH = 6.0, 0.25 * float(INCH)
PIN_MM, PIN_INCH = 3.0, 0.125 * float(INCH)
LEFT_BY_SAW = 0.3
"""What a saw leaves beside the line for the file, mm (common practice, no source)."""
BORDER = 75.0
"""Thickness of a template, diameter of its pins, and the wood left round its opening, on which half the router's base
stands (mm): common practice, no source."""
PLACES = ("hidden", "everywhere")
"""Where pins may be drilled for: where nobody looks (offcuts, the underside), or into the show face too."""
OF_TABS = ("tabs", "tab_width", "tab_height")
OF_SAWING = ("planing", "saw")
OF_PASSES = ("step_over", "ramp_angle", "last_pass", "spring_passes")
OF_PROGRAMS = (*OF_PASSES, "programs", "clearing", "holding", "skin", *OF_TABS, *OF_SAWING)
"""Keys of [cutting] that say something of tabs; of parts that are sawn free; of passes; all that say something of
programs alone."""
HOLDINGS: tuple[Holding, ...] = get_args(Holding)
FEWEST_TABS, MOST_TABS, MOST_COPIES = 2, 12, 20
NOT_WITH_TEMPLATES = {
    "walls": "A guide bush cuts straight walls",
    "corners": "Corners are left as round as bush and cutter make them",
    "over_depth": "With templates nothing is let in over another",
}
"""Keys of [fit] that say nothing of templates, and why."""


def cutting_rule(table: Table, unit: LengthUnit) -> CuttingRule:
    """How cutting is done; the unit of the programs is that of the job unless said otherwise."""
    way = table.choice("way", CUTTING_WAYS, "machine")
    usual = CuttingRule(allowance=LEFT_BY_SAW, through=0.0) if way == "knife and saw" else CuttingRule()
    for key in OF_PROGRAMS if way != "machine" else ():
        if table.has(key):
            table.fault(f"{key} says nothing where no program is run", key, f"Take {key} out.")
    for key in ("depth_per_pass", "through") if way == "knife and saw" else ():
        if table.has(key):
            table.fault(f"{key} says nothing of a saw", key, f"Take {key} out.")
    if way == "templates" and table.has("allowance"):
        table.fault("A guide bush keeps to its template: allowance says nothing", "allowance", "Take allowance out.")
    rule = CuttingRule(
        allowance=table.length("allowance", usual.allowance, (0.0, MOST_LEFT)),
        step_over=table.number("step_over", usual.step_over, 0.05, 0.6),
        depth_per_pass=table.number("depth_per_pass", usual.depth_per_pass, 0.05, 2.0),
        ramp_angle=table.number("ramp_angle", usual.ramp_angle, 0.5, 30.0),
        through=table.length("through", usual.through, (0.0, MOST_THROUGH)),
        skin=table.length("skin", usual.skin, (0.0, MOST_SKIN)),
        holding=table.choice("holding", HOLDINGS, usual.holding),
        tabs=_whole(table, "tabs", usual.tabs, (FEWEST_TABS, MOST_TABS)),
        tab_width=table.length("tab_width", usual.tab_width, (0.5, 20.0)),
        tab_height=table.length("tab_height", usual.tab_height, (0.2, 10.0)),
        last_pass=table.choice("last_pass", get_args(WayRound), usual.last_pass),
        spring_passes=_whole(table, "spring_passes", usual.spring_passes, (0, MOST_SPRING_PASSES)),
        planing=table.length("planing", usual.planing, (0.0, MOST_THROUGH)),
        saw=table.text("saw", usual.saw),
        copies=_whole(table, "copies", usual.copies, (1, MOST_COPIES)),
        unit=table.choice("programs", ("mm", "inch"), "mm" if unit == "mm" else "inch"),
        clearing=table.text("clearing", usual.clearing),
        way=way,
    )
    for keys, holding in ((OF_TABS, "tabs"), (OF_SAWING, "sawn free")):
        for key in keys if rule.holding != holding and way == "machine" else ():
            if table.has(key):
                what = f"{key} says nothing where parts are held by {rule.holding}"
                table.fault(what, key, f'Add holding = "{holding}", or take {key} out.')
    table.close()
    return rule


def _whole(table: Table, key: str, usual: int, limits: tuple[int, int]) -> int:
    """A whole number."""
    count = table.number(key, usual, *limits)
    if count != round(count):
        table.fault(f"{key} has to be a whole number", key, f"Use {math.floor(count)} or {math.ceil(count)}.")
    return round(count)


def refuse_sawn_off_plates(top: Table, rule: CuttingRule) -> None:
    """With tapered walls inserts hang on plates and are sawn off those when they are glued in."""
    if rule.holding == "sawn free" and top.table("fit").values.get("walls", "straight") != "straight":
        what = "With tapered walls inserts stay on their plates until they are glued in: they are not sawn free"
        top.fault(what, "cutting.holding", 'Use holding = "tape", or take walls out.')


def template_wish(top: Table, way: CuttingWay, unit: LengthUnit) -> TemplateWish | None:
    """What [templates] says, None where the job is cut another way."""
    if way in ("guided router", "knife and saw"):
        _refuse_with_one_cutter(top, way)
    if way != "templates":
        if top.has("templates"):
            top.fault(
                "[templates] says nothing here", "templates", 'Add way = "templates" to [cutting], or take it out.'
            )
            top.table("templates")
        return None
    table, fit = top.table("templates"), top.table("fit")
    for key, why in NOT_WITH_TEMPLATES.items():
        if fit.has(key) and fit.values[key] not in ("straight", "round"):
            fit.fault(f"{why}: {key} says nothing here", key, f"Take {key} out.")
    for key in ("corners", "order", "cutters", "fit_trial"):
        if top.values.get(key):
            top.fault(f"[{key}] says nothing of templates", key, f"Take [{key}] out.")
    thickness, pin = (THICKNESS_MM, PIN_MM) if unit == "mm" else (THICKNESS_INCH, PIN_INCH)
    wish = TemplateWish(
        recess_bush=table.text("recess_bush", ""),
        insert_bush=table.text("insert_bush", ""),
        thickness=table.length("thickness", thickness, (2.0, 30.0)),
        border=table.length("border", BORDER, (20.0, 300.0)),
        pin=table.length("pin", pin, (1.0, 12.0)),
        pins_in_show_face=table.choice("pin_holes", PLACES, "hidden") == "everywhere",
        seam_asked=fit.has("seam"),
    )
    table.close()
    return wish


def _refuse_with_one_cutter(top: Table, way: CuttingWay) -> None:
    """One straight cutter, or one saw, follows all outlines."""
    if top.table("fit").values.get("walls", "straight") != "straight":
        top.fault("Tapered walls are cut by a machine", "fit.walls", 'Take walls out, or say way = "machine".')
    for key in ("cutters", "fit_trial"):
        if top.values.get(key):
            top.fault(f"[{key}] says nothing of a {way}", key, f"Take [{key}] out.")
    if way == "knife and saw":
        for key, values in (("corners", top.values), ("fit.corners", top.table("fit").values)):
            if values.get("corners"):
                top.fault("A knife makes every corner: corners says nothing", key, "Take corners out.")


def cutter_of(table: Table, way: CuttingWay) -> str:
    """The cutter of [fit]; of a job that is sawn its saw."""
    return table.text("saw" if way == "knife and saw" else "cutter")


def seam_of(table: Table, way: CuttingWay, limits: Limits) -> float:
    """The seam of [fit]; with templates it may be left to the bush pair, and is 0 until that is known."""
    if way == "templates" and not table.has("seam"):
        return 0.0
    return table.length("seam", limits=limits)
