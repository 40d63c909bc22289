"""Which colour each pixel belongs to: flat ones by themselves, those on a border by the mixture they are."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.palette import Palette
from purfle.artwork.pixels import CLEAN, Flags, Floats32, Pixels, half_a_step

Labels = NDArray[np.int16]
Ints = NDArray[np.int64]

FAR = np.float32(1e9)
NO_BETTER = np.float32(1e-3)
"""Squared distance, in levels, by which a later mixture must be nearer: of equals the first one counts."""
WEDGE_PX = 16
"""How far off a colour may be flat and still make up a mixture that no nearer colours explain."""


@dataclass(frozen=True, slots=True)
class Labelled:
    """`labels` (h, w): the palette number of each pixel. `odd`: pixels that no mixture of near colours explains.

    `unexplained`: those, and pixels that only a mixture of colours further off explains. `sure`: flat pixels that have
    the colour they are nearest to.
    """

    labels: Labels
    odd: Flags
    unexplained: Flags
    sure: Flags


def far_off(noise: float) -> float:
    """The distance in levels, as weighed, from which a pixel is no longer of a colour, or of a mixture."""
    return 24.0 + 6.0 * noise


def label(pixels: Pixels, palette: Palette, reach: int) -> Labelled:
    """Flat pixels take the nearest colour, others the larger share of the best mixture of two colours near them.

    A colour is near where it has a flat pixel within `reach`. Unsure pixels are then smoothed by majority.
    """
    labels, off = palette.nearest_and_off(pixels)
    sure = _sure_pixels(pixels, palette, labels, off)
    unsure = np.flatnonzero(~sure)
    if len(unsure) == 0 or len(palette.colours) < 2:
        return Labelled(labels, np.zeros_like(sure), ~sure, sure)
    colours = pixels.weigh(palette.colours)
    values = np.take(pixels.weighed.reshape(-1, colours.shape[1]), unsure, axis=0)
    tolerance = far_off(pixels.noise)
    near = near_colours(labels, sure, len(colours), reach, unsure)
    choice, odd_ones = _best_mixture(values, colours, near, tolerance)
    unexplained = np.zeros_like(sure)
    unexplained.ravel()[unsure[odd_ones]] = True
    again = np.nonzero(odd_ones)[0]
    if len(again):
        # in the end of a narrow wedge the colour that makes it up is flat only further off
        near = near_colours(labels, sure, len(colours), WEDGE_PX, unsure[again])
        choice[again], odd_ones[again] = _best_mixture(values[again], colours, near, tolerance)
    labels.ravel()[unsure] = choice
    odd = np.zeros_like(sure)
    odd.ravel()[unsure[odd_ones]] = True
    smoothed = _majority(labels, unsure[~odd_ones], len(colours))
    return Labelled(smoothed, odd, unexplained, sure)


def _sure_pixels(pixels: Pixels, palette: Palette, labels: Labels, off: Floats32) -> Flags:
    """Flat pixels; in a noisy picture none that are far from the colour they are nearest to.

    Those are of a colour that is not in the palette, and say nothing about where the nearest one is. `off`: how far
    the table's step that a pixel lies in is from its colour: only near the limit is the pixel itself looked at.
    """
    if pixels.noise < CLEAN:
        return pixels.flat
    limit, step = far_off(pixels.noise), half_a_step(pixels)
    sure = pixels.flat & (off <= limit - step)
    doubtful = np.flatnonzero(pixels.flat & ~sure & (off < limit + step))
    colours = pixels.weigh(palette.colours)
    away = np.take(pixels.weighed.reshape(-1, colours.shape[1]), doubtful, axis=0) - colours[labels.ravel()[doubtful]]
    sure.ravel()[doubtful] = (away * away).sum(axis=1) <= limit * limit
    return np.asarray(sure)


def near_colours(labels: Labels, flat: Flags, count: int, reach: int, places: NDArray[np.intp]) -> Flags:
    """(count, n): True where the colour has a flat pixel within `reach` of these pixels, counted row by row."""
    square = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    # fewer than 256 colours: bytes are quickest to compare
    bytes_of, near = labels.astype(np.uint8), np.empty((count, len(places)), bool)
    for number in range(count):
        core = ((bytes_of == number) & flat).view(np.uint8)
        near[number] = np.take(cv2.dilate(core, square), places)
    return near


def _best_mixture(
    values: Floats32, colours: Floats32, near: Flags, tolerance: float
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """For each value the colour it belongs to, and whether nothing near explains it (then: the nearest of all)."""
    away = _away(values, colours)
    alone = np.where(near, away, FAR)
    choice, single = alone.argmin(axis=0), alone.min(axis=0)
    mixed, left_over = nearest_mixture(values, colours, near)
    # a pure colour that explains nearly as much as a mixture is the better reason
    choice = np.where(single < left_over + 0.5 * tolerance * tolerance, choice, mixed)
    odd = left_over > tolerance * tolerance
    return np.where(odd, away.argmin(axis=0), choice), np.asarray(odd)


def _away(values: Floats32, colours: Floats32) -> Floats32:
    """(k, n): the squared distance of each value from each colour."""
    return np.stack([((values - colour) ** 2).sum(axis=1) for colour in colours])


def nearest_mixture(values: Floats32, colours: Floats32, near: Flags) -> tuple[NDArray[np.intp], Floats32]:
    """For each value the larger share of the nearest colour or mixture of two, and the squared distance from it.

    `near` (k, n): which colours may explain which value.
    """
    alone = np.where(near, _away(values, colours), FAR)
    mixed, left_over = alone.argmin(axis=0), alone.min(axis=0)
    for second in range(len(colours)):
        for first in range(second):
            both = np.nonzero(near[first] & near[second])[0]
            way = colours[second] - colours[first]
            if len(both) == 0 or not way.any():
                continue
            offset = values[both] - colours[first]
            share = np.clip(offset @ way / (way @ way), 0.0, 1.0)
            rest = ((offset - share[:, None] * way) ** 2).sum(axis=1)
            better = rest < left_over[both] - NO_BETTER
            place = both[better]
            left_over[place] = rest[better]
            mixed[place] = np.where(share[better] < 0.5, first, second)
    return mixed, left_over


def _majority(labels: Labels, unsure: NDArray[np.intp], count: int, rounds: int = 2) -> Labels:
    """Unsure pixels take the majority of their 3 x 3 neighbours; their own vote counts one and a half."""
    padded = np.pad(labels, 1, mode="edge")
    width = padded.shape[1]
    places = unsure + 2 * (unsure // labels.shape[1]) + width + 1
    flat = padded.ravel()
    for _ in range(rounds):
        # twice the votes, so that bytes hold them
        votes = np.zeros((count, len(places)), np.uint8)
        for down in (-width, 0, width):
            for across in (-1, 0, 1):
                voted = np.take(flat, places + (down + across))
                for number in range(count):
                    votes[number] += (voted == number).view(np.uint8) * np.uint8(3 if down == across == 0 else 2)
        flat[places] = votes.argmax(axis=0)
        padded[0], padded[-1] = padded[1], padded[-2]
        padded[:, 0], padded[:, -1] = padded[:, 1], padded[:, -2]
    return np.ascontiguousarray(padded[1:-1, 1:-1])
