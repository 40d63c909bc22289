"""Sheet 4, its last page: thin parts of pieces and butterfly keys: what may break, what serves them best."""

from typing import Any

from purfle.model.board import Inlay
from purfle.model.job import JobResult
from purfle.model.keys import KeyFigures
from purfle.model.offcuts import ThinPart
from purfle.sheets.lettering import Text, bold, plural, table
from purfle.sheets.parts import Part, parts_of
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.trade import sources_note
from purfle.sheets.warnings import warnings_of
from purfle.wood import Practice, practice, species_among

MOST = 24
"""So many pieces are listed, those with the weakest thin parts; the report has them all."""
MOST_KEYS = 8
ALIKE = 0.01
"""Shares of strength nearer than this are alike: the grain is as good as the best."""
TO_PSI = 145.038
KEY_ITEMS = ("butterfly key depth as share", "butterfly key length", "waist width / length", "flare angle")


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none where no piece has a thin part and there is no key."""
    thin = _weakest(result)
    if not thin and not result.keys:
        return []
    shown = sorted(thin, key=_bears)[:MOST]
    some = f" The {MOST} weakest of {len(thin)} pieces." if len(thin) > MOST else ""
    return [
        {
            "title": "Thin parts and keys" if thin and result.keys else "Thin parts" if thin else "Keys",
            "sub": f"{plural(len(thin), 'piece')} with thin parts, {plural(len(result.keys), 'key')}",
            "thin": thin_table(sorted(shown, key=lambda one: one.number), result, style) if thin else None,
            "note": "Bending strength as the fibres lie, of that along them: Hankinson's formula, middling figures of "
            f"the Wood Handbook (from memory). Best grain: degrees from edge A, for [grain] in job.toml.{some}",
            "keys": key_table(result, style) if result.keys else None,
            "key_note": _key_note(),
            "warnings": warnings_of(result, ("keys",)),
        }
    ]


def _weakest(result: JobResult) -> list[ThinPart]:
    """The weakest thin part of each piece."""
    by_piece: dict[tuple[str, int], ThinPart] = {}
    for one in result.on_offcuts.thin:
        name = (one.inlay, one.number)
        if name not in by_piece or _bears(one) < _bears(by_piece[name]):
            by_piece[name] = one
    return list(by_piece.values())


def _bears(one: ThinPart) -> float:
    """What a thin part bears at its end, next to others of one thickness."""
    return round(one.share * one.width**2 / one.length, 6)


def thin_table(shown: list[ThinPart], result: JobResult, style: Style) -> dict[str, Any]:
    """Those thin parts in a list."""
    parts = {(part.inlay.name, part.insert.number): part for part in parts_of(result)}
    rows = [_row(one, parts[one.inlay, one.number], result, style) for one in shown]
    unit = "MPa" if style.unit == "mm" else "psi"
    sizes = f"wide × long, {style.word}"
    head: list[Text] = ["", "piece", "wood", sizes, "off its grain", f"bends at, {unit}", "best grain", "spares"]
    return table((8, 0, 22, 30, 22, 32, 20, 15), "rllrrrrr", head, rows) | {"air": 1.1}


def _row(one: ThinPart, part: Part, result: JobResult, style: Style) -> list[Any]:
    size = f"{style.length(one.width)} × {style.length(one.length)}"
    keeps = abs(one.best_share - one.share) < ALIKE
    best = "as it is" if keeps else f"{grain_on_face(part.inlay, one.best):.0f}°"
    named: list[Any] = [[bold(part.label)], one.name or part.inlay.name, part.wood, size, f"{one.angle:.0f}°"]
    return [*named, _strength(one, result, style), best, str(part.spares) if part.spares else NONE]


def _strength(one: ThinPart, result: JobResult, style: Style) -> Text:
    """'46 of 71', or its share where no strength of the wood is known."""
    along = species_among(one.wood, result.shop.woods).bending_strength
    if along is None:
        return [bold(f"{100.0 * one.share:.0f} %")]
    step, unit = (1.0, 1.0) if style.unit == "mm" else (100.0, TO_PSI)
    so, whole = (f"{round(share * along.value * unit / step) * step:.0f}" for share in (one.share, 1.0))
    return [bold(so), f" of {whole}"]


def grain_on_face(inlay: Inlay, direction: float) -> float:
    """A direction of fibres of the artwork frame as the job file says it: degrees from A, as seen on the face."""
    on_board = inlay.pose.direction(direction)
    turned = -on_board if inlay.face == "underside" else on_board
    return round(turned) % 180.0


def key_table(result: JobResult, style: Style) -> dict[str, Any]:
    """Each key beside what is usual."""
    labels = {part.inlay.name: part.label for part in parts_of(result)}
    rows = [_key_row(key, labels[key.inlay], style) for key in result.keys[:MOST_KEYS]]
    head: list[Text] = ["", "key", f"long, {style.word}", "deep", "waist", "flare", "grain", "next key"]
    deep, longest, waist, flare = (practice("key", item) for item in KEY_ITEMS)
    usual: list[Any] = ["", "usual", f"to {style.length(longest.high or 0.0)}", _shares(deep), _shares(waist)]
    spacing = " to ".join(style.length(end or 0.0) for end in (_spacing().low, _spacing().high))
    rows.append([*usual, f"{flare.low:.0f}–{flare.high:.0f}°", "along", spacing])
    return table((8, 0, 22, 22, 22, 20, 20, 34), "rlrrrrrr", head, rows) | {"air": 1.1}


def _shares(figure: Practice) -> str:
    return f"{100.0 * (figure.low or 0.0):.0f}–{100.0 * (figure.high or 0.0):.0f} %"


def _spacing() -> Practice:
    return practice("key", "spacing along a crack")


def _key_row(key: KeyFigures, label: str, style: Style) -> list[Any]:
    off = "along" if key.off_grain < 1.0 else f"{key.off_grain:.0f}° off"
    shares = [f"{100.0 * key.depth_share:.0f} %", f"{100.0 * key.waist_share:.0f} %", f"{key.flare:.0f}°"]
    to_next = NONE if key.to_next is None else style.length(key.to_next)
    return [[bold(label)], key.inlay, style.length(key.length), *shares, off, to_next]


def _key_note() -> Text:
    figures = [*(practice("key", item) for item in KEY_ITEMS), _spacing()]
    note = sources_note((figure.source, figure.status) for figure in figures)
    return f"Deep: of the board; waist: of its length; next key: along one crack, middle to middle. {note}"
