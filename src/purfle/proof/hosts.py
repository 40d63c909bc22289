"""One over another: what is let into inserts that are glued in and levelled, put together in the planned order.

First state: the board with its inserts. A recess of a later order is cut into that, so there has to be wood all over
it, deep enough, at the time when it is cut.
"""

from collections.abc import Collection, Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.assembling import KINDS, part_in_place, recess_in_place
from purfle.proof.card import Card, InlayOnCard
from purfle.proof.found import stop
from purfle.proof.regions import grown, inside, only_wood, polygons
from purfle.proof.walls import Accounts
from purfle.tolerances import DEPTH_LISTED, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with these"
_LAP = 0.5
"""An insert with tapered walls reaches so far, mm, under what is let in later (docs/method/tapered-walls.md)."""


def check_hosts(card: Card, accounts: dict[int, Accounts], empty: Collection[str] = ()) -> list[Finding]:
    """Every inlay that is let into another: cut after it, wholly in its wood, and not through it.

    `empty`: names of inlays for which it is told that places of theirs stay empty; what is to be let into these places
    has no wood for that reason alone, and is not told once more.
    """
    findings = _mixed(card)
    for inlay in card.inlays:
        if inlay.into:
            host = card.inlay(inlay.into)
            findings += _too_early(card, inlay, host)
            if inlay.walls is not None:
                findings += _over_what_is_seen(card, inlay, accounts)
            if inlay.walls is None:  # with tapered walls it goes into the board beside it, and only its edge into it
                findings += _through(inlay, host, accounts[inlay.set_up])
                findings += _beside_its_wood(card, inlay, accounts, empty)
    return findings


def _mixed(card: Card) -> list[Finding]:
    """One clamping of the board holds one order of letting in: between two of them there is glue to dry."""
    orders: dict[int, dict[int, str]] = {}
    for fitting in card.fittings:
        orders.setdefault(fitting.set_up, {})[1] = fitting.name
    for inlay in card.inlays:
        orders.setdefault(inlay.set_up, {})[inlay.order] = inlay.name
    return [
        stop(
            f"'{names[max(names)]}' is cut in one set-up with '{names[min(names)]}', which has to be glued in before",
            f"set-up {number} ({card.set_up(number).title})",
            _MEND,
        )
        for number, names in orders.items()
        if len(names) > 1
    ]


def _too_early(card: Card, inlay: InlayOnCard, host: InlayOnCard) -> list[Finding]:
    """The recess is cut when its host is in: its host's recess and parts are cut before."""
    numbers = [set_up.number for set_up in card.set_ups]
    before = {host.set_up, *(part.set_up for part in host.parts)}
    late = [number for number in sorted(before) if numbers.index(number) > numbers.index(inlay.set_up)]
    if not late:
        return []
    what = f"the recess for '{inlay.name}' is cut before '{host.name}', into which it is let, can be glued in"
    where = f"set-up {inlay.set_up} stands before set-up {late[0]} ({card.set_up(late[0]).title})"
    return [stop(what, where, _MEND)]


def _through(inlay: InlayOnCard, host: InlayOnCard, accounts: Accounts) -> list[Finding]:
    """Levelled flush, the host is as thick as its recess is deep, less the glue room below it."""
    lines = accounts.cut.lines if accounts.cut else {}
    as_cut = [(lines[line].depth, lines[line].most) for line in inlay.lines if line in lines]
    depth, region = max(as_cut, key=lambda one: one[0], default=(inlay.depth, shapely.MultiPolygon()))
    left = host.depth - host.glue_room - depth
    if left > DEPTH_LISTED:
        return []
    what = f"the recess for '{inlay.name}' is cut {depth:.2f} mm deep and comes through '{host.name}'"
    thick = f"'{host.name}' is {host.depth - host.glue_room:.2f} mm thick when it is levelled"
    place = None if region.is_empty else accounts.set_up.to_board.point(*inside(region))
    return [stop(f"{what}: {thick}", f"inlay '{inlay.name}', set-up {inlay.set_up}", _MEND, place)]


def _beside_its_wood(
    card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts], empty: Collection[str]
) -> list[Finding]:
    """By every kind of file, the recess lies in inserts that are there when it is cut."""
    found = []
    for kind in KINDS:
        recess = recess_in_place(inlay, accounts[inlay.set_up], kind)
        parts = _parts_below(card, inlay, accounts, kind)
        if recess is None or parts is None:
            continue  # what is missing was reported where it was missed
        told = [recess_in_place(one, accounts[one.set_up], kind) for one in _below(card, inlay) if one.name in empty]
        wanted = recess[1].difference(shapely.union_all([sizes[1] for sizes in told if sizes is not None]))
        beside = only_wood(wanted.difference(_glued(parts, inlay.seam, recess[1])))
        if not beside.is_empty:
            place = inside(max(polygons(beside), key=lambda part: float(part.area)))
            what = f"the recess for '{inlay.name}' is cut beside the wood that it is to be let into"
            where = f"inlay '{inlay.name}', {kind}, at {place[0]:.2f}, {place[1]:.2f} mm on the board"
            found.append(stop(f"{what}, {beside.area:.3f} mm2 of it", where, _MEND, place))
    return found


def _over_what_is_seen(card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts]) -> list[Finding]:
    """With tapered walls what is let in before reaches a little under the later recess; all else of it is to be seen.

    No disc wider than both laps together lies in what the two share: a strip along the edge of the later recess.
    """
    found = []
    earlier = [one for one in card.inlays if one.walls and one.face == inlay.face and one.order < inlay.order]
    for kind in ("svg", "dxf"):
        recess = recess_in_place(inlay, accounts[inlay.set_up], kind)
        for part in (part for one in earlier for part in one.parts if recess is not None and not part.spare):
            sizes = part_in_place(part, accounts[part.set_up], kind)
            if recess is None or sizes is None:
                continue  # what is missing was reported where it was missed
            shared = recess[1].intersection(sizes[1])
            lost = only_wood(grown(shared, -(_LAP + DEPTH_LISTED)))
            if not lost.is_empty:
                place = inside(max(polygons(lost), key=lambda one: float(one.area)))
                what = (
                    f"the recess for '{inlay.name}' takes {shared.area:.2f} mm2 of what is to be seen of {part.label}"
                )
                by = accounts[inlay.set_up].set_up
                where = f"{by.svg if kind == 'svg' else by.dxf}, at {place[0]:.2f}, {place[1]:.2f} mm on the board"
                found.append(stop(what, where, _MEND, place))
    return found


def _below(card: Card, inlay: InlayOnCard) -> Iterator[InlayOnCard]:
    """What an inlay is let into, and what that is let into, down to the board."""
    while inlay.into:
        inlay = card.inlay(inlay.into)
        yield inlay


def _parts_below(card: Card, inlay: InlayOnCard, accounts: dict[int, Accounts], kind: str) -> list[BaseGeometry] | None:
    """The parts of all orders before, at their smallest."""
    parts: list[BaseGeometry] = []
    for below in _below(card, inlay):
        for part in below.parts:
            if not part.spare:
                sizes = part_in_place(part, accounts[part.set_up], kind)
                if sizes is None:
                    return None
                parts.append(sizes[0])
    return parts


def _glued(parts: list[BaseGeometry], seam: float, near: BaseGeometry) -> BaseGeometry:
    """The parts about a region glued together: seams between them count as wood. What lies further off adds nothing."""
    about = np.array(parts, object)
    about = about[shapely.dwithin(about, near, 2.0 * seam + SIDE_AS_CUT)]
    return grown(grown(shapely.union_all(about), seam), SIDE_AS_CUT - seam)
