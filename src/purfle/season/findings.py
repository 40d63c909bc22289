"""What is to be told of the seasons: seams that open or press, grain that crosses, wood that has to settle first."""

from collections.abc import Iterable

from purfle.model.board import Layout
from purfle.model.findings import Finding
from purfle.model.season import InsertSeasons, SeamAtWorst, Seasons
from purfle.wood import practice

STAGE = "season"
CROSSING = 45.0
"""Fibres that lie further than this (degrees) off those of their ground cross them."""
SETTLED = 1.0
"""Moistures nearer than this (%) are alike. Source: the practice table, insert and ground before fitting (memory)."""
BETTER = 0.3
"""Advice that takes no more than this share off what is wrong is not worth its wood."""
SEEN = 1.0
"""No piece is smaller than this (mm), so no such limit is worth telling."""
MOST_NAMED = 6
"""More pieces than this are counted, not named."""


def findings_of(seasons: Seasons, layout: Layout) -> tuple[Finding, ...]:
    """All of it, in the order in which a maker can do something about it."""
    found = [*_unknown(seasons), *_unsettled(seasons), *_unsaid(seasons)]
    for inlay in layout.inlays:
        mine = [one for one in seasons.inserts if one.inlay == inlay.name]
        if inlay.kind == "key":
            continue  # a key crosses the grain on purpose; see keys
        found += [*_opening(mine, seasons), *_pressing(mine), *_crossing(mine)]
    return tuple(found)


def _unknown(seasons: Seasons) -> Iterable[Finding]:
    for wood in seasons.unknown:
        what = f"no figure of how {wood} moves is known: its seams through the year are not reckoned"
        mend = f'give its figures in the shop file, [[wood]] name = "{wood}", with their source'
        yield Finding("look", what, "seasons", mend, STAGE)


def _unsaid(seasons: Seasons) -> Iterable[Finding]:
    """How wood was cut, where nothing says."""
    parts = [one for one in seasons.inserts if one.rings is None]
    where = ["the board"] if seasons.board_rings is None else []
    where += [_named(parts)] if parts and len(parts) < len(seasons.inserts) else ["the parts"] if parts else []
    if where:
        what = f"nothing says the cut of {' and '.join(where)}: the worse of flat-sawn and quarter-sawn is reckoned"
        mend = 'look at the end grain and add rings = "flat", "between" or "quarter" to [board] and to each [[offcut]]'
        yield Finding("note", what, "seasons", mend, STAGE)


def _unsettled(seasons: Seasons) -> Iterable[Finding]:
    """Wood that is wetter or drier than it will be, or than what it is let into."""
    apart = max(abs(one.board - one.parts) for one in seasons.fitted)
    if apart >= SETTLED:
        what = f"board and parts are {apart:.1f} % of moisture apart when they are fitted"
        mend = f"let both lie in one room until they are less than {SETTLED:g} % apart"
        yield Finding("look", what, "seasons", mend, STAGE)
    place = seasons.wish.place
    middle = (place.winter.moisture + place.summer.moisture) / 2.0
    now = [moisture for one in seasons.fitted for moisture in (one.board, one.parts)]
    off = max((moisture - middle for moisture in now), key=abs)
    if abs(off) >= SETTLED:
        is_what = "wetter" if off > 0.0 else "drier"
        season = seasons.fitted[0].when if len(seasons.fitted) == 1 else "measured"
        usual = seasons.wish.board_moisture is None and seasons.wish.parts_moisture is None
        when = f" in {season}" if usual and season != "measured" else ""
        what = f"wood fitted{when} at {middle + off:.1f} % of moisture is {abs(off):.1f} % {is_what} than it will be"
        mend = (
            f"let it lie until it has {middle - SETTLED:.1f} to {middle + SETTLED:.1f} %, the middle of the year there"
        )
        yield Finding("look", what, "seasons", mend, STAGE)


def _opening(inserts: list[InsertSeasons], seasons: Seasons) -> Iterable[Finding]:
    """Seams that become wide enough to read as a line."""
    open_ones = [one for one in inserts if one.widest.width > seasons.opens_at]
    if not open_ones:
        return
    worst = max(open_ones, key=lambda one: one.widest.width)
    seam = worst.widest
    what = f"in {seam.season} the seam of {_named(open_ones)} opens to {seam.width:.2f} mm, if nothing holds the wood"
    yield Finding("look", what, _where(worst, seam), _mend(worst, True), STAGE, seam.place)


def _pressing(inserts: list[InsertSeasons]) -> Iterable[Finding]:
    """Seams that close altogether, so that wood presses on wood."""
    pressing = [one for one in inserts if one.narrowest.width < -PRESSED]
    if not pressing:
        return
    worst = min(pressing, key=lambda one: one.narrowest.width)
    seam = worst.narrowest
    short = f"{-seam.width:.2f} mm of room are missing"
    what = f"in {seam.season} the seam of {_named(pressing)} closes and presses: {short}, if nothing holds the wood"
    yield Finding("look", what, _where(worst, seam), _mend(worst, False), STAGE, seam.place)


PRESSED = 0.005
"""Wood that overlaps by less than this (mm) gives way unseen."""


def _crossing(inserts: list[InsertSeasons]) -> Iterable[Finding]:
    """Grain that crosses that of its ground."""
    crossing = [one for one in inserts if one.off_grain > CROSSING]
    if crossing:
        worst = max(crossing, key=lambda one: (one.off_grain, one.along))
        what = f"the grain of {_named(crossing)} crosses that of its ground, by up to {worst.off_grain:.0f} degrees"
        mend = "nothing, if it is as you want it; else give its direction under [grain]"
        yield Finding("note", what, worst.inlay, mend, STAGE)


def _named(inserts: list[InsertSeasons]) -> str:
    """'piece 3', 'pieces 3 and 5', '17 pieces'."""
    if len(inserts) > MOST_NAMED:
        return f"{len(inserts)} pieces"
    numbers = [str(one.number) for one in inserts]
    if len(numbers) == 1:
        return f"piece {numbers[0]}"
    return f"pieces {', '.join(numbers[:-1])} and {numbers[-1]}"


def _where(worst: InsertSeasons, seam: SeamAtWorst) -> str:
    against = f"piece {seam.against}" if seam.against else "its ground"
    return f"{worst.inlay}, piece {worst.number} ({worst.name}) against {against}"


def _mend(worst: InsertSeasons, opens: bool) -> str:
    """The ways to mend a seam that opens, or presses, that are worth their wood, with what they give."""
    limit = worst.opens_beyond if opens else worst.pushes_beyond
    ways = []
    for words, seams in (("grain along that of its ground", worst.turned), ("quarter-sawn wood", worst.quarter)):
        if seams is not None and _helps(worst, seams, opens):
            ways.append(f"with {words} {_left(seams, opens)}")
    if limit is not None and limit >= SEEN:
        ways.append(f"up to {limit:.0f} mm across such a piece stays sound")
    figure = practice("fit", "veneer insert thickness").high
    ways.append(f"an insert of about {figure:.1f} mm goes with its ground")
    return "; ".join(ways)


def _left(seams: tuple[float, float], opens: bool) -> str:
    """What is left of it."""
    if opens:
        return f"it opens to {seams[1]:.2f} mm"
    return f"{-seams[0]:.2f} mm are missing" if seams[0] < -PRESSED else "it stays open"


def _helps(worst: InsertSeasons, seams: tuple[float, float], opens: bool) -> bool:
    """True if what is wrong gets so much less."""
    now, then = (worst.widest.width, seams[1]) if opens else (-worst.narrowest.width, -seams[0])
    return then < (1.0 - BETTER) * now
