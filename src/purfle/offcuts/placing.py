"""Which part comes out of which offcut: the smallest sufficient one, spares where there is room."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from purfle.errors import PurfleError
from purfle.model.findings import Finding
from purfle.model.offcuts import OffcutRule, OnOffcuts, Place, ShortGrain, ThinPart, Wanted
from purfle.model.shop import Offcut, SoldSizes
from purfle.offcuts.buying import ToBuy, hundredths, to_buy_for
from purfle.offcuts.by_hand import lay_by_hand
from purfle.offcuts.packing import Stock, find_place, pack
from purfle.offcuts.short_grain import short_grain_of
from purfle.offcuts.thin_parts import thin_parts_of
from purfle.wood import known_as, same_wood

STAGE = "offcuts"
BARELY_THICK = 0.2
"""Less than this (mm) over what the insert needs leaves nothing to plane. Source: common practice, no source."""
MOST_DENSE = 0.95
"""No packing of parts that keep a distance fills more of the free wood than this."""
MUCH_TOO_THICK = 1.5
"""More than this (mm) over what the insert needs is wood to take off before or after. Source: common practice."""


@dataclass(slots=True)
class Rack:
    """The rack while parts are placed: one stock an offcut, in rack order, and what found no room."""

    rule: OffcutRule
    stocks: list[Stock]
    unplaced: list[Wanted] = field(default_factory=list)

    def has_left(self, part: Wanted) -> bool:
        """True if this very part found no room; another one may have the same shape."""
        return any(part is other for other in self.unplaced)


def place(
    parts: tuple[Wanted, ...], offcuts: tuple[Offcut, ...], rule: OffcutRule, sold: tuple[SoldSizes, ...] = ()
) -> OnOffcuts:
    """Every part on an offcut of its wood, and a spare of each small part where room is left.

    What the maker laid by hand stays there, where it can. What found no room is to be bought, in a size that is `sold`
    if that is known.

    Cost: a raster search a part, order and offcut tried; some hundredths of a second a part.
    """
    rack = Rack(rule, [Stock.of(offcut, rule) for offcut in offcuts])
    groups = _groups(parts)
    laid, of_laid = lay_by_hand(rack.stocks, parts)
    for group in groups:
        left = tuple(part for part in group if not any(part is one for one in laid))
        if left:
            _place_group(rack, left)
    for group in groups:
        _place_spares(rack, group)
    places = tuple(found for stock in rack.stocks for found in stock.places)
    used = tuple(stock.offcut for stock in rack.stocks if stock.places)
    short, thin, short_findings = _short_grain(parts, places, {offcut.name: offcut for offcut in offcuts})
    unplaced = tuple(part for part in parts if rack.has_left(part))
    boards = [to_buy_for(group, rule, sold) for group in _groups(unplaced)]
    findings = [*of_laid, *_missing(boards, offcuts), *_thickness(rack), *_fewer_copies(rack, parts), *short_findings]
    wanted = tuple(board.line for board in boards)
    sizes = tuple((board.parts[0].wood, board.size) for board in boards)
    return OnOffcuts(used, places, unplaced, short, wanted, tuple(findings), boards_to_buy=sizes, thin=thin)


def _groups(parts: tuple[Wanted, ...]) -> list[tuple[Wanted, ...]]:
    """Parts of one wood and one thickness; the thickest first, since they have the fewest offcuts to choose from."""
    groups: list[list[Wanted]] = []
    for part in sorted(parts, key=lambda part: -part.thickness):
        mates = (g for g in groups if g[0].thickness == part.thickness and same_wood(g[0].wood, part.wood))
        group = next(mates, None)
        if group is None:
            groups.append([part])
        else:
            group.append(part)
    return [tuple(group) for group in groups]


def _suited(rack: Rack, group: tuple[Wanted, ...]) -> list[int]:
    """Stocks of the wood of a group, thick enough: the least wood first."""
    suited = [
        number
        for number, stock in enumerate(rack.stocks)
        if stock.offcut.thickness >= group[0].thickness and same_wood(stock.offcut.wood, group[0].wood)
    ]
    return sorted(suited, key=lambda number: (_volume(rack.stocks[number].offcut), number))


def _within_reach(rack: Rack, numbers: list[int]) -> tuple[list[int], list[int]]:
    """Stocks that the cutters go through, and those too thick for them."""
    thin = [number for number in numbers if rack.stocks[number].offcut.thickness <= rack.rule.reach]
    return thin, [number for number in numbers if number not in thin]


def _volume(offcut: Offcut) -> float:
    return float(offcut.outline.area) * offcut.thickness


def _place_group(rack: Rack, group: tuple[Wanted, ...]) -> None:
    """On offcuts that the cutters go through, as far as those have room; the rest on thicker ones, which are told."""
    for suited in _within_reach(rack, _suited(rack, group)):
        group = _placed_on(rack, suited, group)
    rack.unplaced += group


def _placed_on(rack: Rack, suited: list[int], group: tuple[Wanted, ...]) -> tuple[Wanted, ...]:
    """All on the smallest offcut that takes all; else as many as go on the roomiest one, and so on with the rest.

    What found no room is handed back.
    """
    while group and suited:
        likely = [number for number in suited if rack.stocks[number].raster.free_area * MOST_DENSE >= _wood(group)]
        tried = likely or [max(suited, key=lambda number: rack.stocks[number].raster.free_area)]
        number, filled, left = _fullest(rack, tried, group)
        if len(left) == len(group):
            suited = [other for other in suited if other not in tried]
            continue
        rack.stocks[number] = filled
        suited = [other for other in suited if other != number]
        group = left
    return group


def _fullest(rack: Rack, numbers: list[int], group: tuple[Wanted, ...]) -> tuple[int, Stock, tuple[Wanted, ...]]:
    """The first of these stocks that takes all of a group, else the one that takes most: number, filled, the rest."""
    best = numbers[0], rack.stocks[numbers[0]], group
    for number in numbers:
        filled, left = pack(rack.stocks[number], group)
        if _wood(left) < _wood(best[2]):
            best = number, filled, left
        if not left:
            break
    return best


def _wood(parts: tuple[Wanted, ...]) -> float:
    return float(sum(part.region.area for part in parts))


def _place_spares(rack: Rack, group: tuple[Wanted, ...]) -> None:
    """A spare of each small part, and as many as make up the copies asked for.

    Beside its original if there is room, else on another offcut already used. Copies asked for open a further offcut.
    """
    for part in sorted(group, key=lambda part: part.region.area):
        least = 2 if part.region.area < rack.rule.spares_below else 1
        for _ in range(1, max(rack.rule.copies, least)):
            if not _place_spare(rack, group, part):
                break  # where one more has no room, a second has none either


def _fewer_copies(rack: Rack, parts: tuple[Wanted, ...]) -> Iterator[Finding]:
    """The parts that have wood for fewer copies than asked for."""
    laid = [found.part for stock in rack.stocks for found in stock.places]
    counts = [(part, sum(part is one for one in laid)) for part in parts]
    few = [(part, count) for part, count in counts if 0 < count < rack.rule.copies]
    if few:
        names = "; ".join(f"{part.number} {part.name}".strip() + f" ({count})" for part, count in few)
        what = f"no room on the rack for all {rack.rule.copies} copies of: {names}"
        yield Finding("look", what, "rack", "buy more of their wood, or ask for fewer copies", STAGE)


def _place_spare(rack: Rack, group: tuple[Wanted, ...], part: Wanted) -> bool:
    """One more of a part laid, if there is room for it."""
    if rack.has_left(part):
        return False
    within, _ = _within_reach(rack, _suited(rack, group))
    unused = [rack.stocks[number] for number in within] if rack.rule.copies > 1 else []
    stocks = [rack.stocks[number] for number in _suited(rack, group) if rack.stocks[number].places]
    stocks.sort(key=lambda stock: not any(found.part is part for found in stock.places))
    for stock in (*stocks, *(one for one in unused if not one.places)):
        spare = find_place(stock, part, spare=True)
        if spare is not None:
            stock.take(spare)
            return True
    return False


def _short_grain(
    parts: tuple[Wanted, ...], places: tuple[Place, ...], offcuts: dict[str, Offcut]
) -> tuple[tuple[ShortGrain, ...], tuple[ThinPart, ...], list[Finding]]:
    """Thin parts across the fibres, and all others, as the pieces really lie on their offcuts; and what to tell."""
    short: list[ShortGrain] = []
    thin: list[ThinPart] = []
    findings: list[Finding] = []
    for part in parts:
        lies = next((found for found in places if found.part is part and not found.spare), None)
        grain = part.grain if lies is None else lies.pose.inverse().direction(offcuts[lies.offcut].grain)
        try:
            found = short_grain_of(part, grain)
            thin += thin_parts_of(part, grain)
        except PurfleError as error:
            what = f"piece {part.number} {part.name} was not looked through for short grain: {error.what}".replace(
                "  ", " "
            )
            findings.append(Finding("look", what, f"{part.inlay}, piece {part.number}", error.mend, STAGE))
            continue
        short += found
        findings += map(_short_finding, found)
    return tuple(short), tuple(thin), findings


def _missing(boards: list[ToBuy], offcuts: tuple[Offcut, ...]) -> list[Finding]:
    """One finding a wood that ran out, with the reason and the board that would do."""
    findings: list[Finding] = []
    for board in boards:
        group = board.parts
        wood, thickness = group[0].wood, group[0].thickness
        of_wood = [offcut for offcut in offcuts if same_wood(offcut.wood, wood)]
        wood = known_as(wood)
        if not of_wood:
            why = f"there is no {wood} on the rack"
        elif all(offcut.thickness < thickness for offcut in of_wood):
            why = f"no {wood} on the rack is {hundredths(thickness)} mm thick"
        elif any(offcut.thickness < thickness for offcut in of_wood):
            why = f"no {wood} on the rack that is {hundredths(thickness)} mm thick has room for them"
        else:
            why = f"no {wood} on the rack has room for them"
        names = ", ".join(f"{part.number} {part.name}".strip() for part in group)
        what = f"{wood}: {why}; without wood: {names}"
        findings.append(Finding("stop", what, "rack", board.mend, STAGE))
    return findings


def _thickness(rack: Rack) -> list[Finding]:
    """Offcuts in use that are barely or much thicker than what is cut from them."""
    findings: list[Finding] = []
    for stock in rack.stocks:
        if not stock.places:
            continue
        offcut = stock.offcut
        needed = max(found.part.thickness for found in stock.places)
        over = offcut.thickness - needed
        amount = (
            f"{'only ' if over < BARELY_THICK else ''}{hundredths(over)} mm over the {hundredths(needed)} mm needed"
        )
        what = f"{offcut.name} is {hundredths(offcut.thickness)} mm thick: {amount}"
        if over < BARELY_THICK:
            findings.append(Finding("look", what, f"rack, {offcut.name}", "plane it no thinner than that", STAGE))
        elif over > MUCH_TOO_THICK and not rack.rule.are_blocks and not all(found.part.hangs for found in stock.places):
            mend = f"plane or saw it to {hundredths(needed)} mm first"
            findings.append(Finding("look", what, f"rack, {offcut.name}", mend, STAGE))
    return findings


def _short_finding(short: ShortGrain) -> Finding:
    piece = f"piece {short.number} {short.name}".strip()
    what = (
        f"{piece} has a part {short.width:.1f} mm wide with its fibres at {short.angle:.0f} degrees to it: it may snap"
    )
    return Finding("look", what, f"{short.inlay}, piece {short.number}", "back it with tape, or turn its grain", STAGE)
