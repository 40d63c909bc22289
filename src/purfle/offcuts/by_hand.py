"""Parts that the maker laid: taken to their place and turn on a named offcut before all others are laid around them."""

from purfle.geometry.pose import Pose
from purfle.model.findings import Finding
from purfle.model.offcuts import Laid, Place, Wanted
from purfle.offcuts.packing import Stock
from purfle.offcuts.short_grain import angle_between
from purfle.tolerances import SAME_PLACE
from purfle.wood import known_as, same_wood

STAGE = "offcuts"
LAY_ANEW = "move it, or take its [[laid]] out and have it laid for you"
_MOST_NAMED = 24
"""So many parts or offcuts are named as what could be meant."""


def lay_by_hand(stocks: list[Stock], parts: tuple[Wanted, ...]) -> tuple[tuple[Wanted, ...], tuple[Finding, ...]]:
    """Lay what the rule of the stocks says was laid by hand; the parts that lie now, and what is wrong with the others.

    A part that cannot lie where it was laid is left to be laid like all others; the finding says why.
    """
    lie: list[Wanted] = []
    findings: list[Finding] = []
    for laid in stocks[0].rule.laid if stocks else ():
        where = f"rack, {laid.offcut}, {laid.piece}"
        part, why = _part_of(laid, parts)
        asked = laid.offcut.casefold()  # sheets put the wood before it: "Holly, offcut 7"
        names = (asked, asked.rpartition(", ")[2])
        stock = next((one for one in stocks if one.offcut.name.casefold() in names), None)
        if stock is None:
            known = ", ".join(one.offcut.name for one in stocks[:_MOST_NAMED])
            why = why or (f'there is no offcut "{laid.offcut}" on the rack', f"offcuts there are: {known}")
        if part is not None and any(part is one for one in lie):
            why = why or (f'"{laid.piece}" is laid twice', "keep one of both [[laid]]")
        if part is not None and stock is not None and why is None:
            place = _place_of(laid, part, stock)
            why = _why_not(place, stock)
            if why is None:
                findings += _off_the_grain(place, stock, where)
                stock.take(place)
                lie.append(part)
                continue
        assert why is not None
        findings.append(Finding("stop", f"{why[0]}: it is laid elsewhere", where, why[1], STAGE))
    return tuple(lie), tuple(findings)


def _part_of(laid: Laid, parts: tuple[Wanted, ...]) -> tuple[Wanted | None, tuple[str, str] | None]:
    """The part that is meant, by its name or its number; else what is wrong, and how to mend it."""
    asked = laid.piece.casefold()
    its = [part for part in parts if not laid.inlay or part.inlay.casefold() == laid.inlay.casefold()]
    meant = [part for part in its if part.name.casefold() == asked] or [p for p in its if str(p.number) == asked]
    if len(meant) == 1:
        return meant[0], None
    if meant:
        inlays = ", ".join(dict.fromkeys(f'"{part.inlay}"' for part in meant))
        numbers = ", ".join(str(part.number) for part in meant)
        mend = f"name it by its number ({numbers}), and its artwork with inlay ({inlays})"
        return None, (f'"{laid.piece}" is the name of {len(meant)} parts', mend)
    known = ", ".join(dict.fromkeys(part.name or str(part.number) for part in (its or parts)[:_MOST_NAMED]))
    return None, (f'no part is called "{laid.piece}"', f"parts are called: {known}")


def _place_of(laid: Laid, part: Wanted, stock: Stock) -> Place:
    """The part with the middle of the box around it where the maker wants it. Without a turn, along the grain."""
    angle = (stock.offcut.grain - part.grain) % 360.0 if laid.angle is None else laid.angle % 360.0
    left, low, right, high = Pose(angle).region(part.region).bounds
    pose = Pose(angle, laid.at[0] - (left + right) / 2.0, laid.at[1] - (low + high) / 2.0)
    return Place(part, stock.offcut.name, pose)


def _why_not(place: Place, stock: Stock) -> tuple[str, str] | None:
    """Why a part cannot lie there, and how to mend it; None where it can."""
    part, offcut, region = place.part, stock.offcut, place.region
    called = f'"{part.name or part.number}"'
    if not same_wood(part.wood, offcut.wood):
        return f"{called} is of {known_as(part.wood)}, the offcut of {known_as(offcut.wood)}", "lay it on its own wood"
    if offcut.thickness < part.thickness:
        thick = f"{part.thickness:.2f} mm of wood, the offcut is {offcut.thickness:.2f} mm thick"
        return f"{called} needs {thick}", "lay it on a thicker offcut"
    if not offcut.outline.covers(region):
        over = region.difference(offcut.outline).bounds
        size = max(over[2] - over[0], over[3] - over[1])
        return f"{called} lies over the edge of the offcut, along {size:.1f} mm", LAY_ANEW
    if stock.room_for(region):
        return None
    missing, nearest = stock.shortest_room(region)
    beside = next((one for one in stock.places if one.region.equals(nearest)), None)
    other = "the edge" if nearest is stock.edge else "a defect"
    other = f'"{beside.part.name or beside.part.number}"' if beside else other
    return f"{called} lies {max(-missing, SAME_PLACE):.1f} mm too near to {other}", LAY_ANEW


def _off_the_grain(place: Place, stock: Stock, where: str) -> list[Finding]:
    """What to look at where the maker turned a part further off the grain than Purfle would."""
    tolerance = stock.rule.grain_tolerance
    off = angle_between(place.pose.direction(place.part.grain), stock.offcut.grain)
    if off <= tolerance + SAME_PLACE:
        return []
    what = f'"{place.part.name or place.part.number}" lies {off:.0f} degrees off the grain that was asked for'
    return [Finding("look", what, where, f"turn it to within {tolerance:g} degrees, if that is not meant", STAGE)]
