"""What damages to a made and proven folder need to know of it, and whether a damage changes wood.

A damage counts that moves a wall by 0.02 mm or more, or a floor by 0.05 mm, as worked out by shapely here.
"""

import json
import random
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

from purfle.proof.outlines_dxf import read_dxf
from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import read_program
from purfle.proof.sweep import flatten, groove

Files = dict[str, bytes]
WALL, FLOOR = 0.02, 0.05
"""A change of wood (mm) that has to be noticed: at a wall, and in depth."""
NUMBER = r"-?\d+(?:\.\d+)?"


@dataclass(frozen=True)
class Damaged:
    """Files after the damage. `named`: any of these has to stand in what is found; `file`: the one that is changed."""

    files: Files
    named: tuple[str, ...]
    file: str = ""


class Folder:
    """What damages need to know of the files of a proven job."""

    def __init__(self, name: str, files: Files) -> None:
        self.name = name
        self.files = files
        self.card = json.loads(files["assembly.json"])
        self.set_up_of = {p["file"]: s for s in self.card["set_ups"] for p in s["programs"]}
        self.programs = sorted(self.set_up_of)
        self.tapered = {p["file"] for s in self.card["set_ups"] for p in s["programs"] if p["tapered"]}
        self.straight = [name for name in self.programs if name not in self.tapered]
        self.cutter = {c["number"]: c for c in self.card["cutters"]}
        self.inch = any(b"G20" in files[name] for name in self.programs)
        self.on_wall = {name: self._on_wall(name) for name in self.straight}

    def _on_wall(self, name: str) -> list[tuple[int, np.ndarray]]:
        """Lines that end on a wall at full depth, each with the direction to the wall."""
        set_up, reading = self.set_up_of[name], read_program(name, self.files[name])
        lines = read_svg(set_up["svg"], self.files[set_up["svg"]], set_up["number"]).lines.values()
        wall = shapely.boundary(shapely.union_all(list(lines)))
        radius = self.cutter[reading.cutter]["diameter"] / 2
        deep = np.isclose(reading.end[:, 2], reading.end[:, 2].min(), atol=1e-3) & (reading.kind > 0)
        found = []
        for index in np.flatnonzero(deep):
            place = shapely.Point(reading.end[index, :2])
            if abs(wall.distance(place) - radius) < 0.005:
                a, b = np.array(shapely.shortest_line(place, wall).coords)
                found.append((int(reading.line[index]) - 1, (b - a) / radius))
        return found

    def mm(self, amount: float) -> float:
        """A length in the unit of the programs."""
        return amount / (25.4 if self.inch else 1.0)

    def text(self, name: str) -> str:
        return self.files[name].decode()

    def changed(self, name: str, text: str | bytes, *named: str) -> Damaged | None:
        """The folder with another file; None if it is the same. Named may be the file, or a line or part of it."""
        data = text if isinstance(text, bytes) else text.encode()
        if data == self.files[name]:
            return None
        cut = [
            one for s in self.card["set_ups"] for one in self._cut_in(s) if name in (s["svg"], s["dxf"], *_programs(s))
        ]
        return Damaged({**self.files, name: data}, (name, *named, *cut), name)

    def _cut_in(self, set_up: dict) -> list[str]:
        """Lines and parts of a set-up, as they are called in findings."""
        parts = [p for i in self.card["inlays"] for p in i["parts"] if p["set_up"] == set_up["number"]]
        return [f"'{line['id']}'" for line in set_up["lines"]] + [f"part {p['number']} (" for p in parts]

    def with_card(self, change: Callable[[dict], object], *named: str) -> Damaged | None:
        """The folder with another card; `change` works on it and may return False where it does not apply."""
        card = json.loads(self.files["assembly.json"])
        if change(card) is False:
            return None
        return Damaged({**self.files, "assembly.json": json.dumps(card).encode()}, named or ("assembly",))


def _programs(set_up: dict) -> list[str]:
    return [program["file"] for program in set_up["programs"]]


Kind = Callable[[Folder, random.Random], Damaged | None]


def changes_wood(folder: Folder, damaged: Damaged) -> bool:
    """Whether the damage of a file moves a wall by `WALL` or more, or a floor by `FLOOR`."""
    name = damaged.file
    if not name.endswith(".nc"):
        return _moves_outline(folder, damaged)
    before, after = (read_program(name, files[name]) for files in (folder.files, damaged.files))
    if abs(before.deepest - after.deepest) >= FLOOR:
        return True
    radius = folder.cutter[before.cutter]["diameter"] / 2
    for depth in folder.set_up_of[name]["programs"][0]["depths"]:
        cuts = [groove(flatten(reading, radius).below(depth - FLOOR / 2)) for reading in (before, after)]
        if not shapely.symmetric_difference(*cuts).buffer(-WALL / 2).is_empty:
            return True
    return False


def _moves_outline(folder: Folder, damaged: Damaged) -> bool:
    """Whether an outline file shows a line `WALL` or more off."""
    number = next(s["number"] for s in folder.card["set_ups"] if damaged.file in (s["svg"], s["dxf"]))
    read = read_svg if damaged.file.endswith(".svg") else read_dxf
    before, after = (read(damaged.file, files[damaged.file], number).lines for files in (folder.files, damaged.files))
    if before.keys() != after.keys():
        return True
    off = [shapely.symmetric_difference(before[name], after[name]) for name in before]
    return any(not one.buffer(-WALL / 2).is_empty for one in off)


def parts_of(folder: Folder, number: int) -> list[str]:
    """Parts and inlays that a set-up cuts."""
    parts = [(i, p) for i in folder.card["inlays"] for p in i["parts"] if p["set_up"] == number]
    inlays = [i["name"] for i in folder.card["inlays"] if i["recess"]["set_up"] == number]
    return [f"part {p['number']} (" for _, p in parts] + inlays
