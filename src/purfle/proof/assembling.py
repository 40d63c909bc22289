"""From set-ups to inlays: parts moved to their places, spares held against originals, how far parts stand proud."""

from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.model.proof import SeamReadBack
from purfle.proof.card import Card, InlayOnCard, PartOnCard
from purfle.proof.chiselled import check_corners, check_reaches, pared
from purfle.proof.empty_places import empty_places, tell_empty
from purfle.proof.found import look, stop
from purfle.proof.regions import Sandwich
from purfle.proof.seams import Together, limit, put_together
from purfle.proof.walls import Accounts
from purfle.tolerances import DEPTH_AS_CUT, SIDE_AS_CUT

KINDS = ("programs", "svg", "dxf")
_MEND = "write the files again from the job; do not cut with these"
Sizes = tuple[BaseGeometry, BaseGeometry]
"""A region at its least and at its most over the height of the wood."""


def check_inlay(
    card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts]
) -> tuple[list[SeamReadBack], list[Finding]]:
    """One inlay put together three times: from the programs, from the SVG files, from the DXF files."""
    findings = [*_proud(card, inlay), *check_corners(inlay, accounts[inlay.set_up])]
    kinds: list[Together] = []
    spares: list[Finding] = []
    for kind in KINDS:
        if kind == "dxf" and kinds and kinds[-1].kind == "svg" and not spares and _held_once(inlay, accounts):
            kinds.append(replace(kinds[-1], kind=kind))
            continue
        recess = recess_in_place(inlay, accounts[inlay.set_up], kind)
        parts = [part_in_place(part, accounts[part.set_up], kind) for part in inlay.parts]
        if recess is None or any(part is None for part in parts):
            # what is missing was reported where it was missed
            continue
        whole = [(p, sizes) for p, sizes in zip(inlay.parts, parts, strict=True) if sizes is not None]
        originals = [(p, s) for p, s in whole if not p.spare]
        sizes_of_parts = [sizes for _, sizes in originals]
        cut = accounts[inlay.set_up].cut
        if kind == "programs" and cut is not None:
            findings += check_reaches(inlay, recess[0], sizes_of_parts, cut.smallest_radius)
        recess = pared(inlay, recess, sizes_of_parts)
        kinds.append(_together(inlay, _told(card, kind), recess, originals))
        spares = _spares(inlay, kind, whole)
        findings += spares
    seams, found = _put_together(kinds, all_cut_are_placed(card, accounts))
    return seams, findings + found


def _told(card: Card, kind: str) -> str:
    """What is read back from the walls as cut: programs, templates, passes by hand, or patterns."""
    by_hand = {"templates": "templates", "guided router": "passes", "knife and saw": "patterns"}
    return by_hand.get(card.way, kind) if kind == "programs" else kind


def _held_once(inlay: InlayOnCard, accounts: dict[int, Accounts]) -> bool:
    """Whether the SVG and the DXF files say the very same of everything in an inlay."""
    lines = [(inlay.set_up, line) for line in inlay.lines] + [(part.set_up, part.line) for part in inlay.parts]
    regions = [[accounts[number].region(kind, line) for kind in ("svg", "dxf")] for number, line in lines]
    return all(svg is not None and svg is dxf for svg, dxf in regions)


def all_cut_are_placed(card: Card, accounts: dict[int, Accounts]) -> bool:
    """False where a part is cut that the card gives no place: then the card is at fault, not a want of wood."""
    parts = [part for inlay in card.inlays for part in inlay.parts]
    placed = {(part.set_up, line) for part in parts for line in (part.line, part.plate) if line}
    cut: set[tuple[int, str]] = set()
    for number, account in accounts.items():
        if account.set_up.cuts_parts:
            drawn = [outlines.lines for outlines in (account.svg, account.dxf) if outlines]
            cut |= {(number, line) for lines in drawn for line in lines}
            cut |= {(number, line.id) for line in account.set_up.lines}
    return cut <= placed


def _put_together(kinds: list[Together], all_placed: bool) -> tuple[list[SeamReadBack], list[Finding]]:
    """Every kind put together; a place that all of them leave empty is told once, and not as a bad seam."""
    results = _each(kinds, MultiPolygon())
    seams = [seam for seam, _ in results if seam]
    # a part that lies in the wrong place leaves a hole too, but it lies in other wood
    sound = all_placed and not any(seam.interference_area for seam in seams)
    open_everywhere = kinds and all(seam.widest > limit(one) for seam, one in zip(seams, kinds, strict=True))
    empty = empty_places(kinds) if open_everywhere and sound else MultiPolygon()
    if empty.is_empty:
        return seams, [finding for _, found in results for finding in found]
    results = _each(kinds, empty)
    found = [tell_empty(kinds[0].inlay, empty), *(finding for _, of_kind in results for finding in of_kind)]
    return [seam for seam, _ in results if seam], found


def _each(kinds: list[Together], empty: BaseGeometry) -> list[tuple[SeamReadBack | None, list[Finding]]]:
    """The seam of every kind; where two are held as one and nothing is wrong, it is measured once."""
    results: list[tuple[SeamReadBack | None, list[Finding]]] = []
    for index, one in enumerate(kinds):
        before = kinds[index - 1] if index else None
        if before and one.tight is before.tight and results[-1][0] and not results[-1][1]:
            results.append((replace(results[-1][0], kind=one.kind), []))
        else:
            results.append(put_together(one, empty))
    return results


def _together(inlay: InlayOnCard, kind: str, recess: Sizes, parts: list[tuple[PartOnCard, Sizes]]) -> Together:
    least = tuple(sizes[0] for _, sizes in parts)
    most = tuple(sizes[1] for _, sizes in parts)
    labels = tuple(part.label for part, _ in parts)
    return Together(inlay.name, kind, inlay.seam, labels, (recess[0], most), (recess[1], least))


def recess_in_place(inlay: InlayOnCard, accounts: Accounts, kind: str) -> Sizes | None:
    """The recess of an inlay in the board frame, None where a line of it could not be read."""
    lines = [_sizes(accounts, kind, line) for line in inlay.lines]
    found = [sizes for sizes in lines if sizes is not None]
    if len(found) < len(lines) or not found:
        return None
    pose = accounts.set_up.to_board
    most = pose.region(shapely.union_all([sizes[1] for sizes in found]))
    same = all(sizes[0] is sizes[1] for sizes in found)
    return (most if same else pose.region(shapely.union_all([sizes[0] for sizes in found]))), most


def part_in_place(part: PartOnCard, accounts: Accounts, kind: str) -> Sizes | None:
    """A part in its place in the board frame, None where its line could not be read."""
    sizes = _sizes(accounts, kind, part.line)
    if sizes is None:
        return None
    most = part.to_board.region(sizes[1])
    return (most if sizes[0] is sizes[1] else part.to_board.region(sizes[0])), most


def _sizes(accounts: Accounts, kind: str, line: str) -> Sizes | None:
    """A line's region by one kind of file; an empty one counts as missing."""
    if kind != "programs":
        region = accounts.region(kind, line)
        return None if region is None or region.is_empty else (region, region)
    cut = accounts.cut.lines.get(line) if accounts.cut else None
    return None if cut is None or cut.most.is_empty or cut.least.is_empty else (cut.least, cut.most)


def _spares(inlay: InlayOnCard, kind: str, parts: list[tuple[PartOnCard, Sizes]]) -> list[Finding]:
    """A spare must be its original, turned and moved."""
    originals = {part.number: sizes for part, sizes in parts if not part.spare}
    found = []
    for part, sizes in parts:
        if not part.spare:
            continue
        where = f"inlay '{inlay.name}', {part.label}, {kind}, line '{part.line}' of set-up {part.set_up}"
        original = originals.get(part.number)
        if original is None:
            found.append(stop("a spare has no part that it could stand in for", where, _MEND))
        elif not Sandwich(original[1], 2 * SIDE_AS_CUT).difference(sizes[1]).nothing:
            place = tuple(np.round(original[1].centroid.coords[0], 3))
            found.append(stop("a spare is not like its part", where, _MEND, (float(place[0]), float(place[1]))))
    return found


def _proud(card: Card, inlay: InlayOnCard) -> list[Finding]:
    """How far each part will stand above the face: the stock's thickness and the glue below it, less the depth."""
    found = []
    for part in inlay.parts:
        stock = card.set_up(part.set_up)
        stands = stock.part_thickness + inlay.glue_room - inlay.depth
        where = f"inlay '{inlay.name}', {part.label}, from {stock.stock}"
        mend = "take a thicker offcut or a shallower recess, and write the files again"
        if stands < -DEPTH_AS_CUT:
            what = f"the part will lie {-stands:.2f} mm below the face: it is {stock.part_thickness:.2f} mm thick"
            found.append(stop(what, where, mend))
        elif stands < inlay.proud - DEPTH_AS_CUT:
            what = f"the part will stand {stands:.2f} mm proud, not {inlay.proud:.2f} mm"
            found.append(look(what, where, mend))
    return found
