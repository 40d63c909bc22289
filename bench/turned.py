"""Whether a drawing turned, mirrored, or moved by less than a thousandth of a mm gives the same pieces.

    python bench/turned.py [--count 60] [--first 0] [--set colour ...]

Random partitions (two to five discs and bars over one another, three woods, 1/8 in, 0.1 mm), or drawings of the open
sets made 90 mm large, each made into pieces as it is, turned by a whole number of degrees (every second one mirrored
too), and with every place moved by 0.0001 mm, equal places alike. Prints how far outlines differ once turned back, and
on how many drawings by more than 0.03 mm, by names or by findings. What the third way shows is no matter of directions:
a decision hangs on less than the grid.
"""

import argparse
import contextlib
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from corpus import SETS, sample
from shapely import Point, box
from shapely.affinity import rotate

from purfle import artwork
from purfle.errors import FitError, PurfleError
from purfle.files.svg_drawing import read_svg
from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, Fit, FitRule

RULE = FitRule(cutter_radius=1.5875, seam=0.1)
WOODS = ("holly", "wenge", "maple")
SAME, NOISE = 0.03, 1e-4
SIZE = 90.0


def partition(chance: np.random.Generator) -> tuple[DrawnArea, ...]:
    """The visible areas of shapes laid over one another, the last on top."""
    laid = []
    for _ in range(chance.integers(2, 6)):
        (x, y), (a, b) = chance.integers(0, 301, 2) / 10, chance.integers(20, 121, 2) / 10
        bar = rotate(box(x, y, x + 2 * a, y + b), int(chance.integers(0, 90)))
        laid.append((WOODS[chance.integers(3)], Point(x, y).buffer(a) if chance.random() < 0.5 else bar))
    areas = []
    for place, (wood, shape) in enumerate(laid):
        seen = shape.difference(shapely.union_all([above for _, above in laid[place + 1 :]]))
        if seen.area > 0.01:
            areas.append(DrawnArea(f"area {place}", wood, (0, 0, 0), seen))
    return tuple(areas)


def fitted(areas: tuple[DrawnArea, ...]) -> Fit | None:
    """The fit, None where it is refused."""
    try:
        return let_in(make_pieces(areas, RULE), RULE)
    except FitError:
        return None


def moved(areas: tuple[DrawnArea, ...], way) -> tuple[DrawnArea, ...]:
    return tuple(replace(area, region=shapely.transform(area.region, way)) for area in areas)


def apart(here: Fit | None, there: Fit | None, back) -> tuple[float, bool]:
    """How far outlines differ in mm, and whether names and findings are the same."""
    if here is None or there is None:
        return (0.0, True) if here is there else (math.inf, False)
    images = [shapely.transform(piece.region.boundary, back) for piece in there.pieces.pieces]
    edges = [piece.region.boundary for piece in here.pieces.pieces]
    names = [sorted(insert.name for insert in one.inserts) for one in (here, there)]
    told = [sorted(finding.what for finding in one.pieces.findings) for one in (here, there)]
    off = max(min(shapely.hausdorff_distance(edge, image) for image in images) for edge in edges)
    return off, names[0] == names[1] and told[0] == told[1]


def noise(places: np.ndarray) -> np.ndarray:
    """Places moved a little, equal ones alike."""
    x, y = places.T
    return places + NOISE * np.column_stack((np.sin(997 * x + 331 * y), np.cos(613 * x - 787 * y)))


def drawn(data: bytes, name: str) -> tuple[DrawnArea, ...]:
    """The areas of an SVG drawing made 90 mm large on its longer side, a wood for each colour."""
    drawing = read_svg(data, name)
    areas = artwork.areas_of_drawing(read_svg(data, name, enlarged=SIZE / max(drawing.design_size)))
    colours = dict.fromkeys(area.colour for area in areas.areas if area.number not in areas.ground)
    woods = [("#{:02x}{:02x}{:02x}".format(*colour), colour) for colour in colours]
    return artwork.choose_woods(areas, SIZE / max(artwork.design_size(areas)), woods, ()).areas


def drawings(wish: argparse.Namespace) -> Iterator[tuple[str, int, tuple[DrawnArea, ...]]]:
    """What is to be turned: a name, by how many degrees, and the areas."""
    numbers = range(wish.first, wish.first + wish.count)
    for seed in numbers if not wish.set else ():
        chance = np.random.default_rng(seed)
        areas = partition(chance)
        yield f"seed {seed}", int(chance.integers(1, 360)), areas
    for group in wish.set or ():
        every = sample(group, numbers.stop)
        for number, (name, data) in zip(numbers, every[wish.first :], strict=False):
            with contextlib.suppress(PurfleError):
                areas = drawn(data, name)
                yield f"{group} {name}", int(np.random.default_rng(number).integers(1, 360)), areas


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--set", action="append", choices=SETS, help="drawings of this open set; may be given again")
    wish = parser.parse_args()
    rows = []
    for number, (name, degrees, areas) in enumerate(drawings(wish)):
        turn = math.radians(degrees)
        matrix = np.array(((math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))))
        matrix = matrix @ np.diag((1.0 - 2.0 * (number % 2), 1.0))
        here = fitted(areas)
        turned = apart(here, fitted(moved(areas, lambda p, m=matrix: p @ m.T)), lambda p, m=matrix: p @ m)
        shaken = apart(here, fitted(moved(areas, noise)), np.asarray)
        rows.append((turned, shaken))
        if any(off > SAME or not same for off, same in rows[-1]):
            print(f"{name}, {degrees} degrees: {turned[0]:.3f} mm turned, {shaken[0]:.3f} mm moved", flush=True)
    for number, word in enumerate(("turned", "moved by 0.0001 mm")):
        off = np.array([row[number][0] for row in rows])
        more, other = int((off > SAME).sum()), sum(not row[number][1] for row in rows)
        print(f"{word}: median {np.median(off):.4f} mm, most {off.max():.4f} mm, ", end="")
        print(f"more than {SAME} mm on {more} of {len(rows)}, other names or findings on {other}")


if __name__ == "__main__":
    main()
