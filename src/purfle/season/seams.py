"""Every seam of an inlay through the year: how far apart its two sides come, place by place."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from purfle.model.season import SEASONS, Fitted, SeamAtWorst, SeasonName
from purfle.season.bodies import Body, Reals, Sides

Moistures = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Year:
    """One way through the year: from how it was fitted to one season of the place; moistures before and after."""

    season: SeasonName
    board: Moistures
    parts: Moistures


def years_of(fitted: Sequence[Fitted], there: dict[SeasonName, float]) -> list[Year]:
    """Every way through the year."""
    return [
        Year(season, (one.board, there[season]), (one.parts, there[season])) for one in fitted for season in SEASONS
    ]


def seam_through_the_year(
    insert: Body, sides: Sides, around: tuple[Body, list[Body | None]], years: list[Year], ground_is_part: bool = False
) -> tuple[SeamAtWorst, SeamAtWorst]:
    """By how much the seam of an insert changes where it closes most, and where it opens most; `width` is that change.

    `around`: its ground, and all inserts of its inlay by the numbers in `sides`. An insert stays about the middle that
    it had on its ground. At a place p of the outline, n out of the insert, the sides come apart by
    n (E_g - E_i)(p - m_i) against the ground, by n (E_j (p - m_j) - E_i (p - m_i) + E_g (m_j - m_i)) against insert j;
    E: growth as a tensor, m: middle (derived here). Where the cut is not known each term is taken at its worse.
    """
    changes = [_changes(insert, sides, around, year, ground_is_part) for year in years]
    numbers = [0 if one < 0 else one + 1 for one in sides.across.tolist()]

    def worst(values: list[Reals], sign: float) -> SeamAtWorst:
        best = max(range(len(years)), key=lambda year: float((sign * values[year]).max()))
        place = int((sign * values[best]).argmax())
        x, y = sides.places[place].tolist()
        return SeamAtWorst(float(values[best][place]), (x, y), years[best].season, numbers[place])

    return worst([low for low, _ in changes], -1.0), worst([high for _, high in changes], 1.0)


def _changes(
    insert: Body, sides: Sides, around: tuple[Body, list[Body | None]], year: Year, ground_is_part: bool
) -> tuple[Reals, Reals]:
    """The change of the seam at each place: at its least and its most over the ways that wood may be cut."""
    ground, others = around
    grown = ground.strains(year.parts if ground_is_part else year.board)
    own = _terms(sides, sides.places - insert.middle, insert.strains(year.parts))
    far = sides.places - insert.middle
    least, most = np.zeros(len(far)), np.zeros(len(far))
    for number in np.unique(sides.across).tolist():
        here = sides.across == number
        other = others[number] if number >= 0 else None
        here_sides = Sides(sides.places[here], sides.outward[here], sides.across[here])
        if other is None:
            pulled = _terms(here_sides, far[here], grown)
        else:
            apart = np.broadcast_to(other.middle - insert.middle, (int(here.sum()), 2))
            carried = _terms(here_sides, apart, grown)
            theirs = _terms(here_sides, here_sides.places - other.middle, other.strains(year.parts))
            pulled = [one + two for one in carried for two in theirs]
        least[here] = np.min(pulled, axis=0) - np.max([one[here] for one in own], axis=0)
        most[here] = np.max(pulled, axis=0) - np.min([one[here] for one in own], axis=0)
    return least, most


def _terms(sides: Sides, arms: Reals, strains: list[Reals]) -> list[Reals]:
    """How far each place moves outwards, for each of some strains."""
    return [np.einsum("ij,ij->i", sides.outward, arms @ strain) for strain in strains]


def size_limits(
    insert: Body, ground: Body, years: list[Year], room: tuple[float, float], ground_is_part: bool = False
) -> tuple[float | None, float | None]:
    """The sizes (mm) beyond which an insert laid so opens its seam by more than `room[0]`, or closes it by more than
    `room[1]`: twice the room, by the greatest growth of the one against the other in any direction.
    """
    differences = [
        own - around
        for year in years
        for own in insert.strains(year.parts)
        for around in ground.strains(year.parts if ground_is_part else year.board)
    ]
    grown = np.linalg.eigvalsh(np.array(differences))
    shrinks, swells = float(-grown.min()), float(grown.max())
    return (
        2.0 * room[0] / shrinks if shrinks > ALIKE else None,
        2.0 * room[1] / swells if swells > ALIKE else None,
    )


ALIKE = 1e-5
"""Woods that grow by shares nearer than this (0.01 mm in a metre) grow alike."""
