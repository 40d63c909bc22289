"""Areas joined to groups: what borders on what, and who takes what is dropped. Outlines are joined only at the end."""

from collections.abc import Iterable, Sequence

import shapely

from purfle.artwork.picking import neighbours_of
from purfle.geometry.measuring import inscribed_radius
from purfle.model.artwork import Area

_FINE = 50.0
"""A width is measured to this part of itself."""


class Groups:
    """Groups of areas, each under the number of the area that gives it its name and colour.

    A shared border is counted by its length, so that the result does not depend on the order of what is done.
    """

    def __init__(self, areas: Sequence[Area], ground: set[int]) -> None:
        self.areas = areas
        self.bare = frozenset(ground)
        self.changed = False
        self._ground = ground
        self._leader = list(range(len(areas)))
        self._members: dict[int, list[int]] = {number: [number] for number in range(len(areas))}
        self._borders = dict(enumerate(neighbours_of(areas)))
        frame = shapely.union_all([area.region.envelope for area in areas]).boundary
        self._outer = {number for number in ground if areas[number].region.intersection(frame).length > 0.0}

    def leader(self, number: int) -> int:
        """The area under whose number an area's group goes."""
        return self._leader[number]

    def is_ground(self, number: int) -> bool:
        """True if the group of an area is bare board."""
        return self._leader[number] in self._ground

    def in_order(self) -> list[tuple[int, list[int]]]:
        """All groups with their members, in the order of their first members."""
        return sorted(((one, sorted(members)) for one, members in self._members.items()), key=lambda one: one[1][0])

    def beside(self, number: int) -> list[int]:
        """The groups that an area's group borders on, ground left out, the longest border first."""
        borders = self._borders[self._leader[number]]
        return [one for one in sorted(borders, key=lambda one: (-borders[one], one)) if one not in self._ground]

    def not_reached(self, numbers: Sequence[int]) -> list[int]:
        """Which of these areas do not hang together with the first of them."""
        wanted = {self._leader[number] for number in numbers}
        reached, waiting = set(), [self._leader[numbers[0]]]
        while waiting:
            here = waiting.pop()
            reached.add(here)
            waiting += [one for one in self._borders[here] if one in wanted and one not in reached]
        return [number for number in numbers if self._leader[number] not in reached]

    def join(self, taker: int, given: int) -> None:
        """Make one group of two; it keeps the name of the first."""
        first, second = self._leader[taker], self._leader[given]
        if first == second:
            return
        self.changed = True
        for number in self._members[second]:
            self._leader[number] = first
        self._members[first] += self._members.pop(second)
        for other, length in self._borders.pop(second).items():
            del self._borders[other][second]
            if other != first:
                self._borders[first][other] = self._borders[other][first] = (
                    self._borders[first].get(other, 0.0) + length
                )
        self._ground.discard(second)
        if second in self._outer:
            self._outer.add(first)

    def make_ground(self, number: int) -> None:
        """Make a group bare board, one with the ground beside it."""
        here = self._leader[number]
        self.changed = True
        bare = sorted(one for one in self._borders[here] if one in self._ground)
        self._ground.add(here)
        for other in bare:
            self.join(bare[0], other)
        if bare:
            self.join(bare[0], here)

    def give_to_neighbours(self, numbers: Iterable[int]) -> dict[int, int]:
        """Give each group to the neighbour that stays and shares the longest border with it; who took which.

        One that lies among dropped ones alone waits until they have been given away.
        """
        waiting = sorted({self._leader[number] for number in numbers})
        taken: dict[int, int] = {}
        while waiting:
            chosen = {one: self._taker(one, set(waiting)) for one in waiting}
            settled = {one: taker for one, taker in chosen.items() if taker is not None}
            for one, taker in settled.items():
                self.join(taker, one)
            taken |= settled
            if not settled:
                break
            waiting = [one for one in waiting if one not in settled]
        return taken

    def give_small_ones(self, smallest: float, narrowest: float) -> list[tuple[int, float, int]]:
        """Give away every group smaller or narrower than this, the smallest first: number, size, and who took it."""
        given: list[tuple[int, float, int]] = []
        sizes = {one: sum(self.areas[member].region.area for member in members) for one, members in self.in_order()}
        wide: set[int] = set()
        while True:
            candidates = [one for one in self._members if one not in self._outer and one not in wide]
            if not candidates:
                return given
            one = min(candidates, key=lambda number: (sizes[number], number))
            taker = self._taker(one, set()) if sizes[one] < smallest or self._is_narrow(one, narrowest) else None
            if taker is None:
                wide.add(one)
                continue
            given.append((one, sizes[one], taker))
            self.join(taker, one)
            sizes[taker] += sizes.pop(one)
            wide.discard(taker)

    def _is_narrow(self, number: int, narrowest: float) -> bool:
        if narrowest == 0.0:
            return False
        region = shapely.coverage_union_all([self.areas[member].region for member in self._members[number]])
        return inscribed_radius(region, narrowest / _FINE) < narrowest / 2.0

    def _taker(self, number: int, leaving: set[int]) -> int | None:
        """The neighbour with the longest border; of equals the larger one, then the first."""
        borders = {one: length for one, length in self._borders[number].items() if one not in leaving}
        return max(borders, key=lambda one: (round(borders[one], 6), self._size(one), -one), default=None)

    def _size(self, number: int) -> float:
        return float(sum(self.areas[member].region.area for member in self._members[number]))
