"""A drawing's painted shapes -> areas: the topmost paint shows, the rest is ground."""

from collections.abc import Sequence
from functools import partial

import numpy as np
import shapely
from shapely import Polygon

from purfle.errors import DrawingError
from purfle.geometry.crowding import MOST_ABOUT, edges_of, is_crowded, vertices_about
from purfle.hard_stop import busy
from purfle.model.artwork import OUTSIDE, Arc, Area, Areas, Colour, Drawing, PaintedShape
from purfle.model.pieces import Region
from purfle.tolerances import FLAT, GRID

DRAWING_ENDINGS = (".svg", ".dxf")
SLIVER = 1e-3
"""Faces below this area (mm2) are the dust of near-coincident lines and join their neighbour."""

MOST_SHOWN = 300_000
"""Corners of all that shows: the open sets have up to 120,000 in a drawing at 90 mm (bench/RESULTS.md)."""
MOST_SIDE_BY_SIDE = 12_000_000
"""Pairs of lines of all shapes whose boxes overlap: the open sets have up to two and a half million in a drawing."""
MOST_CROSSING, PAIRS_AN_EDGE = 1_000_000, 100
"""As many pairs may be in any drawing, and as many an edge in a large one: short edges of curves have 40 at most in the
open sets, long lines across one another have hundreds, and most of those cross."""
CROWD, FEW = 100_000, 16
"""Above so many vertices the shapes over one are taken away by themselves if they have one in so many of them."""
MANY = 1_000
"""The same above so many shapes, however few vertices they have: the open sets have 969 at most in a drawing."""
COUNTED_FIRST = 64
"""From so many shapes that show on, and again whenever they are half as many again, the corners about them count."""
SIMPLER = "Simplify the drawing there, or draw only what shows."


def is_drawing(file_name: str) -> bool:
    """Whether a file is read as a drawing (outlines) rather than as a picture (pixels), by its ending."""
    return file_name.lower().endswith(DRAWING_ENDINGS)


def areas_of_drawing(drawing: Drawing) -> Areas:
    """Areas that tile the drawing's bounding box, mm, y up; what nothing paints is ground.

    Promises: areas tile the frame; each boundary is stored once. Raises: DrawingError where nothing is left to cut.
    """
    visible = visible_regions(drawing)
    box = shapely.total_bounds([region for _, _, region in visible])
    frame = shapely.box(*(box + np.array([-1, -1, 1, 1]) * FLAT * 10))
    busy("finding its areas", lambda: drawing.name)
    faces = faces_of(visible, frame)
    busy("finding its areas", lambda: drawing.name)
    owners = owners_of(faces, visible)
    busy("finding its areas", lambda: drawing.name)
    origin = np.array(frame.bounds[:2])
    areas, ground = gather(faces, owners, visible, origin)
    busy("finding their boundaries", lambda: drawing.name)
    width, height = (np.array(frame.bounds[2:]) - origin).tolist()
    return Areas(width, height, "mm", areas, arcs_of(areas), ground, FLAT, drawing.not_carried)


def visible_regions(drawing: Drawing) -> list[tuple[str, Colour, Region]]:
    """Painter's order from the top down: what of each shape shows; touching shapes of one name and colour are one."""
    refuse_crowded(drawing)
    cover = Cover([shape.region for shape in reversed(drawing.shapes)])
    seen: list[tuple[str, Colour, Region]] = []
    left, counted = MOST_SHOWN, COUNTED_FIRST
    for number, shape in enumerate(reversed(drawing.shapes)):
        busy("finding what shows of a shape", partial(place_of, drawing, shape))
        shown = cover.leaves(number)
        if shown.is_empty or shown.area <= SLIVER:
            continue
        seen.append((shape.name, shape.colour, shown))
        left -= int(shapely.get_num_coordinates(shown))
        if left < 0:
            what = f"What shows of the shapes has more than {MOST_SHOWN} corners"
            raise DrawingError(what, place_of(drawing, shape), SIMPLER)
        if len(seen) >= counted:
            refuse_around(drawing, seen)
            counted = len(seen) * 3 // 2
    if not seen:
        raise DrawingError("Nothing in the drawing has any area", drawing.name, "Draw closed areas with a fill.")
    refuse_around(drawing, seen)
    return seen[::-1]


def refuse_around(drawing: Drawing, seen: Sequence[tuple[str, Colour, Region]]) -> None:
    """Refuse areas around one another in such numbers that comparing each with all about it would take too long."""
    parts = shapely.get_parts([region for _, _, region in seen])
    if len(parts) * int(shapely.get_num_coordinates(parts).sum()) <= MOST_ABOUT:
        return
    if vertices_about(parts.tolist()) > MOST_ABOUT:
        what = f"{len(parts)} areas lie around one another more often than can be sorted out"
        raise DrawingError(what, drawing.name, "Draw fewer rings around one another, or let in a part of it by itself.")


def refuse_crowded(drawing: Drawing) -> None:
    """Refuse a drawing whose lines lie over one another so often that its areas could not be found in time."""
    regions = [shape.region for shape in drawing.shapes]
    rings = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(regions)), return_index=True)
    edges = edges_of(*rings)
    if is_crowded(edges, min(MOST_SIDE_BY_SIDE, max(MOST_CROSSING, PAIRS_AN_EDGE * len(edges)))):
        what = "The lines of the drawing cross, or lie side by side, more often than can be sorted out"
        largest = max(drawing.shapes, key=lambda shape: int(shapely.get_num_coordinates(shape.region)))
        raise DrawingError(what, place_of(drawing, largest), SIMPLER)


def place_of(drawing: Drawing, shape: PaintedShape) -> str:
    """Where a shape of a drawing stands, for the maker."""
    left, low, right, high = shape.region.bounds if not shape.region.is_empty else (0.0, 0.0, 0.0, 0.0)
    name = f'shape "{shape.name}", ' if shape.name else ""
    return f"{drawing.name}, {name}{(left + right) / 2.0:.1f} mm from the left and {(low + high) / 2.0:.1f} mm up"


class Cover:
    """What shapes, from the top down, leave of those below them.

    Those above are kept as ever smaller unions. Each is at least twice as large as the next in vertices, so that no
    vertex is gone through more than about log2 n times; one union that grew with every shape went through all of it
    each time. In a drawing of thousands of shapes those few that lie over one are taken away by themselves: the unions
    reach over all of it.
    """

    def __init__(self, shapes: Sequence[Region]) -> None:
        self.regions = shapely.set_precision(np.array(shapes, object), GRID)
        self.sizes = shapely.get_num_coordinates(self.regions)
        self.before = np.cumsum(self.sizes) - self.sizes
        self.is_large = len(shapes) > MANY or self.sizes.sum() > CROWD
        self.tree = shapely.STRtree(self.regions)
        self.unions: list[Region] = []
        self.united = 0

    def leaves(self, number: int) -> Region:
        """What those before it leave of a shape."""
        region: Region = self.regions[number]
        waiting = int(self.before[number] - self.before[self.united])
        size = waiting + sum(int(shapely.get_num_coordinates(one)) for one in self.unions)
        if self.is_large:
            above = np.sort(self.tree.query(region, predicate="intersects"))
            above = above[above < number]
            few = (size > CROWD or len(self.regions) > MANY) and self.sizes[above].sum() < size / FEW
            if few or not len(above):
                return self._without(region, self.regions[above].tolist())
        for one in self.regions[self.united : number].tolist():
            self._add(one)
        self.united = number
        return self._without(region, self.unions)

    def _add(self, region: Region) -> None:
        while self.unions and shapely.get_num_coordinates(self.unions[-1]) < 2 * shapely.get_num_coordinates(region):
            region = polygonal(shapely.union(self.unions.pop(), region, grid_size=GRID))
        self.unions.append(region)

    def _without(self, region: Region, above: Sequence[Region]) -> Region:
        """What is left of a region: what lies above it taken away one after another."""
        left = region
        for part in above:
            if left.is_empty:
                return left
            if part.intersects(left):
                left = polygonal(shapely.difference(left, part, grid_size=GRID))
        return left


def polygonal(geometry: Region) -> Region:
    """The polygons of a geometry."""
    parts = [g for g in shapely.get_parts(geometry) if g.geom_type == "Polygon" and g.area > 0]
    if not parts:
        return Polygon()
    return parts[0] if len(parts) == 1 else shapely.multipolygons(parts)


def faces_of(visible: list[tuple[str, Colour, Region]], frame: Polygon) -> list[Polygon]:
    """The faces of all boundaries noded together once, in a stable order."""
    lines = shapely.union_all([shapely.boundary(r) for _, _, r in visible] + [frame.exterior], grid_size=GRID)
    faces = list(shapely.get_parts(shapely.polygonize(list(shapely.get_parts(lines)))))
    return sorted(faces, key=lambda face: face.bounds)


def owners_of(faces: list[Polygon], visible: list[tuple[str, Colour, Region]]) -> list[int]:
    """For each face the number of the visible region that holds it, or -1 for bare ground."""
    tree = shapely.STRtree([region for _, _, region in visible])
    found, holders = tree.query([face.representative_point() for face in faces], predicate="intersects")
    owners = [-1] * len(faces)
    for face, holder in sorted(zip(found.tolist(), holders.tolist(), strict=True), reverse=True):
        owners[face] = holder
    return owners


def gather(
    faces: list[Polygon], owners: list[int], visible: list[tuple[str, Colour, Region]], origin: np.ndarray
) -> tuple[tuple[Area, ...], frozenset[int]]:
    """Faces of one owner joined into connected areas, numbered; slivers given to the neighbour they touch most."""
    tree = shapely.STRtree(faces)
    for k, face in enumerate(faces):
        if face.area < SLIVER:
            owners[k] = neighbour_of(k, faces, owners, tree)
    held: dict[int, list[Polygon]] = {}
    for face, owner in zip(faces, owners, strict=True):
        held.setdefault(owner, []).append(face)
    areas: list[Area] = []
    ground: set[int] = set()
    for owner in sorted(held):
        own = shapely.union_all(held[owner])
        name, colour = ("ground", (255, 255, 255)) if owner < 0 else visible[owner][:2]
        for part in shapely.get_parts(shapely.transform(own, lambda xy: xy - origin)):
            if owner < 0:
                ground.add(len(areas))
            areas.append(Area(len(areas), colour, part, name))
    return tuple(areas), frozenset(ground)


def neighbour_of(k: int, faces: list[Polygon], owners: list[int], tree: shapely.STRtree) -> int:
    """The owner of the face that shares the longest border with face k, the first of several; its own if none does."""
    beside = [j for j in sorted(tree.query(faces[k], predicate="intersects").tolist()) if j != k]
    if not beside:
        return owners[k]
    border = faces[k].boundary
    shared = [border.intersection(faces[j].boundary).length for j in beside]
    number: int = beside[int(np.argmax(shared))]
    return owners[number]


def arcs_of(areas: tuple[Area, ...]) -> tuple[Arc, ...]:
    """Each boundary stretch between two areas once, merged between junctions; those to the outside last.

    Areas share every vertex, so two of them lie beside each other where they have an edge in common: that takes time
    in proportion to the edges, where overlays of outlines two by two grew with their product.
    """
    ends, left = directed_edges(areas)
    number, twin = numbered_ends(ends)
    right = np.where(twin < 0, OUTSIDE, left[twin])
    kept = np.flatnonzero((left < right) | (right == OUTSIDE))
    pair = np.stack((right[kept] == OUTSIDE, left[kept], right[kept]), axis=1).astype(np.int64)
    order = np.lexsort((number[kept, 1], number[kept, 0], *pair.T[::-1]))
    kept, pair = kept[order], pair[order]
    group = np.cumsum(np.any(np.diff(pair, axis=0, prepend=-2), axis=1)) - 1
    joined = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(ends[kept]), indices=group), directed=True)
    lines, of = shapely.get_parts(joined, return_index=True)
    first = np.flatnonzero(np.diff(group, prepend=-1))
    between = zip(lines, left[kept][first][of].tolist(), right[kept][first][of].tolist(), strict=True)
    return tuple(Arc(shapely.get_coordinates(line), one, other) for line, one, other in between)


def directed_edges(areas: tuple[Area, ...]) -> tuple[np.ndarray, np.ndarray]:
    """All edges of areas, as (n, 2, 2) places with the area to their left, and the number of that area."""
    parts, part_of = shapely.get_parts(shapely.orient_polygons([area.region for area in areas]), return_index=True)
    rings, ring_of = shapely.get_rings(parts, return_index=True)
    places, ring = shapely.get_coordinates(rings, return_index=True)
    first = np.flatnonzero(ring[:-1] == ring[1:])
    numbers = np.array([area.number for area in areas])
    return np.stack((places[first], places[first + 1]), axis=1), numbers[part_of[ring_of[ring[first]]]]


def numbered_ends(edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Numbers of both ends of each edge, and which edge runs the other way between the same places, -1 if none."""
    places = edges.reshape(-1, 2) + 0.0  # a nought has no sign here
    # complex numbers are in the order of their parts, and sorted far sooner than rows
    _, number = np.unique(np.ascontiguousarray(places).view(np.complex128).ravel(), return_inverse=True)
    number = number.reshape(-1, 2)
    forth, back = (number @ np.array(way) for way in ((len(edges) * 2, 1), (1, len(edges) * 2)))
    order = np.argsort(forth, kind="stable")
    place = np.minimum(np.searchsorted(forth[order], back), len(order) - 1)
    return number, np.where(forth[order][place] == back, order[place], -1)
