"""A straight beam of varying section on any number of supports: how far it goes down, and what bends it where.

Forces that are known bend the beam on its outermost supports; those of the supports between are found so that nothing
moves there (force method). Curvature M / (E I) is integrated twice by Simpson's rule, which is exact over a stretch of
constant section under an even load. Small bending, shear left out. N, mm, MPa.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Bent:
    """A bent beam at its stations: way down (mm, + is down) and bending moment (N mm, + pulls the underside)."""

    down: Reals
    moment: Reals


@dataclass(frozen=True, slots=True)
class _Span:
    """Stations, rigidity (E I) of each stretch, and the numbers of the outermost supports."""

    stations: Reals
    rigidity: Reals
    outer: tuple[int, int]

    def bent(self, spread: Reals, points: Reals) -> Bent:
        """On the outermost supports alone."""
        x, long = self.stations, np.diff(self.stations)
        first, last = self.outer
        heavy = spread * long
        middles = (x[1:] + x[:-1]) / 2.0
        turning = float(heavy @ (middles - x[first]) + points @ (x - x[first]))
        forces = points.copy()
        forces[last] -= turning / (x[last] - x[first])
        forces[first] -= float(heavy.sum() + points.sum()) - turning / (x[last] - x[first])
        # shear just right of each station, then the moments at stations and in the middle of stretches
        shear = -(np.cumsum(forces) + np.concatenate([[0.0], np.cumsum(heavy)]))[:-1]
        moment = np.concatenate([[0.0], np.cumsum(shear * long - spread * long**2 / 2.0)])
        middle = moment[:-1] + shear * long / 2.0 - spread * long**2 / 8.0
        near, half, far = moment[:-1] / self.rigidity, middle / self.rigidity, moment[1:] / self.rigidity
        turned = np.concatenate([[0.0], -np.cumsum(long / 6.0 * (near + 4.0 * half + far))])
        gone = turned[:-1] * long - long**2 / 6.0 * (near + 2.0 * half)
        down = np.concatenate([[0.0], np.cumsum(gone)])
        # the straight line through both supports is no bending
        down -= down[first] + (down[last] - down[first]) * (x - x[first]) / (x[last] - x[first])
        return Bent(down, moment)


def bend(stations: Reals, rigidity: Reals, spread: Reals, points: Reals, supports: Sequence[int]) -> Bent:
    """The beam under its load.

    `stations`: along it, rising; `rigidity` (E I, N mm2) and `spread` load (N for each mm) of each stretch between two;
    `points`: load (N) on each station; `supports`: the numbers, rising, of two or more stations that stay in place.
    """
    span = _Span(stations, rigidity, (supports[0], supports[-1]))
    between = list(supports[1:-1])
    bent = span.bent(spread, points)
    if not between:
        return bent
    lifted = []
    for number in between:
        unit = np.zeros(len(stations))
        unit[number] = -1.0
        lifted.append(span.bent(np.zeros(len(spread)), unit))
    moves = np.array([[one.down[number] for one in lifted] for number in between])
    forces = np.linalg.solve(moves, -bent.down[between])
    down = bent.down + sum(force * one.down for force, one in zip(forces, lifted, strict=True))
    moment = bent.moment + sum(force * one.moment for force, one in zip(forces, lifted, strict=True))
    return Bent(down, moment)
