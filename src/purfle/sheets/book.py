"""All sheets of a job, in their order, as one PDF."""

import json
from functools import cache
from importlib import resources
from types import ModuleType
from typing import Any, Literal

import typst

from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.sheets import cutting_cards, offcuts, patterns, piece, show_face, underside
from purfle.sheets.style import BOTTOM, PAPERS, SIDE, TOP, Style

SHEETS: tuple[tuple[int, ModuleType], ...] = (
    (1, piece),
    (2, show_face),
    (3, underside),
    (4, offcuts),
    (5, cutting_cards),
    (10, patterns),
)
"""Number and module of every sheet. A module's name is that of its Typst file too."""

Page = dict[str, Any]


def bench_sheets(result: JobResult, unit: LengthUnit, paper: Paper) -> bytes:
    """The bench sheets of a job as one PDF, lengths in `unit`, on `paper`."""
    [pdf] = _set(result, Style(unit, paper), "pdf", 0.0)
    return pdf


def sheet_pictures(result: JobResult, unit: LengthUnit, paper: Paper, ppi: float = 100.0) -> list[bytes]:
    """The bench sheets as one PNG a page, to be looked at."""
    return _set(result, Style(unit, paper), "png", ppi)


def pages_of(result: JobResult, style: Style) -> list[tuple[str, Page]]:
    """What every page says, with the name of the sheet that sets it."""
    pages: list[tuple[str, Page]] = []
    for number, module in SHEETS:
        data = module.data(result, style)
        name = module.__name__.rpartition(".")[2]
        pages += [(name, {"number": number, **page}) for page in (data if isinstance(data, list) else [data])]
    return pages


def _set(result: JobResult, style: Style, kind: Literal["pdf", "png"], ppi: float) -> list[bytes]:
    pages = pages_of(result, style)
    sources = dict(_sources())
    sources["job.json"] = json.dumps(_head(result, style), ensure_ascii=False).encode()
    sources["pages.json"] = json.dumps([page for _, page in pages], ensure_ascii=False).encode()
    sources["main.typ"] = _main(result, [name for name, _ in pages]).encode()
    compiler: Any = typst.compile
    made = compiler(sources, ignore_system_fonts=True, format=kind, ppi=ppi or None)
    return made if isinstance(made, list) else [made]


def _head(result: JobResult, style: Style) -> Page:
    """What stands in the head and foot of every page."""
    return {
        "name": shortened(result.job.name, 90),
        "short": shortened(result.job.name, 48),
        "change": result.job.change,
        "sheets": max(number for number, _ in SHEETS),
        "paper": PAPERS[style.paper],
        "side": SIDE,
        "top": TOP,
        "bottom": BOTTOM,
        "inches": style.unit != "mm",
    }


def shortened(text: str, most: int) -> str:
    """The text, or its beginning and an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _main(result: JobResult, names: list[str]) -> str:
    """The document: one call a page. Nothing the maker wrote stands in it; that travels as data."""
    lines = ['#import "base.typ": sheet', '#let job = json("job.json")', '#let pages = json("pages.json")']
    lines += [f'#import "{name}.typ" as {name.replace("_", "-")}' for name in sorted(set(names))]
    lines += [
        '#set document(title: job.name + ", bench sheets", date: none)',
        '#set text(font: "Libertinus Serif", size: 11.5pt, lang: "en", number-type: "lining")',
        "#set par(leading: 0.55em)",
    ]
    for number, name in enumerate(names):
        lines.append(f"#sheet(job, pages.at({number}), {name.replace('_', '-')}.draw(pages.at({number})))")
    return "\n".join(lines)


@cache
def _sources() -> tuple[tuple[str, bytes], ...]:
    """The Typst files of this package."""
    files = sorted(
        (f for f in resources.files("purfle.sheets").iterdir() if f.name.endswith(".typ")), key=lambda f: f.name
    )
    return tuple((f.name, f.read_bytes()) for f in files)
