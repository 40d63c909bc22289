"""Sheet 7, its second page: through the seasons: each seam at its narrowest and widest, and what would mend it."""

from dataclasses import dataclass
from typing import Any

import shapely

from purfle.model.job import JobResult
from purfle.model.season import Air, Climate, InsertSeasons, Seasons
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import Run, Text, bold, capital, listed, table, width
from purfle.sheets.parts import Part, parts_of, wood_name
from purfle.sheets.style import Style
from purfle.sheets.trade import NO_SOURCE, source_words, warmth
from purfle.sheets.warnings import boxes_height, warnings_of

ADD = "Seams through the seasons: not reckoned. Say both climates in [season] of job.toml to have them."
NEXT = "Seams through the seasons: next page."
ROW, HEAD, FOOT = 5.6, 9.0, 6.5
"""Height of a row of the chart, of its head and of its foot, mm."""
AROUND = 94.0
"""Height of all else on the page but boxes, mm."""
FEWEST = 6
"""So many rows have to be seen at least; boxes then go to a page of their own."""
LABEL, NAME, WOOD, GRAIN, FIGURES = 9.0, 37.0, 25.0, 22.0, 31.0
POINTS, SMALL = 10.0, 9.5
BAR = 2.3
INSIDE, OUTSIDE = "#cfcfcf", "#000"
CROSSING = 45.0
"""Fibres further than this (degrees) off those of the ground are called crossing, as in the findings."""
HARDLY = 2.0
WORTH_A_SLOT = 0.5
"""A board that changes by more across its grain (mm) wants fastenings that let it. Own choice."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a width of seam stands on the paper."""

    left: float
    right: float
    least: float
    most: float

    def at(self, seam: float) -> float:
        """Where this width stands, mm from the left."""
        return self.left + (seam - self.least) / (self.most - self.least) * (self.right - self.left)


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none where the job says no climate or nothing is let in."""
    seasons = result.seasons
    if seasons is None or not result.layout.inlays:
        return []
    boxes = warnings_of(result, ("season",))
    room = style.down - AROUND - boxes_height(boxes, style.across)
    rows = _rows(result, seasons, max(FEWEST, int((room - HEAD - FOOT) / ROW)))
    drawn = draw_seams(rows, seasons, result.job.fit.seam, style) if rows else None
    return [
        {
            "title": "Through the seasons",
            "sub": f"seam {style.seam(result.job.fit.seam)} {style.word}, as if nothing held the wood",
            "climates": climate_table(seasons, style),
            "climate_sources": _sources(seasons),
            "lead": _lead(seasons, style),
            "drawing": drawn.data() if drawn else None,
            "caption": _caption(rows, seasons, style),
            "board": _board_words(result, seasons, style),
            "warnings": boxes,
        }
    ]


def words_for_glue_up(result: JobResult) -> str:
    """What the page of the glue-up says of the seasons."""
    return ADD if result.seasons is None else NEXT


def climate_table(seasons: Seasons, style: Style) -> dict[str, Any]:
    """Moistures of the shop, of the wood as it is fitted, and of the place where the piece will stand."""
    rows: list[list[Any]] = []
    for words, climate in (("the shop", seasons.wish.shop), ("where it will stand", seasons.wish.place)):
        rows.append(
            [words, _climate_words(climate), _air_words(climate.winter, style), _air_words(climate.summer, style)]
        )
    rows.insert(1, ["when it is fitted", _fitted_words(seasons), *_fitted_figures(seasons)])
    return table((34, 0, 42, 42), "llll", ["", "", "winter", "summer"], rows)


def _climate_words(climate: Climate) -> str:
    return "as the job says" if climate.status.startswith("as the job") else climate.name


def _air_words(air: Air, style: Style) -> Text:
    moisture: list[Run] = [bold(f"{air.moisture:.1f} %")]
    if air.temperature is None or air.humidity is None:
        return moisture
    return [*moisture, f"  ({warmth(air.temperature, style)}, {air.humidity:.0f} %)"]


def _fitted_words(seasons: Seasons) -> str:
    if seasons.fitted[0].when == "measured":
        return "measured"
    return "winter or summer, the worse told" if len(seasons.fitted) > 1 else f"in {seasons.fitted[0].when}"


def _fitted_figures(seasons: Seasons) -> list[Text]:
    """Moisture of board and parts, in the columns of the seasons that they belong to."""
    shown: dict[str, Text] = {"winter": "", "summer": ""}
    for one in seasons.fitted:
        same = abs(one.board - one.parts) < 0.05
        words = f"{one.board:.1f} %" if same else f"board {one.board:.1f}, parts {one.parts:.1f} %"
        for season in ("winter", "summer") if one.when == "measured" else (one.when,):
            shown[season] = [bold(words)]
    return [shown["winter"], shown["summer"]]


def _sources(seasons: Seasons) -> Text:
    told = [
        source_words(one.source, one.status)
        for one in (seasons.wish.shop, seasons.wish.place)
        if not one.status.startswith("as the job")
    ]
    words = "; ".join(dict.fromkeys(told))
    return f"% of moisture that wood settles at. {'Climates: ' + words + '.' if words else ''}"


def _lead(seasons: Seasons, style: Style) -> str:
    opened = [one for one in seasons.inserts if one.widest.width > seasons.opens_at]
    pressing = [one for one in seasons.inserts if one.narrowest.width < 0.0]
    if not seasons.inserts:
        return "No figure of how the board moves is known, so no seam is reckoned."
    if not opened and not pressing:
        return "Every seam stays closed to the eye, and none presses, the whole year through."
    told = [f"{len(opened)} open beyond {style.seam(seasons.opens_at)} {style.word}"] if opened else []
    told += [f"{len(pressing)} press"] if pressing else []
    return f"Of {len(seasons.inserts)} seams {listed(told)} at their worst time of the year."


def _board_words(result: JobResult, seasons: Seasons, style: Style) -> Text:
    wood = wood_name(result, result.layout.board.wood)
    size, least, most = seasons.board_across
    long, shrinks, grows = seasons.board_along
    cut = _cut_words(seasons.board_rings)
    runs: list[Run] = [
        bold(f"{capital(wood)}, {cut}: "),
        f"across the grain {style.length(size)} {style.word} changes by ",
    ]
    runs += [bold(_signed(least, most, style)), f" {style.word}, along it {style.length(long)} by "]
    runs += [bold(_signed(shrinks, grows, style)), f" {style.word}."]
    if most - least < WORTH_A_SLOT:
        return runs
    room = f"{style.true(most - least)} {style.word}"
    return [*runs, f" Fasten it so that it can: screws in slots across the grain, {room} of room in all ({NO_SOURCE})."]


def _signed(least: float, most: float, style: Style) -> str:
    """'−1.42 to +2.37'."""
    return " to ".join(("+" if one > 0.0 else "") + style.true(one) for one in (least, most))


def _cut_words(rings: float | None) -> str:
    if rings is None:
        return "its cut not known"
    named = {0.0: "flat-sawn", 90.0: "quarter-sawn"}
    return named.get(rings, f"growth rings at {rings:.0f}° to its face")


def _rows(result: JobResult, seasons: Seasons, most: int) -> list[tuple[Part, InsertSeasons]]:
    """The inserts in their order; where not all have room, those whose seams go furthest off."""
    parts = {(part.inlay.name, part.insert.number): part for part in parts_of(result)}
    told = {(one.inlay, one.number): one for one in seasons.inserts}
    rows = [(part, told[name]) for name, part in parts.items() if name in told]
    seam = result.job.fit.seam
    kept = sorted(rows, key=lambda row: -max(row[1].widest.width - seam, seam - row[1].narrowest.width))[:most]
    return [row for row in rows if row in kept]


def _caption(rows: list[tuple[Part, InsertSeasons]], seasons: Seasons, style: Style) -> str:
    some = f"The {len(rows)} that go furthest of {len(seasons.inserts)}. " if len(rows) < len(seasons.inserts) else ""
    unsaid = seasons.board_rings is None or any(one.rings is None for one in seasons.inserts)
    worse = " Where nothing says how wood was cut, the worse of flat-sawn and quarter-sawn." if unsaid else ""
    return (
        f"{some}Bars: the seam of each piece from its narrowest to its widest in {style.word}; black where wood "
        "presses on wood, or where a seam reads as a line. Glue and thin inserts hold part of it back, as stress."
        f"{worse}"
    )


def draw_seams(rows: list[tuple[Part, InsertSeasons]], seasons: Seasons, seam: float, style: Style) -> Drawing:
    """The chart: a row for each insert, its seam as a bar."""
    drawing = Drawing(style.across, HEAD + ROW * len(rows) + FOOT)
    left, right = LABEL + NAME + WOOD + GRAIN, style.across - FIGURES
    least = min(0.0, *(one.narrowest.width for _, one in rows))
    most = max(1.3 * seasons.opens_at, *(one.widest.width for _, one in rows))
    edge = 0.04 * (most - least)
    scale = Scale(left, right, least - edge, most + edge)
    _heads(drawing, scale, seasons, (seam, style))
    for number, (part, one) in enumerate(rows):
        _row(drawing, (part, one), HEAD + ROW * (number + 0.5), (scale, seasons.opens_at), style)
        y = HEAD + ROW * (number + 1)
        drawing.line([(0.0, y), (style.across, y)], HAIR)
    return drawing


def _heads(drawing: Drawing, scale: Scale, seasons: Seasons, wanted: tuple[float, Style]) -> None:
    """The lines that a seam is read against, with their words."""
    seam, style = wanted
    drawing.line([(0.0, HEAD), (drawing.width, HEAD)], FINE)
    places = {"": 0.0, "piece": LABEL, "wood": LABEL + NAME, "grain": LABEL + NAME + WOOD}
    for word, x in places.items():
        drawing.text((x, HEAD - 3.0), word, SMALL, "italic", anchor="l")
    drawing.text((drawing.width, HEAD - 3.0), f"seam, {style.word}", SMALL, "italic", anchor="r")
    foot = drawing.height - FOOT
    closed, opened = scale.at(0.0), scale.at(seasons.opens_at)
    drawing.line([(closed, HEAD - 1.5), (closed, foot)], EDGE)
    drawing.line([(opened, HEAD - 1.5), (opened, foot)], FINE, HIDDEN)
    drawing.text((min(closed, opened - 12.0), HEAD - 4.5), "closed", SMALL, "italic", anchor="c")
    drawing.text((opened + 1.0, HEAD - 4.5), "reads as a line", SMALL, "italic", anchor="l")
    asked = scale.at(seam)
    drawing.line([(asked, HEAD), (asked, foot)], HAIR)
    drawing.text((asked, foot + 3.6), f"as fitted, {style.seam(seam)}", SMALL, "italic", anchor="c")


def _row(drawing: Drawing, row: tuple[Part, InsertSeasons], y: float, on: tuple[Scale, float], style: Style) -> None:
    """One insert."""
    (part, one), (scale, opens) = row, on
    drawing.text((0.0, y), part.label, POINTS, "bold", anchor="l")
    drawing.text((LABEL, y), _cut(one.name, NAME - 2.0), POINTS, anchor="l")
    drawing.text((LABEL + NAME, y), _cut(part.wood, WOOD - 2.0), POINTS, anchor="l")
    drawing.text((LABEL + NAME + WOOD, y), _grain_words(one.off_grain), POINTS, anchor="l")
    low, high = one.narrowest.width, one.widest.width
    for start, end, fill in (
        (low, min(0.0, high), OUTSIDE),
        (max(low, 0.0), min(high, opens), INSIDE),
        (max(low, opens), high, OUTSIDE),
    ):
        if end > start:
            box = shapely.box(scale.at(start), y - BAR / 2.0, scale.at(end), y + BAR / 2.0)
            drawing.region(box, HAIR, fill)
    figures = f"{style.true(low)} to {style.true(high)}"
    drawing.text((drawing.width, y), figures, POINTS, "bold" if low < 0.0 or high > opens else "regular", anchor="r")


def _grain_words(off_grain: float) -> str:
    if off_grain < HARDLY:
        return "along"
    return f"{off_grain:.0f}° off" if off_grain <= CROSSING else f"{off_grain:.0f}°, crosses"


def _cut(text: str, room: float) -> str:
    """A text as far as it has room."""
    if width(text, POINTS) <= room:
        return text
    while text and width(text + "...", POINTS) > room:
        text = text[:-1]
    return text.rstrip() + "..."
