"""How long the dry fit takes, and how many damages to a made folder it catches.

    python bench/proof.py FOLDER [--moves 40] [--json FILE]

FOLDER holds the files of a job that is proven (`purfle make`). Times are of one core's work, not of the clock on the
wall, and stand beside the making time if the folder tells it (timings.json). Damages: end points on a wall moved
towards it by 0.02 and by 0.03 mm, moves on a wall dropped, depths, resized files, cutters, places of parts. A dropped
move that changes no wall by 0.02 mm or more does not count. Goals: 20 m in 1 s or less, all caught.
"""

import argparse
import json
import random
import re
import statistics
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import shapely

from purfle.errors import ProgramError
from purfle.proof import dry_fit
from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import read_program
from purfle.proof.sweep import flatten, groove
from purfle.tolerances import DEPTH_AS_CUT

Files = dict[str, bytes]
SHIFT = 0.02
"""Every change of a wall by this, in mm, is to be caught."""


def is_caught(files: Files) -> bool:
    try:
        return not dry_fit(files).proven
    except ProgramError:
        return True


def seconds(files: Files, rounds: int = 5) -> float:
    found = []
    for _ in range(rounds):
        begin = time.process_time()
        dry_fit(files)
        found.append(time.process_time() - begin)
    return statistics.median(found)


class Folder:
    """What the damages need to know of a folder."""

    def __init__(self, files: Files) -> None:
        self.files = files
        self.card = json.loads(files["assembly.json"])
        self.set_up_of = {p["file"]: s for s in self.card["set_ups"] for p in s["programs"]}
        self.programs = sorted(self.set_up_of)
        self.radius = {c["number"]: c["diameter"] / 2 for c in self.card["cutters"]}
        self.on_wall = {name: self._on_wall(name) for name in self.programs}

    def _on_wall(self, name: str) -> list[tuple[int, np.ndarray]]:
        """Lines that end on a wall at full depth, each with the direction to the wall."""
        set_up, reading = self.set_up_of[name], read_program(name, self.files[name])
        lines = read_svg(set_up["svg"], self.files[set_up["svg"]], set_up["number"]).lines.values()
        wall, radius = shapely.boundary(shapely.union_all(list(lines))), self.radius[reading.cutter]
        deep = np.isclose(reading.end[:, 2], reading.end[:, 2].min(), atol=1e-3) & (reading.kind > 0)
        found = []
        for index in np.flatnonzero(deep):
            place = shapely.Point(reading.end[index, :2])
            if abs(wall.distance(place) - radius) < 0.005:
                a, b = np.array(shapely.shortest_line(place, wall).coords)
                found.append((int(reading.line[index]) - 1, (b - a) / radius))
        return found

    def with_text(self, name: str, text: str) -> Files:
        return {**self.files, name: text.encode()}

    def with_card(self, card: dict) -> Files:
        return {**self.files, "assembly.json": json.dumps(card).encode()}

    def section(self, files: Files, name: str) -> shapely.Geometry:
        reading = read_program(name, files[name])
        return groove(flatten(reading, self.radius[reading.cutter]).below(reading.deepest - DEPTH_AS_CUT))


def moved(folder: Folder, count: int, by: float) -> Iterator[bool]:
    """End points on a wall moved towards it."""
    inch = any(b"G20" in folder.files[name] for name in folder.programs)
    for seed in range(count):
        chance = random.Random(seed)
        name = chance.choice(folder.programs)
        index, towards = chance.choice(folder.on_wall[name])
        lines = folder.files[name].decode().splitlines()
        for axis, amount in zip("XY", towards * by / (25.4 if inch else 1.0), strict=True):
            pattern = rf"{axis}(-?[\d.]+)"
            last = next(found for line in lines[index::-1] if (found := re.search(pattern, line)))
            place = f"{axis}{float(last[1]) + amount:.5f}"
            lines[index] = re.sub(pattern, place, lines[index]) if axis in lines[index] else f"{lines[index]} {place}"
        yield is_caught(folder.with_text(name, "\n".join(lines)))


def dropped(folder: Folder, count: int) -> Iterator[bool]:
    """Moves on a wall left out; those that change no wood are passed over."""
    for seed in range(count):
        chance = random.Random(seed)
        name = chance.choice(folder.programs)
        lines = folder.files[name].decode().splitlines()
        del lines[chance.choice(folder.on_wall[name])[0]]
        damaged = folder.with_text(name, "\n".join(lines))
        if is_caught(damaged):
            yield True
            continue
        changed = folder.section(folder.files, name).symmetric_difference(folder.section(damaged, name))
        if not changed.buffer(-SHIFT / 2).is_empty:
            yield False


def too_deep(folder: Folder, by: float) -> Iterator[bool]:
    """The deepest pass of each program deeper."""
    for name in folder.programs:
        text = folder.files[name].decode()
        scale = 25.4 if "G20" in text else 1.0
        deepest = max(re.findall(r"Z-(\d+\.\d+)", text), key=float)
        yield is_caught(folder.with_text(name, text.replace(f"Z-{deepest}", f"Z-{float(deepest) + by / scale:.5f}")))


def on_the_card(folder: Folder) -> Iterator[bool]:
    """Each part moved by 0.05 mm, mirrored; each cutter 0.05 mm wider."""
    for i, inlay in enumerate(folder.card["inlays"]):
        for j in range(len(inlay["parts"])):
            for key, change in (("x", lambda v: v + 0.05), ("y", lambda v: v - 0.05), ("mirrored", lambda v: not v)):
                card = json.loads(folder.files["assembly.json"])
                pose = card["inlays"][i]["parts"][j]["to_board"]
                pose[key] = change(pose[key])
                yield is_caught(folder.with_card(card))
    for i in range(len(folder.card["cutters"])):
        card = json.loads(folder.files["assembly.json"])
        card["cutters"][i]["diameter"] += 0.05
        yield is_caught(folder.with_card(card))


def resized(folder: Folder) -> Iterator[bool]:
    """Each outline file one hundredth larger about its zero, and each program."""
    for set_up in folder.card["set_ups"]:
        svg = folder.files[set_up["svg"]].decode()
        grown = re.sub(r' d="([^"]*)"', lambda m: f' d="{_times(m[1])}"', svg)
        yield is_caught(folder.with_text(set_up["svg"], grown))
    for name in folder.programs:
        text = folder.files[name].decode()
        grown = re.sub(r"([XYIJ])(-?[\d.]+)", lambda m: f"{m[1]}{float(m[2]) * 1.01:.5f}", text)
        yield is_caught(folder.with_text(name, grown))


def _times(path: str) -> str:
    """Numbers of a path one hundredth larger; flags and the turn of an arc stay."""
    words = re.findall(r"[MLAZ]|-?[\d.]+", path)
    result, since = [], 0
    letter = ""
    for word in words:
        if word in "MLAZ":
            letter, since = word, 0
        else:
            since += 1
            if not (letter == "A" and since % 7 in (3, 4, 5)):
                word = f"{float(word) * 1.01:.6f}"
        result.append(word)
    return " ".join(result)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--moves", type=int, default=40, help="end points moved, and moves dropped")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    files = {path.name: path.read_bytes() for path in asked.folder.iterdir() if path.is_file()}
    proof = dry_fit(files)
    metres, moves = sum(p.metres for p in proof.programs), sum(p.moves for p in proof.programs)
    took = seconds(files)
    row: dict[str, object] = {
        "proven": proof.proven,
        "metres": round(metres, 2),
        "moves": moves,
        "cpu_s": round(took, 3),
        "cpu_s_for_20_m": round(took * 20 / metres, 3),
    }
    if "timings.json" in files:
        times = json.loads(files["timings.json"])
        proving = sum(value for key, value in times.items() if "dry fit" in key)
        row["share_of_making_time"] = round(proving / (sum(times.values()) - proving), 3)
    folder = Folder(files)
    damages = {
        "end points moved 0.02 mm": moved(folder, asked.moves, 0.02),
        "end points moved 0.03 mm": moved(folder, asked.moves, 0.03),
        "moves dropped": dropped(folder, asked.moves),
        "last pass 0.05 mm deeper": too_deep(folder, 0.05),
        "parts and cutters on the card": on_the_card(folder),
        "files resized": resized(folder),
    }
    for name, results in damages.items():
        found = list(results)
        row[name] = f"{sum(found)} of {len(found)} caught"
    for key, value in row.items():
        print(f"{key:32} {value}")
    if asked.json:
        asked.json.write_text(json.dumps(row, indent=1) + "\n")


if __name__ == "__main__":
    main()
