"""Papers that are no bench sheets: time and money for the shop alone, the quote for its customer. One PDF each."""

import json
from typing import Any

import typst

from purfle.model.job import JobResult, LengthUnit, Paper
from purfle.sheets import quote, time_and_money
from purfle.sheets.book import shortened, typst_sources
from purfle.sheets.style import PAPERS, SIDE, Style

TOP, BOTTOM = 26.0, 15.0
"""Margins of these papers: head and foot stand in them."""


def papers_of(result: JobResult, unit: LengthUnit, paper: Paper) -> dict[str, bytes]:
    """Both papers by file name; none of a job that is not reckoned. The same job gives the same bytes."""
    if result.reckoning is None:
        return {}
    style = Style(unit, paper)
    pages = {
        "time-and-money": ("time_and_money", time_and_money.data(result, style)),
        "quote": ("quote", [quote.data(result, style)]),
    }
    return {f"{result.job.slug}-{name}.pdf": _set(result, style, *one) for name, one in pages.items()}


def _set(result: JobResult, style: Style, sheet: str, pages: list[dict[str, Any]]) -> bytes:
    sources = dict(typst_sources())
    head = {
        "name": shortened(result.job.name, 90),
        "change": result.job.change,
        "paper": PAPERS[style.paper],
        "side": SIDE,
        "top": TOP,
        "bottom": BOTTOM,
    }
    sources["job.json"] = json.dumps(head, ensure_ascii=False).encode()
    sources["pages.json"] = json.dumps(pages, ensure_ascii=False).encode()
    sources["main.typ"] = (
        f'#import "papers.typ": papers\n#import "{sheet}.typ": draw\n'
        '#papers(json("job.json"), json("pages.json"), draw)'
    ).encode()
    compiler: Any = typst.compile
    return bytes(compiler(sources, ignore_system_fonts=True, format="pdf"))
