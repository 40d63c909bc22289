"""`purfle make` and `purfle prove`."""

import contextlib
import ctypes
import gc
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path

from purfle.cli.telling import Progress, count, stopped, tell_findings
from purfle.files.folder import check_place, write_all
from purfle.files.job_folder import read_job_folder
from purfle.mate import Mate
from purfle.model.chances import FitChance
from purfle.model.findings import Finding
from purfle.model.job import Job, JobResult, LengthUnit
from purfle.model.proof import Proof, SeamReadBack
from purfle.model.shop import Shop
from purfle.units import figure, out_of_100

_TRIM_ABOVE = (-1, 32 << 20)
"""M_TRIM_THRESHOLD: so many bytes at the end of the heap may lie unused."""
_MAP_ABOVE = (-3, 8 << 20)
"""M_MMAP_THRESHOLD: larger arrays are asked of the system one by one, and given back at once."""
DRAWING = ("purfle.sheets", "purfle.files.outline_dxf")
"""What only the mate loads, while the first process reads the picture."""


def make(arguments: Namespace) -> int:
    """Do the whole job and write it; 0 proven, 1 if a finding says stop."""
    if arguments.out:
        check_place(Path(arguments.out))
    wanted, shop = read_job_folder(Path(arguments.job))
    out = Path(arguments.out) if arguments.out else wanted.folder / "made"
    compared = _compared(wanted, shop) if arguments.cutters else {}
    with Progress() as progress:
        progress("starting")
        from purfle import job

        _clear_up_seldom()
        # with all that is loaded so far the second process is there at once
        with Mate(*DRAWING, fork=True) as mate:
            result, files = job.make_of(wanted, shop, progress, mate, compared)
        progress("writing")
        write_all(out, files)
    findings = job.said_once(result)
    print(f"{result.job.name}, change {result.job.change}: {_parts(result)}.")
    for words in _over(result):
        print(words)
    tell_findings(findings)
    status = tell_proof(result.proof, findings, result.job.unit, result.chances)
    _tell_files(out, files)
    gc.freeze()  # nothing is looked through for unused memory on the way out
    return status


def _compared(wanted: Job, shop: Shop) -> dict[str, bytes]:
    """Every cutter of the shop tried and told, before the job is made with the one that it names."""
    from purfle.cli import cutters

    with Progress() as progress:
        choice, files = cutters.of_job(wanted, shop, progress)
    for line in cutters.told(choice, wanted.name, wanted.unit):
        print(line)
    print()
    return files


def _clear_up_seldom() -> None:
    """Looks for unused memory less often: a job makes many small things and few that only that search would free.

    And what was freed is kept to be used again, a few MB, instead of being given back to the system and asked for anew,
    page by page. The C library of Linux has knobs for that (`man mallopt`); elsewhere nothing is done.
    """
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            turn = ctypes.CDLL(None).mallopt
            for knob in (_TRIM_ABOVE, _MAP_ABOVE):
                turn(*knob)


def prove(arguments: Namespace) -> int:
    """The dry fit of the files in a folder; 0 proven, 1 if not."""
    with Progress() as progress:
        progress("putting the parts together from the files")
        from purfle import job

        proof, unit = job.prove(Path(arguments.folder))
    tell_findings(proof.findings)
    return tell_proof(proof, proof.findings, unit)


def tell_proof(
    proof: Proof | None, findings: Sequence[Finding], unit: LengthUnit, chances: Sequence[FitChance] = ()
) -> int:
    """The outcome of the dry fit in a few lines, and the exit status that belongs to it.

    `chances`: what tolerances say of inlays, told beside their seam.
    """
    for seams in _by_inlay(proof.seams if proof else ()):
        kinds = ", ".join(seam.kind for seam in seams)
        narrow, wide = min(seam.narrowest for seam in seams), max(seam.widest for seam in seams)
        drawn, least, most = (figure(mm, unit, "seam") for mm in (seams[0].drawn, narrow, wide))
        share = f"{100 * min(seam.share_within for seam in seams):.1f} % of it as drawn"
        print(f"Seam of {seams[0].inlay}: {drawn} drawn; read back {least} to {most}, {share} ({kinds}).")
        for chance in (one for one in chances if one.inlay == seams[0].inlay):
            print(f"  {tell_chance(chance, unit)}")
    if proof and proof.least_wood_left is not None:
        print(f"Least wood left under a recess: {figure(proof.least_wood_left, unit, 'depth')}.")
    if proof is None or not proof.proven or stopped(findings):
        print("NOT PROVEN. Do not cut: a finding says stop." if stopped(findings) else "NOT PROVEN. Do not cut.")
        return 1
    print("Proven: every part, read back from the files, goes together.")
    return 0


def tell_chance(chance: FitChance, unit: LengthUnit) -> str:
    """How likely an inlay goes in by hand and how wide its seam will be, and what nobody has measured."""
    widest = figure(chance.widest, unit, "seam")
    words = f"Goes in by hand in {out_of_100(chance.by_hand)} cases, at most {widest} wide in 95 of 100"
    return words + ("; tolerances assumed." if any(cause.is_assumed for cause in chance.causes) else ".")


def _by_inlay(seams: tuple[SeamReadBack, ...]) -> list[list[SeamReadBack]]:
    """The seams read back from the several kinds of files, together for each inlay."""
    return [[seam for seam in seams if seam.inlay == name] for name in dict.fromkeys(seam.inlay for seam in seams)]


def _parts(result: JobResult) -> str:
    """How many of what."""
    pictures = [inlay for inlay in result.layout.inlays if inlay.kind != "key"]
    pieces = [insert for inlay in pictures for insert in inlay.fit.inserts]
    keys = sum(inlay.kind == "key" for inlay in result.layout.inlays)
    words = [f"{count(len(pieces), 'piece')} of {count(len({piece.wood for piece in pieces}), 'wood')}"]
    words += [count(keys, "butterfly key")] if keys else []
    words += [count(len(result.job.fittings), "fitting")] if result.job.fittings else []
    words += [f"{count(len(result.layout.holes), 'hole')} to drill"] if result.layout.holes else []
    return ", ".join(words)


def _over(result: JobResult) -> Iterator[str]:
    """What is let in over another insert, after which, and who chose it."""
    # keys are numbered on their own, and nothing is let into them
    first = [inlay for inlay in result.layout.inlays if not inlay.into and inlay.kind == "picture"]
    inserts = {insert.number: insert for inlay in first for insert in inlay.fit.inserts}
    choices = [choice for inlay in result.layout.inlays for choice in inlay.fit.choices]
    chosen = {choice.name: choice for choice in choices}
    beside = [one for one in choices if one.way == "beside" and one.by == "rule"]
    yield from (f"Let in beside: {one.name}; {one.why}." for one in beside)
    for inlay in result.layout.inlays:
        if inlay.into:
            inserts |= {insert.number: insert for insert in inlay.fit.inserts}
            depth = figure(inlay.depth, result.job.unit, "depth")
            if inlay.fit.walls is not None:
                named = ", ".join(f"{insert.name} ({insert.number})" for insert in inlay.fit.inserts)
                yield f"Let in later: {named}, {depth} deep, when all before is glued in and level."
                continue
            for insert in inlay.fit.inserts:
                hosts = " and ".join(f"{inserts[number].name} ({number})" for number in insert.hosts)
                choice = chosen.get(insert.name)
                by = f"; {choice.why}" if choice else ""
                yield f"Let in over: {insert.name} ({insert.number}) into {hosts}, {depth} deep, when level{by}."


def _tell_files(out: Path, files: dict[str, bytes]) -> None:
    """Where everything lies."""
    sheets = [name for name in files if name.endswith("-bench-sheets.pdf")]
    programs = [name for name in files if name.endswith(".nc")]
    outlines = [name for name in files if name.endswith(".dxf")]
    for name in sheets:
        print(f"Bench sheets: {out / name}")
    for name in (name for name in files if name.endswith("-time-and-money.pdf")):
        print(f"Time and money, for the shop alone: {out / name}")
    for name in (name for name in files if name.endswith("-quote.pdf")):
        print(f"Quote for the customer: {out / name}")
    for name in (name for name in files if "-doubts" in name):
        print(f"Areas over their picture, doubtful places marked: {out / name}")
    templates = [name for name in outlines if "-template-" in name]
    if not programs and not templates:
        print(f"To cut by hand: {count(len(outlines), 'outline file')}")
    elif templates:
        lines = count(len(outlines) - len(templates), "file of finished lines", "files of finished lines")
        print(f"To cut by hand: {count(len(templates), 'template')} and {lines}")
    else:
        print(f"For the machine: {count(len(programs), 'program')} (.nc) and {count(len(outlines), 'outline file')}")
    print(f"  (.dxf, and the same as .svg), all in {out}")
    print(f"Figures: {out / 'report.json'}")
