"""What is left of an insert below a recess that is cut into it once it is glued and levelled."""

from collections.abc import Iterator

import shapely

from purfle.model.board import Inlay
from purfle.model.findings import Finding
from purfle.tolerances import HOST_LEFT
from purfle.units import in_mm


def host_left(inlay: Inlay, host: Inlay) -> float:
    """Wood of the host below the recess of an inlay that is let into it, mm: less than 0 where it is cut through.

    The host is levelled flush with the face, so of it stands its recess depth less the glue room below it.
    """
    return host.depth - host.glue_room - inlay.depth


def host_findings(inlays: tuple[Inlay, ...]) -> Iterator[Finding]:
    """Recesses that leave too little of the inserts they are cut into."""
    by_name = {inlay.name: inlay for inlay in inlays}
    for inlay in inlays:
        if inlay.into and inlay.fit.walls is None:
            left = host_left(inlay, by_name[inlay.into])
            middle = shapely.point_on_surface(inlay.recess)
            place = (float(middle.x), float(middle.y))
            mend = "give a smaller over_depth, or let the design in deeper"
            if left <= 0.0:
                deep = in_mm(inlay.depth)
                what = f"the recess for {inlay.name}, {deep} deep, comes through the insert it is cut into"
                yield Finding("stop", what, inlay.name, mend, "board", place)
            elif left < HOST_LEFT:
                what = f"only {left:.2f} mm of the insert is left under the recess for {inlay.name}"
                yield Finding("look", what, inlay.name, mend, "board", place)
