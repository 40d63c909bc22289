"""Damage to the programs of a pair with tapered walls, each with what it does to the wood, worked out by shapely."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely

from purfle.model.shop import VCutter
from purfle.model.tapered import Trail
from tapered_bench import Bench
from tapered_sweep import swept

_WORD = re.compile(r"([XYZ])(-?[0-9.]+)")
LEAST = 0.02
"""Wood that changes by this at the wall has to be noticed."""


@dataclass(frozen=True)
class Damage:
    """One damaged pair. `place`: near where, in the frame of the program; None where it is all over."""

    kind: str
    bench: Bench
    file: str
    place: tuple[float, float] | None


def v_file(bench: Bench, side: str) -> str:
    """The V cutter's program of a side."""
    numbers = [number for number, cutter in bench.cutters.items() if isinstance(cutter, VCutter)]
    return f"{side}-{numbers[0]}.nc"


def places_of(text: str) -> tuple[np.ndarray, list[int]]:
    """Every place (x, y, depth) that a program of straight moves goes to, and the line that says so."""
    here, places, lines = {"X": 0.0, "Y": 0.0, "Z": 6.0}, [], []
    for number, line in enumerate(text.splitlines()):
        if line.startswith(("G0", "G1")) and "G17" not in line:
            here |= {letter: float(figure) for letter, figure in _WORD.findall(line)}
            places.append((here["X"], here["Y"], -here["Z"]))
            lines.append(number)
    return np.array(places), lines


def changes(bench: Bench, side: str, texts: tuple[str, str], place: np.ndarray) -> float:
    """How thick the wood is that a change of a V program near a place adds or takes away, at the face and below."""
    most = 0.0
    before, after = (_near(text, place) for text in texts)
    for depth in (bench.rule.sink * share + (0.0 if side == "insert" else 1e-3) for share in (0.0, 0.5, 0.99)):
        regions = [swept(trails, bench.rule, depth) for trails in (before, after)]
        off = shapely.symmetric_difference(*regions).difference(_cleared(bench, side))
        while not off.buffer(-(most + 1e-3) / 2.0).is_empty:
            most += 1e-3
    return most


def _cleared(bench: Bench, side: str):
    """Where the bottom is level: the straight cutter has been there too, and below the insert is glue."""
    if side == "recess":
        return bench.recess.buffer(-bench.rule.recess_depth * bench.rule.slope)
    around = bench.rule.saw_room * bench.rule.slope
    return bench.insert.buffer(around + 20.0).difference(bench.insert.buffer(around))


def _near(text: str, place: np.ndarray, reach: float = 4.0) -> list[Trail]:
    places, _ = places_of(text)
    low, high = np.minimum(places[:-1], places[1:])[:, :2], np.maximum(places[:-1], places[1:])[:, :2]
    near = ((low < place[:2] + reach) & (high > place[:2] - reach)).all(axis=1)
    return [Trail(places[n : n + 2], False) for n in np.flatnonzero(near)]


def changed(bench: Bench, kind: str, file: str, text: str, place: tuple[float, float] | None) -> Damage:
    return Damage(kind, replace(bench, files=bench.files | {file: text}), file, place)


def moved(bench: Bench, side: str, chance: np.random.Generator, by: float) -> Damage | None:
    """One end point of the last pass moved towards the nearest wall."""
    found = _last_pass_place(bench, side, chance)
    if found is None:
        return None
    file, lines, number, place = found
    outline = bench.recess if side == "recess" else bench.insert
    wall = shapely.get_coordinates(shapely.shortest_line(shapely.Point(place[:2]), outline.boundary))
    way = wall[1] - wall[0]
    if np.hypot(*way) < 0.1:
        return None
    x, y = place[:2] + by * way / np.hypot(*way)
    return _said(bench, f"moved by {by}", file, (lines, number), (x, y, place[2]))


def deeper(bench: Bench, side: str, chance: np.random.Generator, by: float) -> Damage | None:
    """One end point of the last pass too deep."""
    found = _last_pass_place(bench, side, chance)
    if found is None:
        return None
    file, lines, number, place = found
    return _said(bench, f"deeper by {by}", file, (lines, number), (place[0], place[1], place[2] + by))


def dropped(bench: Bench, side: str, chance: np.random.Generator) -> Damage | None:
    """One line of the last pass left out, where that changes wood."""
    file = v_file(bench, side)
    lines = bench.files[file].splitlines()
    first = max(n for n, line in enumerate(lines) if line.startswith("(Pass"))
    cuts = [n for n in range(first, len(lines)) if lines[n].startswith("G1 X") or lines[n].startswith("G1 Y")]
    number = int(chance.choice(cuts))
    text = "\n".join(lines[:number] + lines[number + 1 :]) + "\n"
    places, at = places_of(bench.files[file])
    place = places[at.index(number)]
    if changes(bench, side, (bench.files[file], text), place) < LEAST:
        return None
    return changed(bench, "dropped", file, text, (float(place[0]), float(place[1])))


def mirrored(bench: Bench) -> Damage:
    """The insert's V program mirrored left to right about its own middle."""
    file = v_file(bench, "insert")
    middle = (bench.insert.bounds[0] + bench.insert.bounds[2]) / 2.0
    flip = re.compile(r"X(-?[0-9.]+)")
    text = flip.sub(lambda found: f"X{2.0 * middle - float(found[1]):.4f}", bench.files[file])
    return changed(bench, "mirrored", file, text, None)


def other_cutters(bench: Bench) -> Iterator[Damage]:
    """The V cutter in the spindle is not the one that was planned with: its angle, its tip."""
    cutter = next(one for one in bench.cutters.values() if isinstance(one, VCutter))
    file = v_file(bench, "recess")
    for by in (-1.0, 1.0):
        other = replace(cutter, half_angle=cutter.half_angle + by)
        yield Damage(f"angle {by:+}", bench.with_cutter(other), file, None)
    yield Damage("tip +0.05", bench.with_cutter(replace(cutter, tip_radius=cutter.tip_radius + 0.05)), file, None)


def all_deeper(bench: Bench, side: str, by: float) -> Damage:
    """A whole V program too deep."""
    file = v_file(bench, side)
    deep = re.compile(r"Z(-[0-9.]+)")
    text = deep.sub(lambda found: f"Z{float(found[1]) - by:.4f}", bench.files[file])
    return changed(bench, f"all deeper by {by}", file, text, None)


def _last_pass_place(bench: Bench, side: str, chance: np.random.Generator):
    """A place of the last pass at which its cut ends at the wall, and where it stands in the program."""
    file = v_file(bench, side)
    lines = bench.files[file].splitlines()
    first = max(n for n, line in enumerate(lines) if line.startswith("(Pass"))
    places, numbers = places_of(bench.files[file])
    outline = bench.recess if side == "recess" else bench.insert
    reach = bench.rule.tip_radius + (places[:, 2] - (0.0 if side == "recess" else bench.rule.sink)) * bench.rule.slope
    at_wall = np.abs(shapely.distance(shapely.points(places[:, :2]), outline.boundary) - reach) < 0.003
    chosen = [n for n in np.flatnonzero(at_wall).tolist() if numbers[n] > first and lines[numbers[n]].startswith("G1")]
    if not chosen:
        return None
    number = int(chance.choice(chosen))
    return file, lines, numbers[number], places[number]


def _said(bench: Bench, kind: str, file: str, line: tuple[list[str], int], place: tuple[float, float, float]) -> Damage:
    lines, number = line
    feed = re.search(r" F[0-9.]+", lines[number])
    text = f"G1 X{place[0]:.4f} Y{place[1]:.4f} Z{-place[2]:.4f}{feed[0] if feed else ''}"
    # what the next line leaves out stays what it was
    places, numbers = places_of(bench.files[file])
    after = numbers.index(number) + 1
    new = [*lines[:number], text, *lines[number + 1 :]]
    if after < len(numbers) and lines[numbers[after]].startswith("G1"):
        tail = re.search(r" F[0-9.]+", lines[numbers[after]])
        x, y, deep = places[after]
        new[numbers[after]] = f"G1 X{x:.4f} Y{y:.4f} Z{-deep:.4f}{tail[0] if tail else ''}"
    return changed(bench, kind, file, "\n".join(new) + "\n", (float(place[0]), float(place[1])))
