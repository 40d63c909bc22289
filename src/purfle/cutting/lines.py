"""The finished lines: what each recess and part is cut to in the frame of its set-up, and what is left to chisel."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from shapely import Polygon, box

from purfle.cutting.rooms import not_reached, room_for, too_narrow, within
from purfle.errors import Fault
from purfle.geometry.offsetting import (
    Region,
    closing,
    difference,
    grow,
    intersection,
    polygonal,
    polygons,
    region_of,
    shrink,
    swift_offset,
    union_of,
)
from purfle.geometry.pose import Pose
from purfle.model.board import Fitting, Inlay, Layout
from purfle.model.cutting import CutLine
from purfle.model.findings import Finding
from purfle.model.offcuts import OnOffcuts, Place
from purfle.model.shop import Cutter
from purfle.tolerances import PATH_JOIN, SIDE_AS_CUT


@dataclass(frozen=True, slots=True)
class Named:
    """A finished line and what the maker calls it. `cut_by`: its parts with the cutter that finishes each.

    `fibres`: where it is cut into inserts, their regions in the set-up, each with the direction of its fibres there.
    """

    line: CutLine
    name: str
    cut_by: tuple[tuple[Region, Cutter], ...] = ()
    fibres: tuple[tuple[Region, float], ...] = ()


def recess_ids(layout: Layout) -> tuple[str, ...]:
    """The line ids of the inlays' recesses, in the order of `layout.inlays`."""
    return tuple(f"recess-{number}" for number in range(1, len(layout.inlays) + 1))


def fibres_of_hosts(
    line_id: str, frame: Pose, layout: Layout, on_offcuts: OnOffcuts
) -> tuple[tuple[Region, float], ...]:
    """The inserts that a recess is cut into, with their fibres as they lie on the offcuts; both in its set-up."""
    inlay = dict(zip(recess_ids(layout), layout.inlays, strict=True)).get(line_id)
    if inlay is None:
        return ()
    hosts = {number for insert in inlay.fit.inserts for number in insert.hosts}
    grains = {offcut.name: offcut.grain for offcut in on_offcuts.used}
    poses = {one.name: one.pose for one in layout.inlays}
    return tuple(
        (
            polygonal(frame.region(poses[inlay.into].region(place.to_artwork.region(place.insert)))),
            frame.direction(poses[inlay.into].direction(place.to_artwork.direction(grains[place.offcut]))),
        )
        for place in on_offcuts.places
        if place.part.inlay == inlay.into and place.part.number in hosts and not place.spare
    )


def fitting_id(fitting: Fitting) -> str:
    """The line id of a fitting's recess."""
    return fitting.id


def part_ids(layout: Layout, places: Sequence[Place]) -> tuple[str, ...]:
    """The line ids of placed parts, in the order of `places`: "piece-7", "piece-7-spare-2", "key-1"."""
    stems = dict(_part_stems(layout.inlays))
    ids: list[str] = []
    for place in places:
        stem = stems.get((place.part.inlay, place.part.number), f"piece-{place.part.number}")
        wanted = f"{stem}-spare" if place.spare else stem
        name, count = wanted, 1
        while name in ids:
            count += 1
            name = f"{wanted}-{count}"
        ids.append(name)
    return tuple(ids)


def _part_stems(inlays: Sequence[Inlay]) -> Iterator[tuple[tuple[str, int], str]]:
    """The first picture's parts are pieces by their number, a key's only part is a key by its count."""
    pictures = keys = 0
    counts: dict[str, int] = {}
    for inlay in inlays:
        if inlay.into:  # numbers run through all orders of a picture
            pictures = counts[inlay.into]
        else:
            pictures, keys = pictures + (inlay.kind == "picture"), keys + (inlay.kind == "key")
        counts[inlay.name] = pictures
        for insert in inlay.fit.inserts:
            if inlay.kind == "picture":
                before = "" if pictures == 1 else f"picture-{pictures}-"
                yield (inlay.name, insert.number), f"{before}piece-{insert.number}"
            elif inlay.kind == "plug":
                yield (inlay.name, insert.number), f"plug-{insert.number}"
            else:
                after = "" if len(inlay.fit.inserts) == 1 else f"-piece-{insert.number}"
                yield (inlay.name, insert.number), f"key-{keys}{after}"


def inlay_line(
    inlay: Inlay, line_id: str, frame: Pose, cutter_of: Callable[[float], Cutter]
) -> tuple[Named, list[Finding], list[Fault]]:
    """The recess of an inlay in its set-up, as its cutters leave it, and the corners that are left to the chisel.

    Each connected recess is finished by the smallest of the cutters of its inserts. The fit promises that it reaches
    all of it but those corners: this looks again.
    """
    name = f"recess of {inlay.name}"
    faults: list[Fault] = []
    corners: list[Polygon] = []
    parts = [(region, cutter_of(radius)) for region, radius in _recess_by_radius(inlay, frame)]
    reached: list[tuple[Region, Cutter]] = []
    for region, cutter in parts:
        narrow = [_narrow(name, part) for part in too_narrow(region, cutter.radius)]
        room = room_for(region, cutter.radius)
        corners += [] if narrow else not_reached(region, room, cutter.radius)
        faults += narrow
        reached.append((grow(room, cutter.radius), cutter))
    meant = union_of([frame.region(inlay.pose.region(part)) for part in inlay.fit.pieces.chiselled])
    chiselled = tuple(corner for corner in corners if corner.intersects(meant))
    standing = [corner for corner in corners if not corner.intersects(meant)]
    findings = [_stays_standing(name, standing, frame)] if standing else []
    cut_by = tuple(reached if chiselled else parts)
    as_cut = cut_by[0][0] if len(cut_by) == 1 else union_of([region for region, _ in cut_by])
    return Named(CutLine(line_id, "recess", as_cut, inlay.depth, chiselled), name, cut_by), findings, faults


def _recess_by_radius(inlay: Inlay, frame: Pose) -> list[tuple[Region, float]]:
    """The recess of an inlay in its set-up, taken apart by the radius that finishes it, the largest first."""
    parts = inlay.fit.recess_parts()
    radii = sorted({radius for _, radius in parts}, reverse=True)
    if len(radii) < 2:
        return [(polygonal(frame.region(inlay.recess)), radii[0] if radii else inlay.fit.rule.cutter_radius)]
    return [
        (polygonal(frame.region(inlay.pose.region(region_of([part for part, its in parts if its == radius])))), radius)
        for radius in radii
    ]


def fitting_line(fitting: Fitting, frame: Pose, board: Polygon, radius: float) -> tuple[Named, list[Fault]]:
    """The recess that a round cutter leaves for hardware, and the corners that are left to the chisel.

    `board` is its outline in the board frame. At an open edge the line runs a diameter over it, so that the corner at
    the edge is square.
    """
    wanted: Region = fitting.wanted
    if fitting.open_edge:
        wanted = _over_the_edge(fitting.wanted, board, 2.0 * radius)
    wanted = polygonal(frame.region(wanted))
    name = fitting.name
    faults = [_narrow(name, part) for part in too_narrow(wanted, radius)]
    room = room_for(wanted, radius)
    corners = [] if faults else not_reached(wanted, room, radius)
    on_board = polygonal(frame.region(board))
    remnants = tuple(part for corner in corners for part in polygons(intersection(corner, on_board)))
    line = CutLine(fitting_id(fitting), "recess", grow(room, radius) if corners else wanted, fitting.depth, remnants)
    return Named(line, name), faults


def called(place: Place, line_id: str) -> str:
    """A placed part as the maker knows it, by the number that sheets give it: "piece 7, wing", "butterfly key, spare".

    `line_id`: that of its line, which says what kind of part it is.
    """
    number, name = f"piece {place.part.number}", place.part.name
    words = [number, name] if name and f"piece-{place.part.number}" in line_id else [name or number]
    if line_id.startswith("key-"):
        words = [name or "butterfly key"]
    return ", ".join([*words, *(["spare"] if place.spare else [])])


def part_line(place: Place, line_id: str, thickness: float, cutter: Cutter) -> Named:
    """The outline of a part on its offcut, or of the plate that it hangs on, and the cutter that finishes it."""
    name = called(place, line_id)
    if place.part.hangs is not None:
        name, line_id = f"plate of {name}", f"{line_id}-plate"
    return Named(CutLine(line_id, "part", place.region, thickness), name, ((place.region, cutter),))


def tighter_than(part: Region, radius: float) -> list[Polygon]:
    """Where the outline of a part has a corner or slot that a cutter of this radius cannot follow from outside."""
    # nearly always there is none, and the dry fit sees what a look alone could miss
    if within(swift_offset(swift_offset(part, radius), -radius), part, SIDE_AS_CUT / 2.0):
        return []
    filled = difference(closing(part, radius), part)
    deep = shrink(filled, SIDE_AS_CUT / 2.0)
    return [] if deep.is_empty else [gap for gap in polygons(filled) if gap.intersects(deep)]


def _over_the_edge(wanted: Polygon, board: Polygon, reach: float) -> Region:
    """The wanted shape, carried on straight over every edge of the board that it touches."""
    inside = intersection(wanted, board)
    left, low, right, high = board.bounds
    strips = (
        (box(left, low, left + PATH_JOIN, high), (-reach, 0.0)),
        (box(right - PATH_JOIN, low, right, high), (reach, 0.0)),
        (box(left, low, right, low + PATH_JOIN), (0.0, -reach)),
        (box(left, high - PATH_JOIN, right, high), (0.0, reach)),
    )
    beyond = [
        box(x0 + min(dx, 0.0), y0 + min(dy, 0.0), x1 + max(dx, 0.0), y1 + max(dy, 0.0))
        for strip, (dx, dy) in strips
        for x0, y0, x1, y1 in (part.bounds for part in polygons(inside.intersection(strip)))
    ]
    return union_of([inside, *beyond])


def _narrow(name: str, part: Polygon) -> Fault:
    x, y = part.representative_point().coords[0]
    return Fault(
        f"the {name} is narrower than the cutter",
        f"at x {x:.1f} mm, y {y:.1f} mm from the program's zero",
        "choose a smaller cutter, or make the recess wider",
    )


def _stays_standing(name: str, corners: list[Polygon], frame: Pose) -> Finding:
    largest = max(corners, key=lambda corner: corner.area)
    x, y = frame.inverse().point(*largest.representative_point().coords[0])
    many = "a corner" if len(corners) == 1 else f"{len(corners)} corners"
    return Finding(
        "stop",
        f"the cutter cannot reach {many} of the {name}: up to {largest.area:.2f} mm2 stay standing",
        f"the largest at x {x:.1f} mm, y {y:.1f} mm from the datum corner",
        "choose a smaller cutter for the fit",
        "cutting",
        (x, y),
    )
