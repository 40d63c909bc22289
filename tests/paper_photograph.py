"""Photographs of printed sheets of paper, made as light makes them: for tests and benches where no camera is at hand.

A sheet with its print lies on a wooden table. It has been folded once and does not lie quite flat along the crease. A
lamp and the window light it, something throws a soft shadow across it. A camera looks at it at an angle: light is added
up in linear values, then blurred by the lens, exposed, made noisy, given the sRGB curve and stored as JPEG.
Lengths in mm; the sheet's lower left corner is the origin, x to the right, y up, z towards the camera.
"""

import io
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Scene:
    """How a sheet is photographed: `tilt` of the camera from upright and `turn` around, in degrees.

    `lamp`: share of light that falls off from one side to the other. `shadow`: how much light it takes, its edge soft
    over `penumbra` mm. `crease`: degrees by which the paper is bent along it, over a few mm. `blur` px, `noise` levels.
    """

    tilt: float = 28.0
    turn: float = 20.0
    lamp: float = 0.3
    shadow: float = 0.3
    penumbra: float = 14.0
    crease: float = 5.0
    blur: float = 0.9
    noise: float = 2.0
    quality: int = 88
    roll: float = 3.0
    seed: int = 1
    size: tuple[int, int] = (2000, 1500)
    finer: int = 2
    paper: tuple[float, float, float] = (0.86, 0.85, 0.82)
    table: tuple[float, float, float] = (0.19, 0.10, 0.05)


@dataclass(frozen=True)
class Camera:
    """Where it stands (3,), its axes as rows (right, down, forward), its focal length and its picture's middle, px."""

    place: NDArray[np.float64]
    axes: NDArray[np.float64]
    focal: float
    middle: NDArray[np.float64]

    def seen(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Points (n, 3) as they come out in the picture: px from the top left corner of the top left pixel."""
        turned = (points - self.place) @ self.axes.T
        return np.asarray(turned[:, :2] / turned[:, 2:] * self.focal + self.middle)


def linear(colours: NDArray[np.generic]) -> Floats:
    """Light from sRGB levels. Source: IEC 61966-2-1."""
    share = np.asarray(colours, np.float32) / np.float32(255.0)
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4).astype(np.float32)


def levels(light: Floats) -> Floats:
    """The sRGB levels of light of 0 to 1. Source: IEC 61966-2-1."""
    share = np.clip(light, 0.0, 1.0)
    curve = np.where(share <= 0.0031308, 12.92 * share, 1.055 * share ** (1 / 2.4) - 0.055)
    return np.asarray(255.0 * curve, np.float32)


def camera_of(sheet: tuple[float, float], scene: Scene) -> Camera:
    """A camera that sees the whole sheet with some table around it."""
    wide, high = scene.size
    middle = np.array([sheet[0] / 2, sheet[1] / 2, 0.0])
    tilt, turn, roll = np.radians([scene.tilt, scene.turn, scene.roll])
    towards = np.array([np.sin(tilt) * np.sin(turn), -np.sin(tilt) * np.cos(turn), np.cos(tilt)])
    up = np.array([0.0, 1.0, 0.0])
    right = np.cross(up, towards)
    right /= np.linalg.norm(right)
    down = -np.cross(towards, right)
    turned = np.array(
        [right * np.cos(roll) + down * np.sin(roll), down * np.cos(roll) - right * np.sin(roll), -towards]
    )
    far = 2.2 * max(sheet)
    focal = 1.0 * max(wide, high)
    corners = np.array([[0, 0, 0], [sheet[0], 0, 0], [sheet[0], sheet[1], 0], [0, sheet[1], 0]], float)
    for _ in range(40):
        camera = Camera(middle + far * towards, turned, focal, np.array([wide / 2, high / 2]))
        seen = camera.seen(corners)
        room = np.minimum(seen.min(axis=0), np.array([wide, high]) - seen.max(axis=0))
        if room.min() < 0.035 * max(wide, high):
            far *= 1.03
        else:
            far *= 0.985
    return Camera(middle + far * 1.02 * towards, turned, focal, np.array([wide / 2, high / 2]))


def crease_height(x: Floats, y: Floats, sheet: tuple[float, float], scene: Scene) -> Floats:
    """How high the paper stands above the table along its crease: a low ridge, rounded at the top."""
    along = crease_distance(x, y, sheet, scene)
    slope = np.tan(np.radians(scene.crease / 2))
    return np.asarray(slope * 2.5 * np.exp(-np.sqrt(along**2 + 0.2) / 2.5), np.float32)


def crease_distance(x: Floats, y: Floats, sheet: tuple[float, float], scene: Scene) -> Floats:
    chance = np.random.default_rng(scene.seed + 50)
    angle = np.radians(chance.uniform(-12, 12) + (90 if sheet[0] > sheet[1] else 0))
    middle = np.array(sheet) * (0.5 + chance.uniform(-0.06, 0.06, 2))
    return np.asarray((y - middle[1]) * np.cos(angle) - (x - middle[0]) * np.sin(angle), np.float32)


def photographed(
    print_: NDArray[np.uint8], sheet: tuple[float, float], scene: Scene
) -> tuple[bytes, NDArray[np.float64]]:
    """The photograph of a print (h, w, 3, sRGB, the whole sheet) as a JPEG, and where its corners really are in it.

    Corners run from the upper left one clockwise.
    """
    camera = camera_of(sheet, scene)
    finer = scene.finer
    wide, high = (finer * side for side in scene.size)
    column, row = np.meshgrid(np.arange(wide, dtype=np.float32) + 0.5, np.arange(high, dtype=np.float32) + 0.5)
    ray = np.stack([column / finer - camera.middle[0], row / finer - camera.middle[1]], axis=-1) / camera.focal
    way = ray[..., :1] * camera.axes[0] + ray[..., 1:] * camera.axes[1] + camera.axes[2]
    z = np.zeros((high, wide), np.float32)
    for _ in range(3):
        reach = (z - camera.place[2]) / way[..., 2]
        x = np.asarray(camera.place[0] + reach * way[..., 0], np.float32)
        y = np.asarray(camera.place[1] + reach * way[..., 1], np.float32)
        inside = (x >= 0) & (x <= sheet[0]) & (y >= 0) & (y <= sheet[1])
        z = np.where(inside, crease_height(x, y, sheet, scene), 0.0).astype(np.float32)
    colour = np.where(inside[..., None], _paper(print_, (x, y), sheet, scene), _table(x, y, scene))
    light = _light(x, y, inside, sheet, scene)
    picture = np.asarray(colour * light[..., None] * np.array([1.0, 0.97, 0.9], np.float32), np.float32)
    picture = cv2.resize(picture, scene.size, interpolation=cv2.INTER_AREA)
    picture = cv2.GaussianBlur(picture, (0, 0), scene.blur)
    chance = np.random.default_rng(scene.seed)
    # noise of light: more of it where there is more light, then the same of the camera's own everywhere
    grain = chance.normal(0.0, 1.0, picture.shape).astype(np.float32)
    picture += grain * (scene.noise / 255.0) * np.sqrt(np.clip(picture, 0, 1) * 0.5 + 0.02)
    pixels = np.clip(np.rint(levels(picture)), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=scene.quality)
    flat = np.array([[0, sheet[1], 0], [sheet[0], sheet[1], 0], [sheet[0], 0, 0], [0, 0, 0]], float)
    return out.getvalue(), camera.seen(flat)


def _paper(print_: NDArray[np.uint8], place: tuple[Floats, Floats], sheet: tuple[float, float], scene: Scene) -> Floats:
    """What of the light the printed paper throws back: ink lets through what it does not take; fibres all over."""
    scale = np.array(print_.shape[1::-1]) / np.array(sheet)
    across, down = place[0] * scale[0] - 0.5, (sheet[1] - place[1]) * scale[1] - 0.5
    ink = cv2.remap(
        linear(print_),
        across.astype(np.float32),
        down.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    chance = np.random.default_rng(scene.seed + 1)
    fibres = chance.normal(0.0, 1.0, (1024, 1024)).astype(np.float32)
    fibres = cv2.GaussianBlur(fibres, (0, 0), 1.0) * 3 + cv2.GaussianBlur(fibres, (0, 0), 6.0) * 10
    seen = cv2.remap(
        fibres, (place[0] * 6 % 1023).astype(np.float32), (place[1] * 6 % 1023).astype(np.float32), cv2.INTER_LINEAR
    )
    paper = np.array(scene.paper, np.float32) * (1.0 + 0.006 * seen[..., None])
    # ink never takes all light
    return np.asarray(paper * (0.03 + 0.97 * ink), np.float32)


def _table(x: Floats, y: Floats, scene: Scene) -> Floats:
    """A table of wood: bands along x, with fine pores."""
    chance = np.random.default_rng(scene.seed + 2)
    bend = 4 * np.sin(x / 90 + 1.0) + 2 * np.sin(x / 31)
    bands = np.sin((y + bend) / 3.1) * 0.12 + np.sin((y + bend) / 11.0 + 2.0) * 0.15
    pores = cv2.GaussianBlur(chance.normal(0.0, 1.0, x.shape).astype(np.float32), (0, 0), sigmaX=9, sigmaY=1.0)
    return np.asarray(np.array(scene.table, np.float32) * (1.0 + bands + 0.9 * pores)[..., None], np.float32)


def _light(x: Floats, y: Floats, inside: NDArray[np.bool_], sheet: tuple[float, float], scene: Scene) -> Floats:
    """The light that falls on each place: a lamp to one side, the room, a soft shadow, the slopes along the crease."""
    chance = np.random.default_rng(scene.seed + 3)
    side = chance.uniform(0, 2 * np.pi)
    long = max(sheet)
    lamp = np.array([np.cos(side), np.sin(side), 0.0]) * long * 0.9 + np.array([sheet[0] / 2, sheet[1] / 2, long * 1.3])
    to_lamp = np.stack([lamp[0] - x, lamp[1] - y, np.full_like(x, lamp[2])], axis=-1)
    off = np.linalg.norm(to_lamp, axis=-1)
    step = np.float32(0.05)
    rise_x = (crease_height(x + step, y, sheet, scene) - crease_height(x - step, y, sheet, scene)) / (2 * step)
    rise_y = (crease_height(x, y + step, sheet, scene) - crease_height(x, y - step, sheet, scene)) / (2 * step)
    rise_x, rise_y = rise_x * inside, rise_y * inside
    normal = np.stack([-rise_x, -rise_y, np.ones_like(x)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    straight = np.clip((normal * to_lamp).sum(axis=-1) / off, 0, 1) * (long * 1.3 / off) ** 2
    straight /= straight[inside].max()
    # strength so that the lamp's fall-off over the sheet is what was asked for
    lowest = np.quantile(straight[inside], 0.01)
    share = np.clip(scene.lamp / max(1.0 - lowest, 1e-6), 0.0, 1.0)
    light = (1.0 - share) + share * straight
    angle = chance.uniform(0, 2 * np.pi)
    across = (x - sheet[0] / 2) * np.cos(angle) + (y - sheet[1] / 2) * np.sin(angle)
    across = across + 12 * np.sin((y - x) / 60.0) - chance.uniform(-0.15, 0.25) * long
    soft = np.clip(across / scene.penumbra + 0.5, 0, 1)
    light = light * (1.0 - scene.shadow * soft * soft * (3 - 2 * soft))
    # the sheet's own shadow on the table, a mm or two wide
    edge = np.minimum(np.minimum(x, sheet[0] - x), np.minimum(y, sheet[1] - y))
    light = np.where(inside, light, light * (1.0 - 0.45 * np.exp(np.minimum(edge, 0) / 1.2)))
    return np.asarray(light * 1.02, np.float32)
