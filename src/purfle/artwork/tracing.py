"""A picture becomes areas that share their boundaries: the steps in their order."""

import numpy as np

from purfle.artwork.arc_graph import arc_graph
from purfle.artwork.colour import ciede2000, lab_of
from purfle.artwork.crossings import moved_crossings, softness
from purfle.artwork.doubts import (
    Sight,
    doubts_of,
    expected_error,
    refuse_if_no_areas,
    refuse_if_not_flat,
    refuse_if_shaded,
    weak_share,
)
from purfle.artwork.labels import Labelled, Labels, label
from purfle.artwork.light import even_out
from purfle.artwork.mixing import mixing_of
from purfle.artwork.own_colours import with_own_colours
from purfle.artwork.palette import Palette, merged_to, palette_of
from purfle.artwork.parts import without_specks
from purfle.artwork.pixels import CLEAN, Pixels, contrast_of, flat_parts, pixels_of, values_of
from purfle.artwork.small_colours import with_small_colours
from purfle.artwork.thin_parts import without_smears
from purfle.artwork.tiling import Tiling, tile
from purfle.artwork.woods import hex_of
from purfle.errors import PictureError
from purfle.model.artwork import Area, Areas, Colour, Picture, Place, TraceRule

GROUND_WITHIN = 12.0
"""A ground colour asked for must be this near (CIEDE2000) to one of the picture's."""
ABOUT = 1
"""Pixels on either side of the place that is to be ground which are looked at too."""
SEEN_THROUGH = 128.0
"""A colour with less alpha than this is bare ground."""


def areas_of_picture(picture: Picture, rule: TraceRule) -> Areas:
    """Areas that tile the picture exactly, y up, unit px; the background's areas are in `ground`.

    Raises PictureError where the picture has no flat colours, only one, or nothing but specks.
    """
    pixels, light = _read_light(picture)
    palette, labelled = _labelled(pixels, picture, rule)
    labels = without_smears(pixels, palette, labelled.labels)
    palette, labels = with_own_colours(pixels, palette, labels, rule.number_of_colours is not None)
    parts, specks = without_specks(labels, rule.smallest_px)
    refuse_if_no_areas(len(parts.owners), picture.name)
    labels = parts.labels
    weak = weak_share(labels, pixels, palette)
    refuse_if_shaded(weak, picture.name)
    colours = pixels.weigh(palette.colours)
    soft = softness(labels, pixels.weighed, colours)
    reach = 2 if soft < 0.38 else 3 if soft < 0.64 else 4
    contrast = contrast_of(pixels, colours)
    graph = arc_graph(labels, parts)
    mixing = mixing_of(labels, pixels.weighed, colours, pixels.noise < CLEAN and not picture.lossy and reach == 2)
    tiling = tile(graph, moved_crossings(graph, labels, pixels.weighed, mixing, reach), pixels.noise, contrast)
    ground, rim_share = _ground(labels, palette, picture, rule)
    error = expected_error(pixels, soft)
    sight = Sight(light, soft, specks, weak, rim_share, tiling.roughened)
    doubts = doubts_of(sight, pixels, rule.smallest_px, error)
    areas = _areas(tiling, graph.labels_of, palette)
    bare = frozenset(number for number, owner in enumerate(graph.labels_of) if int(owner) in ground)
    height, width = labels.shape
    return Areas(float(width), float(height), "px", areas, tiling.arcs, bare, error, doubts)


def _read_light(picture: Picture) -> tuple[Pixels, float]:
    """The picture's pixels with uneven light taken out, and how many times it varied."""
    values = values_of(picture)
    noise, flat = flat_parts(values, picture.lossy)
    refuse_if_not_flat(flat, picture.name)
    # light varies so slowly that what was flat stays flat
    evened, light = even_out(values, flat)
    return pixels_of(evened, noise, flat, picture.lossy), light


def _labelled(pixels: Pixels, picture: Picture, rule: TraceRule) -> tuple[Palette, Labelled]:
    """The picture's colours, as many as are asked for, and the colour of each pixel."""
    reach = 3 if pixels.noise < CLEAN and not picture.lossy else 4
    palette = palette_of(pixels, rule.smallest_px)
    labelled = label(pixels, palette, reach)
    known = len(palette.colours)
    pixels, palette = with_small_colours(pixels, palette, labelled)
    if len(palette.colours) < 2:
        what = "The whole picture is one colour; there is nothing to let in."
        raise PictureError(what, picture.name, "Choose a picture whose areas differ in colour from their ground.")
    if rule.number_of_colours is not None:
        if rule.number_of_colours < 2:
            what = f"{rule.number_of_colours} colours were asked for; the ground and one wood are the least."
            raise PictureError(what, picture.name, "Ask for two colours or more, the ground counted.")
        palette = merged_to(palette, rule.number_of_colours)
    return palette, labelled if len(palette.colours) == known else label(pixels, palette, reach)


def _ground(labels: Labels, palette: Palette, picture: Picture, rule: TraceRule) -> tuple[frozenset[int], float]:
    """Palette numbers that are bare ground, and the share of the picture's rim that they take up."""
    rim = np.concatenate([labels[0], labels[-1], labels[1:-1, 0], labels[1:-1, -1]])
    share = np.bincount(rim, minlength=len(palette.colours)) / len(rim)
    if rule.ground_colour is not None:
        return frozenset({_asked_ground(palette, rule.ground_colour, picture.name)}), 1.0
    if rule.ground_at is not None:
        return frozenset({_ground_at(labels, rule.ground_at, picture.name)}), 1.0
    if palette.colours.shape[1] == 4:
        empty = np.nonzero(palette.colours[:, 3] < SEEN_THROUGH)[0].tolist()
        if empty:
            return frozenset(empty), 1.0
    most = int(share.argmax())
    return frozenset({most}), float(share[most])


def _ground_at(labels: Labels, place: Place, name: str) -> int:
    """The palette number at a place, the commonest one about it, since single pixels may be smeared."""
    column, row = int(place[0]), int(place[1])
    high, wide = labels.shape
    if not (0 <= column < wide and 0 <= row < high):
        what = f"The place {place[0]:g}, {place[1]:g} px lies outside the picture."
        mend = f"The picture is {wide} x {high} px, counted from its upper left."
        raise PictureError(what, f"{name}, ground_at", mend)
    about = labels[max(row - ABOUT, 0) : row + ABOUT + 1, max(column - ABOUT, 0) : column + ABOUT + 1]
    return int(np.bincount(about.ravel()).argmax())


def _asked_ground(palette: Palette, wanted: Colour, name: str) -> int:
    differences = ciede2000(lab_of(palette.colours[:, :3]), lab_of(np.array(wanted)))
    nearest = int(differences.argmin())
    if differences[nearest] > GROUND_WITHIN:
        found = ", ".join(hex_of(_colour(palette, number)) for number in range(len(palette.colours)))
        what = f"No area of the picture has the ground colour {hex_of(wanted)}."
        raise PictureError(what, name, f"Name one of the picture's colours: {found}.")
    return nearest


def _colour(palette: Palette, number: int) -> Colour:
    red, green, blue = (int(value) for value in np.clip(np.rint(palette.colours[number, :3]), 0, 255))
    return red, green, blue


def _areas(tiling: Tiling, labels_of: Labels, palette: Palette) -> tuple[Area, ...]:
    colours = [_colour(palette, number) for number in range(len(palette.colours))]
    faces = enumerate(zip(tiling.faces, labels_of, strict=True))
    return tuple(Area(number, colours[int(owner)], face) for number, (face, owner) in faces)
