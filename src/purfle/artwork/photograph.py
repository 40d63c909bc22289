"""A photograph of a sheet as if scanned: perspective and uneven light removed, its size taken from what is known."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.paper_light import evened, paper_levels
from purfle.artwork.sheet_corners import corners_of_sheet, is_convex
from purfle.errors import PictureError
from purfle.model.artwork import Photograph, Picture
from purfle.model.board import BoardPhotograph
from purfle.model.findings import Finding

LARGEST_PX = 12_000_000
"""A rectified picture has no more pixels than this: finer ones show nothing that the photograph does."""
SMALLEST_SIDE_PX = 100
"""A sheet with fewer pixels along a side shows nothing that can be cut."""
RIM_SHARE, RIM_PX = 0.006, 4
"""The outermost strip is taken as paper: as a share of the longer side, and at least so many px."""
SHAPE_WITHIN = 0.12
"""The shape of a sheet seen at an angle is told within this share; beyond it, it is another sheet."""
AGREE = 0.02
"""A sheet and a known distance agree within this share: a tape on paper is read to a millimetre or so."""
FLATTEST_VIEW = 0.02
"""Sides that close in by less than this share over the sheet say nothing of the lens."""
SHORTEST_LENS, LONGEST_LENS, USUAL_LENS = 0.5, 8.0, 1.0
"""Focal lengths, as multiples of the picture's longer side: what cameras have, and what phones usually have."""
LIGHT_TOLD = 1.1
"""Light that varies more than this is told."""

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class Rectified:
    """A photographed sheet as if scanned. `corners` (4, 2): where they are in the photograph, px, y down.

    `to_flat`: the homography from the photograph to `picture`. `px_per_mm` None: no size is known. `findings`: what
    was found out on the way.
    """

    picture: Picture
    corners: Floats
    to_flat: Floats
    px_per_mm: float | None
    findings: tuple[Finding, ...]


def rectified(picture: Picture, photograph: Photograph) -> Rectified:
    """The sheet of a photograph, seen from straight above, under even light, on paper of one colour.

    Raises PictureError where its corners are not found, or what is said of it cannot be.
    """
    flat = straightened(picture, photograph)
    pixels, light = evened(flat.picture.pixels)
    _clear_rim(pixels)
    findings = list(flat.findings)
    if light > LIGHT_TOLD:
        what = f"Light varies {light:.1f} times across the sheet; it was evened out by the paper's colour."
        findings.append(Finding("note", what, "photograph", "Nothing to mend; look at pale areas.", "artwork"))
    seen = Picture(pixels, None, picture.lossy, picture.name)
    return Rectified(seen, flat.corners, flat.to_flat, flat.px_per_mm, tuple(findings))


def straightened(picture: Picture, photograph: Photograph) -> Rectified:
    """The same with perspective alone removed: colours and light stay as photographed."""
    pixels, name = picture.pixels, picture.name
    corners = _corners(picture, photograph)
    shape = shape_seen(corners, (pixels.shape[1], pixels.shape[0]))
    sheet, findings = _sheet(photograph, shape)
    size, density = _size(corners, sheet if sheet is not None else (shape, 1.0), name)
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], np.float32)
    to_flat = np.asarray(cv2.getPerspectiveTransform(corners.astype(np.float32), target), np.float64)
    px_per_mm = density if sheet is not None else None
    if photograph.known is not None:
        px_per_mm, found = _by_distance(photograph, to_flat, px_per_mm, name)
        findings += found
    straight = Picture(warped(pixels, to_flat, size), None, picture.lossy, name)
    return Rectified(straight, corners, to_flat, px_per_mm, findings)


def board_seen(picture: Picture, seen: BoardPhotograph, size: tuple[float, float], width_px: int) -> Pixels:
    """A photographed board of this size (mm) from straight above, so many px long; its light is left as it is.

    What of the board lies outside the photograph takes the colour of its rim. Raises as `straightened`.
    """
    scale = width_px / size[0]
    to_flat = board_to_flat(picture, seen, size, (scale, 0.0))
    return warped(picture.pixels, to_flat, (width_px, max(1, round(size[1] * scale))))


def board_to_flat(
    picture: Picture, seen: BoardPhotograph, size: tuple[float, float], place: tuple[float, float]
) -> Floats:
    """The homography from the photograph to a picture of the board of this size (mm).

    `place`: px in a mm, and by how many mm the picture goes beyond the board on every side.
    """
    corners = _corners(picture, seen.photograph)
    (wide, high), (left, front), (scale, around) = seen.photograph.sheet or size, seen.corner, place
    start, far = (around + left) * scale, (around + left + wide) * scale
    low, top = (around + size[1] - front) * scale, (around + size[1] - front - high) * scale
    target = np.array([[start, top], [far, top], [far, low], [start, low]], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(corners.astype(np.float32), target), np.float64)


def warped(pixels: Pixels, to_flat: Floats, size: tuple[int, int], beyond: int | None = None) -> Pixels:
    """The photograph as seen by a homography; what it does not show is `beyond`, or else the colour of its rim."""
    # cv2 counts from the middle of the first pixel, we from its corner
    shift = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]])
    warp = np.linalg.inv(shift) @ to_flat @ shift
    rim = cv2.BORDER_REPLICATE if beyond is None else cv2.BORDER_CONSTANT
    flat = cv2.warpPerspective(
        pixels, warp, size, flags=cv2.INTER_CUBIC, borderMode=rim, borderValue=(beyond or 0,) * 4
    )
    return np.asarray(flat, np.uint8)


def shape_seen(corners: Floats, size: tuple[int, int]) -> float:
    """Width over height of a rectangle that is seen as these corners (clockwise from its upper left one).

    Source: Zhang, He, Whiteboard scanning and image enhancement, Digital Signal Processing 17 (2007) 414-432: the
    sides' vanishing points give the focal length, for square pixels and a lens in the middle of the picture.
    """
    long = float(max(size))
    centred = np.column_stack([(corners - np.array(size) / 2.0) / long, np.ones(4)])
    upper_left, upper_right, lower_right, lower_left = centred
    across = _triple(upper_left, lower_right, lower_left) / _triple(upper_right, lower_right, lower_left)
    down = _triple(upper_left, lower_right, upper_right) / _triple(lower_left, lower_right, upper_right)
    wide, high = across * upper_right - upper_left, down * lower_left - upper_left
    lens2 = USUAL_LENS**2
    if min(abs(wide[2]), abs(high[2])) > FLATTEST_VIEW:
        seen = -float(wide[0] * high[0] + wide[1] * high[1]) / float(wide[2] * high[2])
        lens2 = seen if SHORTEST_LENS**2 < seen < LONGEST_LENS**2 else lens2
    lengths = [float((side[:2] ** 2).sum() / lens2 + side[2] ** 2) for side in (wide, high)]
    return float(np.sqrt(lengths[0] / lengths[1]))


def _triple(one: Floats, two: Floats, three: Floats) -> float:
    return float(np.cross(one, two) @ three)


def _corners(picture: Picture, photograph: Photograph) -> Floats:
    """The corners as given, or found."""
    if photograph.corners is None:
        return corners_of_sheet(picture.pixels, picture.name)
    corners = np.array(photograph.corners, np.float64)
    high, wide = picture.pixels.shape[:2]
    if (corners < 0.0).any() or (corners > np.array([wide, high])).any():
        what = "A corner of the sheet lies outside the picture."
        mend = f"The picture is {wide} x {high} px; count from its upper left corner, x to the right, y down."
        raise PictureError(what, f"{picture.name}, corners", mend)
    if not is_convex(corners):
        what = "The four corners do not go round the sheet clockwise."
        mend = "Give the upper left corner of the drawing first, then upper right, lower right, lower left."
        raise PictureError(what, f"{picture.name}, corners", mend)
    return corners


def _sheet(photograph: Photograph, shape: float) -> tuple[tuple[float, float] | None, tuple[Finding, ...]]:
    """Width and height of the sheet as it lies (mm), and a finding where it does not look like that."""
    if photograph.sheet is None:
        return None, ()
    wide, high = photograph.sheet
    if photograph.either_way and abs(np.log(shape * wide / high)) < abs(np.log(shape * high / wide)):
        wide, high = high, wide
    off = abs(float(np.log(shape * high / wide)))
    if off <= SHAPE_WITHIN:
        return (wide, high), ()
    what = f"The sheet looks {shape:.2f} times as wide as high; {_said(photograph)} is {wide / high:.2f} times."
    mend = "Check which sheet it is and which way it lies, or give its four corners; a cropped photograph misleads too."
    return (wide, high), (Finding("look", what, "photograph", mend, "artwork"),)


def _said(photograph: Photograph) -> str:
    return photograph.sheet_name or "what the job says"


def _size(corners: Floats, sheet: tuple[float, float], name: str) -> tuple[tuple[int, int], float]:
    """Width and height of the rectified picture (px), as fine as the photograph on average; and px in a unit."""
    x, y = corners[:, 0], corners[:, 1]
    seen = 0.5 * abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1)))
    density = float(np.sqrt(min(seen, LARGEST_PX) / (sheet[0] * sheet[1])))
    wide, high = (round(side * density) for side in sheet)
    if min(wide, high) < SMALLEST_SIDE_PX:
        what = f"The sheet is only {wide} x {high} px in this photograph."
        raise PictureError(what, name, "Go nearer, so that the sheet fills the picture.")
    return (wide, high), density


def _by_distance(
    photograph: Photograph, to_flat: Floats, by_sheet: float | None, name: str
) -> tuple[float, tuple[Finding, ...]]:
    """Px in a mm from a known distance, and a finding where the sheet says otherwise."""
    assert photograph.known is not None
    first, second, mm = photograph.known
    places = np.array([[first, second]], np.float64)
    one, other = cv2.perspectiveTransform(places, to_flat)[0]
    length = float(np.linalg.norm(one - other))
    if length < SMALLEST_SIDE_PX / 10:
        what = "The two places of the known distance are one and the same."
        raise PictureError(what, f"{name}, known_distance", "Give two places that lie far apart on the sheet.")
    found = length / mm
    if by_sheet is None or abs(found / by_sheet - 1.0) <= AGREE:
        return found, ()
    percent = 100.0 * abs(found / by_sheet - 1.0)
    what = f"The known distance and {_said(photograph)} disagree by {percent:.0f} %; the known distance is followed."
    return found, (Finding("look", what, "photograph", "Measure again, or leave one of them out.", "artwork"),)


def _clear_rim(pixels: NDArray[np.uint8]) -> None:
    """The outermost strip becomes paper: the edge of a sheet is never quite straight."""
    rim = max(RIM_PX, round(RIM_SHARE * max(pixels.shape[:2])))
    paper = paper_levels(pixels, rim)
    for strip in (pixels[:rim], pixels[-rim:], pixels[:, :rim], pixels[:, -rim:]):
        strip[:] = paper
