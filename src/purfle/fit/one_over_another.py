"""Fits in the order of letting in: first what goes into the board, then what goes into that, and so on.

Each later fit has the inserts before it as its ground: its recess is cut into them, so it must lie wholly in their
wood. Where the pieces left no such wood, the spot goes side by side with the others after all, and that is said.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count, pairwise

from purfle.errors import Fault, FitError
from purfle.fit.cells import middle, where
from purfle.fit.letting_in import let_in
from purfle.fit.making import make_pieces
from purfle.fit.ordering import Order, Refusal, Wish, order_of
from purfle.geometry.offsetting import Region, closing, polygons, union_of
from purfle.geometry.partition import shared, without
from purfle.mate import ALONE, Mate
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Fit, FitRule, Insert, OrderChoice

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Seat:
    """One recess that is cut into inserts: a place in it and its order.

    `rim`: the wood of one host that is left all round it, 0 where it runs into others. `stands`: in wood all over.
    """

    place: Place
    order: int
    rim: float
    stands: bool


def let_in_order(
    areas: Sequence[DrawnArea], rule: FitRule, wishes: Sequence[Wish] = (), mate: Mate = ALONE
) -> tuple[Fit, ...]:
    """The fit of each order of letting in, the first one let into the board. Numbers run through all of them.

    `wishes`: which areas shall be let in over another or beside, by name or by a point inside. `mate` helps where it
    can. Raises FitError where a fit cannot be made, JobFileError where a wish cannot be.
    """
    refused: tuple[Refusal, ...] = ()
    later = replace(rule, corner_wishes=())  # single corners are named of what is let into the board
    while True:
        order = order_of(areas, rule, wishes, refused)
        over = [mate.share(_fit, layer, later) for layer in order.layers[1:]]
        fits = (*(_fit(layer, rule, mate) for layer in order.layers[:1]), *(one() for one in over))
        narrow = [seat for seat in _seats(fits) if seat.rim < rule.thinnest]
        chosen = [(seat, order.over_at(seat.place, seat.order)) for seat in narrow]
        again = tuple((choice.place, _why(seat)) for seat, choice in chosen if choice.by == "rule")
        if not again:
            _refuse([choice for seat, choice in chosen if not seat.stands])
            return _numbered_through(fits, order, [_finding(seat, choice) for seat, choice in chosen])
        refused += again


def _fit(areas: tuple[DrawnArea, ...], rule: FitRule, mate: Mate = ALONE) -> Fit:
    return let_in(make_pieces(areas, rule, mate), rule)


def _seats(fits: Sequence[Fit]) -> Iterator[_Seat]:
    """Every recess of a later order, with what the inserts right below it leave of wood."""
    for order, (below, fit) in enumerate(pairwise(fits), 2):
        wood = _wood_of(below.inserts, fit.rule)
        for part in polygons(fit.recess):
            holding = [one.region for one in below.inserts if one.region.covers(part)]
            rim = min((float(part.distance(one.boundary)) for one in holding), default=0.0)
            yield _Seat(middle(part), order, rim, without(part, wood).is_empty)


def _wood_of(inserts: Sequence[Insert], rule: FitRule) -> Region:
    """Inserts as one wood, the glued seams between them filled."""
    return closing(union_of([insert.region for insert in inserts]), rule.seam)


def _why(seat: _Seat) -> str:
    if not seat.rim:
        return "let in over, it would not lie wholly in its host as that can be made"
    return f"let in over, only {seat.rim:.1f} mm of its host would be left beside it"


def _refuse(wished: Sequence[OrderChoice]) -> None:
    """Where the job itself asks for over, the rule must not decide otherwise."""
    faults = [
        Fault(
            f'"{choice.name}" cannot be let in over another: the pieces leave it no wood to lie in',
            where(choice.place),
            f'write "{choice.name}" = "beside" in the table [order], or draw it smaller or further inside its host',
        )
        for choice in wished
    ]
    if faults:
        raise FitError.of(faults)


def _finding(seat: _Seat, choice: OrderChoice) -> Finding:
    what = f'only {seat.rim:.1f} mm of the host is left beside "{choice.name}" where that is let in; it may break out'
    mend = f'write "{choice.name}" = "beside" in the table [order], or draw it further inside its host'
    return Finding("look", what, where(seat.place), mend, "fit")


def _numbered_through(fits: Sequence[Fit], order: Order, findings: Sequence[Finding]) -> tuple[Fit, ...]:
    """Numbers and names that occur once in the whole design; each later insert knows its hosts."""
    findings = [*fits[0].pieces.findings, *findings]
    done: list[Fit] = []
    before: list[Insert] = []
    for number, fit in enumerate(fits, 1):
        names = _names(fit, {insert.name for insert in before})
        start = len(before)
        pieces = tuple(
            replace(piece, number=start + piece.number, name=name)
            for piece, name in zip(fit.pieces.pieces, names, strict=True)
        )
        inserts = tuple(
            replace(insert, number=start + insert.number, name=name, hosts=_hosts(insert, fit, done))
            for insert, name in zip(fit.inserts, names, strict=True)
        )
        choices = order.choices if number == 1 else ()
        noticed = tuple(findings) if number == 1 else fit.pieces.findings
        made_of = replace(fit.pieces, pieces=pieces, findings=noticed)
        made = replace(fit, pieces=made_of, inserts=inserts, order=number, choices=choices)
        done.append(made)
        before += inserts
    return tuple(done)


def _names(fit: Fit, taken: set[str]) -> list[str]:
    names = []
    for insert in fit.inserts:
        name, parts = insert.name, count(2)
        while name in taken:
            name = f"{insert.name}, part {next(parts)}"
        taken.add(name)
        names.append(name)
    return names


def _hosts(insert: Insert, fit: Fit, before: Sequence[Fit]) -> tuple[int, ...]:
    """The inserts that its recess is cut into: the last ones that were let in before it at that place."""
    recess: Region = next((part for part in polygons(fit.recess) if part.intersects(insert.region)), insert.region)
    hosts: list[int] = []
    for lower in reversed(before):
        held = [one for one in lower.inserts if not shared(one.region, recess).is_empty]
        hosts += [one.number for one in held]
        recess = without(recess, _wood_of(held, fit.rule)) if held else recess
        if recess.is_empty:
            break
    return tuple(sorted(hosts))
