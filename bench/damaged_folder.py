"""What damages to a made and proven folder need to know of it, and whether a damage changes wood that stays."""

import json
import random
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from wood_that_stays import card_changes, outline_changes, program_changes

from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import read_program

Files = dict[str, bytes]
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
        self.by_machine = self.card["way"] == "machine"
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

    def outline_files(self, ending: str, templates: bool = False) -> list[str]:
        """Every SVG or DXF file of set-ups, or of templates."""
        return [one[ending] for one in self.card["templates" if templates else "set_ups"]]

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
        guided = [
            f"'{guide['line']}'"
            for template in self.card["templates"]
            for s in self.card["set_ups"]
            for guide in s["guides"]
            if guide["template"] == template["number"] and name in (template["svg"], template["dxf"])
        ]
        return Damaged({**self.files, name: data}, (name, *named, *cut, *guided), name)

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
    """Whether the damage of a file changes wood that stays, as reckoned apart from the proof."""
    name = damaged.file
    if not name:
        return card_changes(folder.files, damaged.files)
    if name.endswith(".nc"):
        return program_changes(folder.files, damaged.files[name], name, folder.card)
    return outline_changes(folder.files[name], damaged.files[name], name)


def parts_of(folder: Folder, number: int) -> list[str]:
    """Parts and inlays that a set-up cuts."""
    parts = [(i, p) for i in folder.card["inlays"] for p in i["parts"] if p["set_up"] == number]
    inlays = [i["name"] for i in folder.card["inlays"] if i["recess"]["set_up"] == number]
    return [f"part {p['number']} (" for _, p in parts] + inlays
