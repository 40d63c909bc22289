"""All sheets of a job, in their order, as one PDF."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType, ModuleType
from typing import Any, Literal

import typst

from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.model.proof import Proof
from purfle.sheets import (
    carrying,
    chisel,
    cutting_cards,
    finish,
    fit_trial,
    glue_up,
    looks,
    offcuts,
    outline_cards,
    patterns,
    piece,
    safety,
    seasons,
    show_face,
    template_cards,
    template_patterns,
    thin_parts,
    underside,
)
from purfle.sheets.style import BOTTOM, PAPERS, SIDE, TOP, Style

SHEETS: tuple[tuple[int, ModuleType], ...] = (
    (1, piece),
    (1, carrying),
    (2, show_face),
    (3, underside),
    (4, offcuts),
    (4, thin_parts),
    (5, cutting_cards),
    (5, template_cards),
    (5, outline_cards),
    (6, chisel),
    (7, fit_trial),
    (7, glue_up),
    (7, seasons),
    (8, finish),
    (8, looks),
    (9, safety),
    (10, template_patterns),
    (10, patterns),
)
"""Number and module of every sheet. A module's name is that of its Typst file too."""

BEFORE_THE_PLAN = (carrying, show_face, underside, offcuts, thin_parts, seasons, finish, looks, patterns)
"""Sheets that say nothing of the cutting: they can be drawn as soon as everything has its place."""
SPEAK_OF_THE_PROOF = (cutting_cards, template_cards, outline_cards, fit_trial, glue_up)
"""Sheets that say what the dry fit found: their `with_proof` puts it on a page that was drawn before."""
NOT_OF_A_TRIAL = (carrying, show_face, thin_parts, glue_up, seasons, finish, looks, patterns)
"""Sheets that a fit trial has not: nothing is set out, glued, levelled or cut by hand."""

Page = dict[str, Any]
Pages = list[tuple[str, Page]]


@dataclass(frozen=True, slots=True)
class Draft:
    """Bench sheets drawn but for what the dry fit found. `pages`: what each says, with the sheet that sets it."""

    style: Style
    head: Page
    pages: Pages


def bench_sheets(result: JobResult, unit: LengthUnit, paper: Paper) -> bytes:
    """The bench sheets of a job as one PDF, lengths in `unit`, on `paper`."""
    return sheets_of(draft_of(result, unit, paper), result.proof)


def draft_of(
    result: JobResult, unit: LengthUnit, paper: Paper, drawn: Mapping[str, Pages] = MappingProxyType({})
) -> Draft:
    """The sheets of a job before it is proved. They can be drawn while its files are written and read back.

    `drawn`: pages by their sheet that have been drawn before.
    """
    style = Style(unit, paper)
    pages = [drawn[_name(module)] if _name(module) in drawn else _pages(result, style, module) for _, module in SHEETS]
    return Draft(style, _head(result, style), [page for some in pages for page in some])


def draw_before_the_plan(result: JobResult, unit: LengthUnit, paper: Paper) -> dict[str, Pages]:
    """The pages of those sheets that say nothing of the cutting; `result` need hold no plan yet."""
    style = Style(unit, paper)
    return {_name(module): _pages(result, style, module) for module in BEFORE_THE_PLAN}


def sheets_of(draft: Draft, proof: Proof | None) -> bytes:
    """The sheets as one PDF, with what the dry fit found; without a proof they say so on every page."""
    [pdf] = _set(_proved(draft, proof), ("pdf", 0.0))
    return pdf


def rehearse(draft: Draft) -> None:
    """Sets the draft as it stands. Setting it again takes a moment then: only pages that have changed are set anew."""
    _set(draft, ("pdf", 0.0))


def sheet_pictures(result: JobResult, unit: LengthUnit, paper: Paper, ppi: float = 100.0) -> list[bytes]:
    """The bench sheets as one PNG a page, to be looked at."""
    return _set(_proved(draft_of(result, unit, paper), result.proof), ("png", ppi))


def _proved(draft: Draft, proof: Proof | None) -> Draft:
    """The draft with the outcome of the dry fit on every page that speaks of it."""
    speak = {_name(module): module for module in SPEAK_OF_THE_PROOF}
    pages = [
        (name, speak[name].with_proof(page, proof, draft.style) if name in speak else page)
        for name, page in draft.pages
    ]
    is_stopped = draft.head["stopped"] or proof is None or not proof.proven
    return Draft(draft.style, draft.head | {"stopped": is_stopped}, pages)


def _pages(result: JobResult, style: Style, module: ModuleType) -> Pages:
    """What every page of one sheet says, with the name of the sheet that sets it; nothing yet of the proof."""
    number = next(number for number, one in SHEETS if one is module)
    if result.job.trial is not None and module in NOT_OF_A_TRIAL:
        return []
    data = module.data(result, style)
    pages = data if isinstance(data, list) else [data]
    return [(page.get("set_by", _name(module)), {"number": number, **page}) for page in pages]


def _name(module: ModuleType) -> str:
    return module.__name__.rpartition(".")[2]


def _set(draft: Draft, form: tuple[Literal["pdf", "png"], float]) -> list[bytes]:
    """The pages set, as a PDF or as one PNG a page at some pixels an inch."""
    kind, ppi = form
    sources = dict(typst_sources())
    sources["job.json"] = json.dumps(draft.head, ensure_ascii=False).encode()
    sources["pages.json"] = json.dumps([page for _, page in draft.pages], ensure_ascii=False).encode()
    sources["main.typ"] = _main([name for name, _ in draft.pages]).encode()
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
        "stopped": any(finding.severity == "stop" for finding in result.findings),
    }


def shortened(text: str, most: int) -> str:
    """The text, or its beginning and an ellipsis."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _main(names: list[str]) -> str:
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
def typst_sources() -> tuple[tuple[str, bytes], ...]:
    """The Typst files of this package."""
    files = sorted(
        (f for f in resources.files("purfle.sheets").iterdir() if f.name.endswith(".typ")), key=lambda f: f.name
    )
    return tuple((f.name, f.read_bytes()) for f in files)
