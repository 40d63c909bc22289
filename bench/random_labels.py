"""Random label images, traced: whatever the labels, the areas tile the frame and no topology breaks.

    python bench/random_labels.py [--count 10000] [--seed 1]

Single pixels, blocks and walks of 2 to 5 labels up to 24 pixels a side, with noise on their colours, so that crossings
move at random. Each is held to the laws of tests/laws/test_artwork_tiles.py by other means than those of the tracing:
shapely's own noding and polygonising. Exit status 1 if one is broken; each is named by its number.
"""

import argparse
import sys
import time

import numpy as np
import shapely

from purfle.artwork.arc_graph import arc_graph
from purfle.artwork.crossings import moved_crossings
from purfle.artwork.mixing import mixing_of
from purfle.artwork.tiling import tile

COLOURS = np.array([[30, 30, 30], [220, 210, 200], [180, 60, 40], [60, 90, 160], [240, 200, 80]], np.float32)


def labels_of(chance: np.random.Generator) -> np.ndarray:
    """One image: pixels, blocks of 2 to 4 pixels, or wandering lines on blocks."""
    count, kind = int(chance.integers(2, 6)), int(chance.integers(3))
    size = chance.integers(1, 9, 2)
    labels = chance.integers(0, count, size).astype(np.int16)
    if kind > 0:
        labels = np.kron(labels, np.ones((int(chance.integers(2, 5)),) * 2, np.int16))[:24, :24]
    if kind > 1:
        place = chance.integers(0, labels.shape)
        for _ in range(40):
            labels[tuple(place)] = (count - 1) % 5
            place = np.clip(place + chance.integers(-1, 2, 2), 0, np.array(labels.shape) - 1)
    return labels


def fault_of(labels: np.ndarray, chance: np.random.Generator) -> str:
    """What is broken, or nothing."""
    height, width = labels.shape
    noisy = COLOURS[labels] + chance.normal(0, 25, (height, width, 3)).astype(np.float32)
    graph = arc_graph(labels)
    sharp = bool(chance.integers(2))
    moved = moved_crossings(graph, labels, noisy, mixing_of(labels, noisy, COLOURS, sharp), int(chance.integers(2, 5)))
    tiling = tile(graph, moved, float(chance.uniform(0.0, 3.0)))
    faces = np.array(tiling.faces, dtype=object)
    lines = [shapely.LineString(arc.points) for arc in tiling.arcs]
    if not shapely.is_valid(faces).all():
        return "a face is not valid"
    if abs(float(shapely.area(faces).sum()) - width * height) > 1e-9 * width * height:
        return "areas do not sum to the frame"
    if abs(shapely.union_all(faces).area - width * height) > 1e-6:
        return "areas overlap"
    if not all(line.is_simple for line in lines):
        return "an arc crosses itself"
    if len(shapely.get_parts(shapely.node(shapely.MultiLineString(lines)))) != len(lines):
        return "arcs meet elsewhere than in their ends"
    return "" if len(shapely.polygonize(lines).geoms) == len(faces) else "faces are lost or made"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    wish = parser.parse_args()
    start, broken = time.process_time(), 0
    for number in range(wish.count):
        chance = np.random.default_rng([wish.seed, number])
        try:
            fault = fault_of(labels_of(chance), chance)
        except Exception as met:
            fault = f"{type(met).__name__}: {met}"
        if fault:
            broken += 1
            print(f"BROKEN {number}: {fault}")
    print(f"{wish.count} random label images: {broken} broken; {time.process_time() - start:.0f} s of processor time")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
