"""A net of curves as a graph: stretches between the places where it branches or ends."""

import heapq
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Chain = tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """An unbroken line from one branching or end to the next: both as numbers of places, the places on the way, mm."""

    first: int
    last: int
    chain: Chain
    length: float

    def other(self, end: int) -> int:
        """The end that is not this one."""
        return self.last if end == self.first else self.first

    def chain_from(self, end: int) -> Chain:
        """Its places in order, beginning at `end`."""
        return self.chain if self.chain[0] == end else self.chain[::-1]


class Network:
    """The stretches of a net, and which of them meet at each branching or end."""

    def __init__(self, places: NDArray[np.float64], edges: NDArray[np.int64]) -> None:
        self.places = places
        self.stretches = _stretches(places, edges)
        self.at: dict[int, list[int]] = {}
        for number, stretch in enumerate(self.stretches):
            self.at.setdefault(stretch.first, []).append(number)
            self.at.setdefault(stretch.last, []).append(number)

    @property
    def length(self) -> float:
        """All stretches once, mm."""
        return sum(stretch.length for stretch in self.stretches)

    @property
    def odd(self) -> list[int]:
        """Where an odd number of stretches meet, in order: each trail begins and ends at two of these."""
        return sorted(end for end, stretches in self.at.items() if len(stretches) % 2)

    def components(self) -> int:
        """How many separate nets there are."""
        leader = {end: end for end in self.at}

        def of(end: int) -> int:
            while leader[end] != end:
                leader[end] = leader[leader[end]]
                end = leader[end]
            return end

        for stretch in self.stretches:
            leader[of(stretch.last)] = of(stretch.first)
        return len({of(end) for end in leader})

    def ways_from(self, start: int, furthest: float) -> dict[int, tuple[float, tuple[int, ...]]]:
        """The shortest way along stretches to every place within reach: its length, and its stretches in order."""
        done: dict[int, tuple[float, tuple[int, ...]]] = {}
        waiting: list[tuple[float, int, tuple[int, ...]]] = [(0.0, start, ())]
        while waiting:
            far, end, way = heapq.heappop(waiting)
            if end in done:
                continue
            done[end] = (far, way)
            for number in self.at[end]:
                stretch = self.stretches[number]
                beyond = far + stretch.length
                if beyond <= furthest and stretch.other(end) not in done:
                    heapq.heappush(waiting, (beyond, stretch.other(end), (*way, number)))
        return done


def _stretches(places: NDArray[np.float64], edges: NDArray[np.int64]) -> list[Stretch]:
    nearby: dict[int, list[int]] = {}
    for a, b in edges.tolist():
        nearby.setdefault(a, []).append(b)
        nearby.setdefault(b, []).append(a)
    ends = [place for place in sorted(nearby) if len(nearby[place]) != 2]
    found: list[Stretch] = []
    gone: set[tuple[int, int]] = set()

    def follow(start: int) -> None:
        for onward in sorted(nearby[start]):
            if (start, onward) in gone:
                continue
            chain = [start, onward]
            while chain[-1] not in stops:
                back, here = chain[-2:]
                chain.append(next((one for one in nearby[here] if one != back), back))
            gone.add((chain[-1], chain[-2]))
            gone.add((start, onward))
            met.update(chain)
            found.append(Stretch(start, chain[-1], tuple(chain), _length(places[chain])))

    stops, met = set(ends), set[int]()
    for end in ends:
        follow(end)
    for place in sorted(nearby):  # what is left are rings without a branching: each begins anywhere
        if place not in met:
            stops = {place}
            follow(place)
    return found


def _length(way: NDArray[np.float64]) -> float:
    return math.fsum(np.sqrt((np.diff(way, axis=0) ** 2).sum(axis=1)).tolist())
