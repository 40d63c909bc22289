"""All sheets of a job, in their order, as one PDF."""

import json
from functools import cache
from importlib import resources
from types import ModuleType
from typing import Any, Literal

import typst

from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.sheets import (
    chisel,
    cutting_cards,
    finish,
    glue_up,
    offcuts,
    patterns,
    piece,
    safety,
    show_face,
    underside,
)
from purfle.sheets.style import BOTTOM, PAPERS, SIDE, TOP, Style

SHEETS: tuple[tuple[int, ModuleType], ...] = (
    (1, piece),
    (2, show_face),
    (3, underside),
    (4, offcuts),
    (5, cutting_cards),
    (6, chisel),
    (7, glue_up),
    (8, finish),
    (9, safety),
    (10, patterns),
)
"""Number and module of every sheet. A module's name is that of its Typst file too."""

SPEAK_OF_THE_PROOF = frozenset({5, 7})
"""Sheets that say what the dry fit found; all others can be drawn before it."""

Page = dict[str, Any]
Pages = list[tuple[str, Page]]


def bench_sheets(result: JobResult, unit: LengthUnit, paper: Paper, early: Pages | None = None) -> bytes:
    """The bench sheets of a job as one PDF, lengths in `unit`, on `paper`.

    `early`: what `early_pages` gave for the same job, so that it need not be drawn again.
    """
    style = Style(unit, paper)
    pages = early_pages(result, unit, paper) if early is None else early
    late = pages_of(result, style, SPEAK_OF_THE_PROOF)
    [pdf] = _set(result, style, sorted([*pages, *late], key=lambda page: page[1]["number"]), ("pdf", 0.0))
    return pdf


def early_pages(result: JobResult, unit: LengthUnit, paper: Paper) -> Pages:
    """What the pages say that do not speak of the proof: they can be drawn before or while the files are proved."""
    early = frozenset(number for number, _ in SHEETS) - SPEAK_OF_THE_PROOF
    return pages_of(result, Style(unit, paper), early)


def sheet_pictures(result: JobResult, unit: LengthUnit, paper: Paper, ppi: float = 100.0) -> list[bytes]:
    """The bench sheets as one PNG a page, to be looked at."""
    style = Style(unit, paper)
    return _set(result, style, pages_of(result, style), ("png", ppi))


def pages_of(result: JobResult, style: Style, numbers: frozenset[int] | None = None) -> Pages:
    """What every page of some sheets says (of all, where none are named), with the name of the sheet that sets it."""
    pages: Pages = []
    for number, module in SHEETS:
        if numbers is not None and number not in numbers:
            continue
        data = module.data(result, style)
        name = module.__name__.rpartition(".")[2]
        pages += [(name, {"number": number, **page}) for page in (data if isinstance(data, list) else [data])]
    return pages


def _set(result: JobResult, style: Style, pages: Pages, form: tuple[Literal["pdf", "png"], float]) -> list[bytes]:
    """The pages set, as a PDF or as one PNG a page at some pixels an inch."""
    kind, ppi = form
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
        "stopped": is_stopped(result),
    }


def is_stopped(result: JobResult) -> bool:
    """True where nobody should cut from these sheets: the files are not proven, or a finding says stop."""
    return result.proof is None or not result.proof.proven or any(f.severity == "stop" for f in result.findings)


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
