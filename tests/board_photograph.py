"""A photograph of a board with live edges, made as light makes it: figured wood with a knot and bark on a grey cloth.

Lengths in mm, in the board frame: edge lines A and B touch the board in front and on the left.
"""

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from paper_photograph import Scene, photographed

LENGTH, WIDTH = 420.0, 260.0
CLOTH = 60.0
"""So much of the cloth lies around the board."""
RECTANGLE = (60.0, 50.0, 300.0, 150.0)
"""What was marked on the board with a square: its corner from B and from A, its length and width."""
PX_PER_MM = 3.0


def outline() -> shapely.Polygon:
    """Live in front and at the back, sawn straight at both ends."""
    x = np.linspace(0.0, LENGTH, 300)
    front = 4.0 * np.sin(x / 37.0) + 2.5 * np.sin(x / 11.0 + 1.0)
    back = -8.0 * np.sin(x / 55.0 + 2.0) - 3.0 * np.sin(x / 17.0)
    lower = np.column_stack([x, front - front.min()])
    upper = np.column_stack([x, WIDTH + back - back.max()])
    return shapely.Polygon(np.vstack([lower, upper[::-1]]))


def on_cloth(size: tuple[float, float] = (LENGTH + 2 * CLOTH, WIDTH + 2 * CLOTH)) -> NDArray[np.uint8]:
    """The board seen from straight above, in levels, rows from the top."""
    rng = np.random.default_rng(3)
    high, wide = round(size[1] * PX_PER_MM), round(size[0] * PX_PER_MM)
    y, x = np.mgrid[:high, :wide].astype(np.float32) / np.float32(PX_PER_MM)
    cloth = np.array([88, 96, 92], np.float32) + (6 * np.sin(x / 3) + rng.normal(0, 4, x.shape))[..., None]
    rings = y + 3 * np.sin(x / 60)
    figure = np.sin(rings * 2.1 + 1.5 * np.sin(x / 80)) + 0.5 * np.sin(rings * 5.3)
    wood = np.array([196, 160, 112]) + 10 * figure[..., None] + rng.normal(0, 3, x.shape)[..., None]
    knot = np.exp(-(((x - CLOTH - 300) / 9) ** 2) - ((y - CLOTH - 60) / 6) ** 2)
    wood *= 1 - 0.6 * knot[..., None]
    ring = np.array(outline().exterior.coords)
    px = np.column_stack([(ring[:, 0] + CLOTH), (WIDTH + CLOTH - ring[:, 1])]) * PX_PER_MM
    mask = np.zeros((high, wide), np.uint8)
    cv2.fillPoly(mask, [np.round(px * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    within = cv2.erode(mask, np.ones((7, 7), np.uint8))[..., None] / 255.0
    bark = np.array([92, 66, 46]) + rng.normal(0, 8, (high, wide, 1))
    share = mask[..., None] / 255.0
    seen = cloth * (1 - share) + share * (wood * within + bark * (1 - within))
    return np.asarray(np.clip(seen, 0, 255), np.uint8)


def photograph() -> tuple[bytes, tuple[tuple[float, float], ...]]:
    """A JPEG of it taken at an angle, with a shadow; where the marked rectangle's corners are in it, px, clockwise."""
    size = (LENGTH + 2 * CLOTH, WIDTH + 2 * CLOTH)
    data, seen = photographed(on_cloth(), size, Scene(crease=0.0, tilt=20.0, size=(1800, 1350)))
    flat = np.array([[0, 0], [size[0], 0], size, [0, size[1]]], np.float32)
    way = cv2.getPerspectiveTransform(flat, np.asarray(seen, np.float32))
    left, front, long, wide = RECTANGLE
    x0, x1, low, top = CLOTH + left, CLOTH + left + long, CLOTH + WIDTH - front, CLOTH + WIDTH - front - wide
    corners = cv2.perspectiveTransform(np.array([[[x0, top], [x1, top], [x1, low], [x0, low]]], np.float32), way)[0]
    return data, tuple((float(x), float(y)) for x, y in corners)
