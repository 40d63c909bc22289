"""Which colour each pixel belongs to: flat ones by themselves, those on a border by the mixture they are."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.palette import Palette
from purfle.artwork.pixels import Flags, Floats32, Pixels

Labels = NDArray[np.int16]

FAR = np.float32(1e9)
NO_BETTER = np.float32(1e-3)
"""Squared distance, in levels, by which a later mixture must be nearer: of equals the first one counts."""
WEDGE_PX = 16
"""How far off a colour may be flat and still make up a mixture that no nearer colours explain."""


@dataclass(frozen=True, slots=True)
class Labelled:
    """`labels` (h, w): the palette number of each pixel. `odd`: pixels that no mixture of near colours explains."""

    labels: Labels
    odd: Flags


def label(pixels: Pixels, palette: Palette, reach: int) -> Labelled:
    """Flat pixels take the nearest colour, others the larger share of the best mixture of two colours near them.

    A colour is near where it has a flat pixel within `reach`. Unsure pixels are then smoothed by majority.
    """
    labels = palette.nearest(pixels)
    unsure = np.nonzero(~pixels.flat.ravel())[0]
    if len(unsure) == 0 or len(palette.colours) < 2:
        return Labelled(labels, np.zeros_like(pixels.flat))
    colours = pixels.weigh(palette.colours)
    values = pixels.weighed.reshape(-1, colours.shape[1])[unsure]
    tolerance = 24.0 + 6.0 * pixels.noise
    near = _near_colours(labels, pixels.flat, len(colours), reach)
    choice, odd_ones = _best_mixture(values, colours, near[:, unsure], tolerance)
    again = np.nonzero(odd_ones)[0]
    if len(again):
        # in the end of a narrow wedge the colour that makes it up is flat only further off
        near = _near_colours(labels, pixels.flat, len(colours), WEDGE_PX)
        choice[again], odd_ones[again] = _best_mixture(values[again], colours, near[:, unsure[again]], tolerance)
    labels.ravel()[unsure] = choice
    odd = np.zeros_like(pixels.flat)
    odd.ravel()[unsure[odd_ones]] = True
    smoothed = _majority(labels, np.nonzero(~(pixels.flat | odd).ravel())[0], len(colours))
    return Labelled(smoothed, odd)


def _near_colours(labels: Labels, flat: Flags, count: int, reach: int) -> Flags:
    """(count, h*w): True where the colour has a flat pixel within `reach`."""
    square = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    near = np.empty((count, labels.size), bool)
    for number in range(count):
        core = ((labels == number) & flat).astype(np.uint8)
        near[number] = cv2.dilate(core, square).ravel() > 0
    return near


def _best_mixture(
    values: Floats32, colours: Floats32, near: Flags, tolerance: float
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """For each value the colour it belongs to, and whether nothing near explains it (then: the nearest of all)."""
    away = np.stack([((values - colour) ** 2).sum(axis=1) for colour in colours])
    alone = np.where(near, away, FAR)
    choice, single = alone.argmin(axis=0), alone.min(axis=0)
    left_over, mixed = single.copy(), choice.copy()
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
    # a pure colour that explains nearly as much as a mixture is the better reason
    choice = np.where(single < left_over + 0.5 * tolerance * tolerance, choice, mixed)
    odd = left_over > tolerance * tolerance
    return np.where(odd, away.argmin(axis=0), choice), np.asarray(odd)


def _majority(labels: Labels, unsure: NDArray[np.intp], count: int, rounds: int = 2) -> Labels:
    """Unsure pixels take the majority of their 3 x 3 neighbours; their own vote counts one and a half."""
    width = labels.shape[1]
    row, column = unsure // width, unsure % width
    order = np.arange(len(unsure))
    for _ in range(rounds):
        padded = np.pad(labels, 1, mode="edge")
        votes = np.zeros((len(unsure), count), np.float32)
        for down in range(3):
            for across in range(3):
                votes[order, padded[row + down, column + across]] += 1.5 if down == across == 1 else 1.0
        labels = labels.copy()
        labels[row, column] = votes.argmax(axis=1)
    return labels


def components(labels: Labels) -> tuple[NDArray[np.int32], NDArray[np.int16]]:
    """Connected parts of one label (by edges, not corners), numbered from 0, and the label of each part."""
    parts = np.zeros(labels.shape, np.int32)
    owners: list[NDArray[np.int16]] = []
    total = 0
    for value in np.nonzero(np.bincount(labels.ravel()))[0]:
        mine = (labels == value).astype(np.uint8)
        left, top, width, height = cv2.boundingRect(mine)
        box = slice(top, top + height), slice(left, left + width)
        count, found = cv2.connectedComponents(mine[box], connectivity=4)
        # zero outside, so that adding leaves the other labels as they are
        parts[box] += found + np.int32(total - 1) * mine[box].astype(np.int32)
        total += count - 1
        owners.append(np.full(count - 1, value, np.int16))
    return parts, np.concatenate(owners)


def _neighbours(parts: NDArray[np.int32]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """The two parts on either side of every pixel edge that lies between two parts."""
    first, second = [], []
    for one, other in ((parts[:, :-1], parts[:, 1:]), (parts[:-1], parts[1:])):
        row, column = np.nonzero(one != other)
        first.append(one[row, column])
        second.append(other[row, column])
    return np.concatenate(first), np.concatenate(second)


def without_specks(labels: Labels, smallest_px: float) -> tuple[Labels, int, int]:
    """Parts of fewer pixels than `smallest_px` joined to the neighbour with the longest border.

    Also how many they were, and how many parts are left. Four rounds: specks that touch only each other are joined
    first and then measured again. Parts of less than half the size are the picture's grain and are not counted.
    """
    joined = 0
    parts, owners = components(labels)
    for _ in range(4):
        sizes = np.bincount(parts.ravel(), minlength=len(owners))
        small = sizes < smallest_px
        if not small.any() or small.all():
            break
        first, second = _neighbours(parts)
        speck, other = np.concatenate([first, second]), np.concatenate([second, first])
        speck, other = speck[small[speck]], other[small[speck]]
        pairs, border = np.unique(speck.astype(np.int64) * len(owners) + other, return_counts=True)
        speck, other = pairs // len(owners), pairs % len(owners)
        # the last one written is the neighbour with the longest border, the larger one of equals
        order = np.lexsort((sizes[other], border))
        renamed = owners.copy()
        renamed[speck[order]] = owners[other[order]]
        joined += int((small & (2 * sizes >= smallest_px)).sum())
        labels = renamed[parts]
        parts, owners = components(labels)
    return labels, joined, len(owners)
