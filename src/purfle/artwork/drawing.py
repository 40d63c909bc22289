"""A drawing's painted shapes -> areas: the topmost paint shows, the rest is ground."""

import numpy as np
import shapely
from shapely import Polygon

from purfle.errors import DrawingError
from purfle.model.artwork import OUTSIDE, Arc, Area, Areas, Colour, Drawing
from purfle.model.pieces import Region
from purfle.tolerances import FLAT, GRID

DRAWING_ENDINGS = (".svg", ".dxf")
SLIVER = 1e-3
"""Faces below this area (mm2) are the dust of near-coincident lines and join their neighbour."""


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
    faces = faces_of(visible, frame)
    owners = owners_of(faces, visible)
    origin = np.array(frame.bounds[:2])
    areas, ground = gather(faces, owners, visible, origin)
    width, height = (np.array(frame.bounds[2:]) - origin).tolist()
    return Areas(width, height, "mm", areas, arcs_of(areas), ground, FLAT, drawing.not_carried)


def visible_regions(drawing: Drawing) -> list[tuple[str, Colour, Region]]:
    """Painter's order from the top down: what of each shape shows; touching shapes of one name and colour are one."""
    cover: list[Region] = []
    seen: list[tuple[str, Colour, Region]] = []
    for shape in reversed(drawing.shapes):
        region = shapely.set_precision(shape.region, GRID)
        shown = polygonal(shapely.difference(region, cover_over(region, cover), grid_size=GRID))
        cover_with(region, cover)
        if not shown.is_empty and shown.area > SLIVER:
            seen.append((shape.name, shape.colour, shown))
    if not seen:
        raise DrawingError("Nothing in the drawing has any area", drawing.name, "Draw closed areas with a fill.")
    return seen[::-1]


def cover_with(region: Region, cover: list[Region]) -> None:
    """Add a region to a cover, which is kept as ever smaller unions.

    Each is at least twice as large as the next in vertices, so that no vertex is gone through more than about log2 n
    times; one union that grew with every shape went through all of it each time.
    """
    added = region
    while cover and shapely.get_num_coordinates(cover[-1]) < 2 * shapely.get_num_coordinates(added):
        added = polygonal(shapely.union(cover.pop(), added, grid_size=GRID))
    cover.append(added)


def cover_over(region: Region, cover: list[Region]) -> Region:
    """What of a cover lies about a region."""
    box = shapely.box(*(np.array(region.bounds) + np.array([-1, -1, 1, 1]) * FLAT))
    parts = [shapely.intersection(part, box) for part in cover if part.intersects(box)] if not region.is_empty else []
    return polygonal(shapely.union_all(parts, grid_size=GRID))


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
    """Each boundary stretch between two areas once, merged between junctions."""
    tree = shapely.STRtree([area.region for area in areas])
    arcs: list[Arc] = []
    for a, b in zip(*tree.query([area.region for area in areas], predicate="touches"), strict=True):
        if a < b:
            shared = areas[a].region.boundary.intersection(areas[b].region.boundary)
            arcs += [Arc(points, *sides(points, areas[a], areas[b])) for points in merged(shared)]
    whole = shapely.union_all([area.region for area in areas])
    for area in areas:
        outer = area.region.boundary.intersection(whole.boundary)
        arcs += [Arc(points, area.number, OUTSIDE) for points in merged(outer)]
    return tuple(arcs)


def merged(lines: shapely.Geometry) -> list[np.ndarray]:
    """Lines joined where exactly two meet, as point arrays."""
    parts = [g for g in shapely.get_parts(lines) if g.geom_type == "LineString"]
    joined = shapely.line_merge(shapely.multilinestrings(parts)) if parts else shapely.MultiLineString()
    return [shapely.get_coordinates(line) for line in shapely.get_parts(joined)]


def sides(points: np.ndarray, a: Area, b: Area) -> tuple[int, int]:
    """The areas to the left and right of an arc that separates a and b."""
    middle, step = (points[0] + points[1]) / 2, points[1] - points[0]
    left = np.array([-step[1], step[0]]) / max(float(np.hypot(*step)), GRID) * GRID * 10
    inside_a = a.region.distance(shapely.Point(middle + left)) < a.region.distance(shapely.Point(middle - left))
    return (a.number, b.number) if inside_a else (b.number, a.number)
