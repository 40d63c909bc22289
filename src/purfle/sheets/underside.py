"""Sheet 3: the underside set out, drawn as seen from below, with the distance that proves how the board lies."""

import math
from typing import Any

from purfle.model.board import Mark
from purfle.model.job import JobResult
from purfle.sheets import drilling, thickness
from purfle.sheets.asked import all_smaller_words
from purfle.sheets.check_line import check_figure
from purfle.sheets.drawing import CENTRE, FINE, HAIR, HEAVY, Drawing
from purfle.sheets.face import draw_face, outlines
from purfle.sheets.features import features_of
from purfle.sheets.lettering import Run, Text, bold, listed, with_article
from purfle.sheets.parts import board_words
from purfle.sheets.show_face import mark_table, marks_in_order, other_face_words, sizes, wood_left
from purfle.sheets.style import Style
from purfle.sheets.tints import tints
from purfle.sheets.view import View, scale_words
from purfle.sheets.warnings import boxes_height, warnings_of

AROUND, ROW = 96.0, 6.7
"""Height of all else on the page beside the drawing; of a row of marks. In mm."""
LEAST_DRAWING = 96.0
TURNED_WIDTH, TURNED_HEIGHT = 30.0, 33.0
"""The small drawing of the board turned over."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none if nothing is let into the underside."""
    features = features_of(result.layout, "underside", style)
    if not features and not drilling.holes_of(result, "underside"):
        return thickness.pages(result, style)
    marks = marks_in_order(result, "underside", style) if any(f.is_picture for f in features) else []
    table = ROW * (len(marks) + 1) if marks else 0.0
    alone = not features_of(result.layout, "show", style)
    warnings = warnings_of(result, ("board",), lambda one: alone or one.face == "underside")
    room = style.down - AROUND - table - boxes_height(warnings, style.across)
    drawn = draw_face(result, "underside", style, max(LEAST_DRAWING, room))
    return [
        {
            "title": "Setting out, underside",
            "sub": board_words(result, style),
            "turned": turned_over(result).data(),
            "drawing": drawn.drawing.data(),
            "dashed": other_face_words(result, "underside", style),
            "scale": scale_words(drawn.view.scale),
            "table": mark_table(marks, style) if marks else None,
            "check": _check(result, style),
            "notes": [
                [*wood_left(result, "underside", style), *all_smaller_words(result, "underside", style)],
                _reading(result, style),
            ],
            "warnings": warnings,
        },
        *drilling.pages(result, "underside", style),
        *thickness.pages(result, style),
    ]


def turned_over(result: JobResult) -> Drawing:
    """The board small, unfolded about datum edge A: show face above, underside below it."""
    board = result.layout.board
    scale = max(board.length / 26.0, board.width / ((TURNED_HEIGHT - 1) / 2))
    show = View(board, "show", scale, 0.5, 0.5)
    below = View(board, "underside", scale, 0.5, 0.5 + show.high)
    drawing = Drawing(show.wide + 14.0, 2 * show.high + 1.0)
    drawing.region(show.region(board.outline), FINE)
    drawing.region(below.region(board.outline), FINE, "#eeeeee")
    shades = tints([p.wood for i in result.layout.inlays for p in i.fit.inserts])
    for view in (show, below):
        for inlay in (i for i in result.layout.inlays if i.face == view.face):
            for wood, shape in outlines(inlay, view):
                drawing.region(shape, 0.1, shades[wood])
        for fitting in (f for f in result.layout.fittings if f.face == view.face):
            drawing.region(view.region(fitting.wanted), HAIR, "#fff")
    corner = show.place(0, 0)
    weight, dash = (HEAVY, ()) if board.shape is None else (FINE, CENTRE)
    drawing.line([show.place(0, board.width), below.place(0, board.width)], weight, dash)
    drawing.line([corner, show.place(board.length, 0)], weight, dash)
    _arrow_over(drawing, show)
    return drawing


def _arrow_over(drawing: Drawing, show: View) -> None:
    """The way the board is turned: from the show face over its front edge."""
    x, y, high = show.left + show.wide + 2.0, show.top + show.high, show.high
    angles = [math.pi * (i / 24 - 0.5) for i in range(25)]
    bend = [(x + 8 * math.cos(a), y + 0.55 * high * math.sin(a)) for a in angles]
    end = bend[-1]
    drawing.line(bend, FINE)
    drawing.head(end, (-1.0, 0.0))


def _check(result: JobResult, style: Style) -> dict[str, Any] | None:
    """The check in words: the figure, what it is measured to, what a wrong figure means; or that there is none."""
    check = result.layout.check
    if check is None:
        alike: list[Run] = ["The underside is alike end for end and back to front, so no distance tells how the board "]
        alike += ["lies. Mark edges ", bold("A"), " and ", bold("B"), " on the wood before you turn it over."]
        return {"figure": "none", "text": alike}
    if check.face != "underside":
        return None
    board, figure = result.layout.board, check_figure(check)
    is_x = check.from_b is not None
    edge, wrong = ("B", board.length - figure) if is_x else ("A", board.width - figure)
    lies = "end for end" if is_x else "back to front"
    text: list[Run] = ["from ", bold(edge), f" to {_what(check)}. If it would fall ", bold(style.rule(wrong))]
    text += [f" from there, the board lies {lies}: turn it over about its front edge ", bold("A"), "."]
    return {"figure": style.rule(figure), "text": text}


def _what(check: Mark) -> str:
    return with_article(check.name.removeprefix("check: "))


def _reading(result: JobResult, style: Style) -> Text:
    """How figures were rounded, with the largest error; then the sizes of recesses that are not round."""
    marks = [m for m in result.layout.marks if m.face == "underside"]
    errors = [(abs(style.rule_off(d)), d) for m in marks for d in (m.from_b, m.from_a) if d is not None]
    runs: list[Run] = [f"Figures as a rule with {style.rule_words} shows them"]
    if errors:
        runs += [", the largest error ", bold(style.rule_error(max(errors)[1]))]
    runs.append(". ")
    alike: dict[tuple[str, str], list[str]] = {}
    for fitting in (f for f in result.layout.fittings if f.face == "underside" and not f.is_round):
        end = ", runs out at the edge. " if fitting.open_edge else ". "
        if fitting.knuckle:
            end = f", runs out at the edge, where its knuckle stands {style.length(fitting.knuckle)} over it. "
        alike.setdefault((style.size(*fitting.size), end), []).append(fitting.name)
    for (size, end), names in alike.items():
        runs += [f"Recess for {listed(list(dict.fromkeys(names)))} ", bold(size), end]
    has_picture = any(i.face == "underside" and i.kind == "picture" for i in result.layout.inlays)
    return [*runs, *sizes(result, "underside", style)] if has_picture else runs
