"""What a hand answers: the coarse and the exact document of a job, or the faults that it has."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from purfle.errors import Fault, PurfleError
from purfle.files.job_folder import read_job_folder
from purfle.foreseen import Asked, Glimpse, foresee, glimpse
from purfle.model.findings import Finding
from purfle.model.shop import Shop
from purfle.web import drawn
from purfle.web.docket import docket_of
from purfle.web.docket.wording import Seen, mark_of
from purfle.web.shelf import Shelf

VERSION = 1
"""Of the document; `docs/page.schema.json` describes it."""
Document = dict[str, Any]


def coarse(folder: Path, text: str, shelf: Shelf) -> Document:
    """The job with whatever is known of it at once. Raises PurfleError where its file cannot be used."""
    return coarse_of(asked_of(folder, text), shelf)


def asked_of(folder: Path, text: str) -> Asked:
    """The job as its file is to be, with its fingerprints. Raises PurfleError where it cannot be used."""
    return Asked.of(*read_job_folder(folder, text.encode()))


def coarse_of(asked: Asked, shelf: Shelf) -> Document:
    """The same of a job that has been read."""
    return _at_once(glimpse(asked, shelf), asked.shop)


def exact(folder: Path, text: str, shelf: Shelf) -> Document:
    """The job with everything that can be known before its files are written.

    One that cannot be made is drawn as far as it is known, its faults as findings that say stop.
    """
    asked = asked_of(folder, text)
    try:
        result = foresee(asked, shelf)
    except PurfleError as refusal:
        known = replace(glimpse(asked, shelf), faults=refusal.faults)
        return _at_once(known, asked.shop) | {"answer": "exact"}
    made = drawn.of_result(result)
    seen = Seen(result.job, asked.shop, result.findings, tuple(made["pieces"]), result.layout, result)
    return _document("exact", seen, made)


def _at_once(known: Glimpse, shop: Shop) -> Document:
    job = known.job
    if known.layout is not None:
        made = drawn.of_layout(job, shop, known.layout, None)
        findings = known.layout.findings
    else:
        pieces = drawn.areas_of(job, known.design) if known.design is not None else []
        made, findings = drawn.of_areas(job, shop, pieces), ()
    findings += tuple(Finding("stop", one.what, one.where, one.mend, "board") for one in known.faults)
    seen = Seen(job, shop, findings, tuple(made["pieces"]), known.layout)
    return _document("coarse", seen, made) | {"faults": faults_told(known.faults)}


def _document(answer: str, seen: Seen, made: Document) -> Document:
    job = seen.job
    head = {"version": VERSION, "answer": answer, "mark": mark_of(seen.findings)}
    named = {"name": job.name, "slug": job.slug, "unit": job.unit, "paper": job.paper, "change": job.change}
    findings = [_finding(one) for one in seen.findings]
    return {**head, "job": named, **made, "findings": findings, "docket": docket_of(seen), "faults": []}


def _finding(one: Finding) -> Document:
    told = {"severity": one.severity, "what": one.what, "where": one.where, "mend": one.mend, "stage": one.stage}
    return {**told, "place": None if one.place is None else [round(c, 2) for c in one.place]}


def faults_told(faults: tuple[Fault, ...]) -> list[Document]:
    """Faults as the page has them: what, where, mend, and the key of the job file that they are bound to."""
    return [{"what": one.what, "where": one.where, "mend": one.mend, "key": _key(one.where)} for one in faults]


def _key(where: str) -> str:
    """The dotted key that a place like "job.toml, line 12, fitting[1].depth" names; empty if none."""
    last = where.rpartition(", ")[2]
    return "" if " " in last or last.endswith(".toml") else last
