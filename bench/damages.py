"""Kinds of damage to a made and proven folder: to its programs, SVG and DXF outlines, and its assembly card.

Each kind takes a folder and a source of chance, and gives the damaged files with what the dry fit has to name (a file,
a set-up, a part, an inlay: any of them), or None where it does not apply. Kinds in `MEASURED` may happen to change no
wood: only those count that move a wall by 0.02 mm or more, or a floor by 0.05 mm, as worked out by shapely here.
"""

import json
import math
import random
import re
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


# --- programs


def _line_with(lines: list[str], chance: random.Random, pattern: str) -> int | None:
    found = [number for number, line in enumerate(lines) if re.search(pattern, line)]
    return chance.choice(found) if found else None


def wall_moved(by: float) -> Kind:
    """An end point on a wall moved towards it."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.straight)
        if not folder.on_wall[name]:
            return None
        index, towards = chance.choice(folder.on_wall[name])
        lines = folder.text(name).splitlines()
        for axis, amount in zip("XY", towards * folder.mm(by), strict=True):
            pattern = rf"{axis}({NUMBER})"
            last = next(found for line in lines[index::-1] if (found := re.search(pattern, line)))
            place = f"{axis}{float(last[1]) + amount:.5f}"
            lines[index] = re.sub(pattern, place, lines[index]) if axis in lines[index] else f"{lines[index]} {place}"
        return folder.changed(name, "\n".join(lines) + "\n")

    return damage


def wall_move_dropped(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.straight)
    if not folder.on_wall[name]:
        return None
    lines = folder.text(name).splitlines()
    del lines[chance.choice(folder.on_wall[name])[0]]
    return folder.changed(name, "\n".join(lines) + "\n")


def deepest_by(by: float) -> Kind:
    """The deepest pass of a program deeper (or less deep) throughout."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.straight)
        text = folder.text(name)
        deepest = max(re.findall(r"Z-(\d+\.\d+)", text), key=float)
        return folder.changed(name, text.replace(f"Z-{deepest}", f"Z-{float(deepest) + folder.mm(by):.5f}"))

    return damage


def one_move_deeper(folder: Folder, chance: random.Random) -> Damaged | None:
    """One move on the wall goes 0.08 mm deeper."""
    name = chance.choice(folder.straight)
    if not folder.on_wall[name]:
        return None
    lines = folder.text(name).splitlines()
    index, _ = chance.choice(folder.on_wall[name])
    deepest = read_program(name, folder.files[name]).deepest + 0.08
    lines[index] = re.sub(rf" Z{NUMBER}", "", lines[index]) + f" Z-{folder.mm(deepest):.5f}"
    return folder.changed(name, "\n".join(lines) + "\n")


def word(pattern: str, put: str, everywhere: bool = False) -> Kind:
    """A word of a program changed: the first one, or all."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.programs)
        return folder.changed(name, re.sub(pattern, put, folder.text(name), count=0 if everywhere else 1))

    return damage


def units_exchanged(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.programs)
    one, other = ("G20", "G21") if folder.inch else ("G21", "G20")
    return folder.changed(name, folder.text(name).replace(f" {one} ", f" {other} ", 1))


def some_line(pattern: str, change: Callable[[str], str], straight: bool = False) -> Kind:
    """One line of a program, of those with a pattern, changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.straight if straight else folder.programs)
        lines = folder.text(name).splitlines()
        index = _line_with(lines, chance, pattern)
        if index is None:
            return None
        lines[index] = change(lines[index])
        return folder.changed(name, "\n".join(lines) + "\n")

    return damage


def times(letters: str, by: float) -> Callable[[str], str]:
    return lambda text: re.sub(rf"([{letters}])({NUMBER})", lambda m: f"{m[1]}{float(m[2]) * by:.5f}", text)


def plus(letters: str, by: float) -> Callable[[str], str]:
    return lambda text: re.sub(rf"([{letters}])({NUMBER})", lambda m: f"{m[1]}{float(m[2]) + by:.5f}", text)


def _moves_alone(text: str, change: Callable[[str], str]) -> str:
    return "\n".join(
        change(line) if line.startswith(("G0 ", "G1 ", "G2 ", "G3 ")) else line for line in text.split("\n")
    )


def all_moves(change: Callable[[str], str]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.programs)
        return folder.changed(name, _moves_alone(folder.text(name), change))

    return damage


def shifted(axis: str, by: float) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.programs)
        return folder.changed(name, _moves_alone(folder.text(name), plus(axis, folder.mm(by))))

    return damage


def program_mirrored(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.programs)
    turned = _moves_alone(folder.text(name), times("XI", -1.0)).replace("G2 ", "G? ").replace("G3 ", "G2 ")
    return folder.changed(name, turned.replace("G? ", "G3 "))


def program_turned(folder: Folder, chance: random.Random) -> Damaged | None:
    """All moves turned by a quarter of a degree about the zero."""
    name = chance.choice(folder.programs)
    c, s = math.cos(math.radians(0.25)), math.sin(math.radians(0.25))
    at = {"X": 0.0, "Y": 0.0}

    def change(line: str) -> str:
        told = {letter: float(number) for letter, number in re.findall(rf"([XYIJ])({NUMBER})", line)}
        if not told:
            return line
        at.update({letter: told[letter] for letter in "XY" if letter in told})
        rest = re.sub(rf" [XYIJ]{NUMBER}", "", line)
        x, y = at["X"], at["Y"]
        line = f"{rest} X{c * x - s * y:.5f} Y{s * x + c * y:.5f}" if {"X", "Y"} & told.keys() else rest
        if "I" in told or "J" in told:
            i, j = told.get("I", 0.0), told.get("J", 0.0)
            line += f" I{c * i - s * j:.5f} J{s * i + c * j:.5f}"
        return line

    return folder.changed(name, _moves_alone(folder.text(name), change))


def cut_short(share: float) -> Kind:
    """A program that ends early, properly."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.straight)
        lines = folder.text(name).splitlines()
        kept = lines[: int(share * len(lines))]
        safe = next(line for line in lines if line.startswith("G0 Z"))
        return folder.changed(name, "\n".join([*kept, safe, "M5", "M2", ""]))

    return damage


def torn_off(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.programs)
    text = folder.text(name)
    return folder.changed(name, text[: int(chance.uniform(0.2, 0.95) * len(text))])


def stray_cut(folder: Folder, chance: random.Random) -> Damaged | None:
    """One cut more, 3 mm long, from a place on a wall into it."""
    name = chance.choice(folder.straight)
    if not folder.on_wall[name]:
        return None
    index, towards = chance.choice(folder.on_wall[name])
    lines = folder.text(name).splitlines()
    at = {}
    for axis in "XY":
        last = next(found for line in lines[index::-1] if (found := re.search(rf"{axis}({NUMBER})", line)))
        at[axis] = float(last[1])
    out = [f"{axis}{at[axis] + folder.mm(3.0) * way:.5f}" for axis, way in zip("XY", towards, strict=True)]
    lines[index + 1 : index + 1] = [f"G1 {' '.join(out)}", f"G1 X{at['X']:.5f} Y{at['Y']:.5f}"]
    return folder.changed(name, "\n".join(lines) + "\n")


def rapid_in_wood(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.straight)
    if not folder.on_wall[name]:
        return None
    lines = folder.text(name).splitlines()
    straight = [index for index, _ in folder.on_wall[name] if lines[index].startswith("G1 ")]
    if not straight:
        return None
    index = chance.choice(straight)
    lines[index] = re.sub(rf" F{NUMBER}", "", lines[index]).replace("G1 ", "G0 ")
    return folder.changed(name, "\n".join(lines) + "\n")


def exchanged(ending: str) -> Kind:
    """Two files of one kind, each under the name of the other."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        names = sorted(name for name in folder.files if name.endswith(ending) and "-finished" not in name)
        names = [name for name in names if name in folder.programs or ending != ".nc"]
        names = [name for name in names if any(name in (s["svg"], s["dxf"]) for s in folder.card["set_ups"])] or names
        if len(names) < 2:
            return None
        one, other = chance.sample(names, 2)
        if folder.files[one] == folder.files[other]:
            return None
        files = {**folder.files, one: folder.files[other], other: folder.files[one]}
        return Damaged(files, (one, other))

    return damage


def missing(what: str) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        set_up = chance.choice(folder.card["set_ups"])
        name = set_up[what] if what in ("svg", "dxf") else chance.choice(folder.programs)
        return Damaged({key: data for key, data in folder.files.items() if key != name}, (name,))

    return damage


def bytes_in(ending: str, put: bytes) -> Kind:
    """Bytes that do not belong there, in the middle of a file."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        set_up = chance.choice(folder.card["set_ups"])
        name = chance.choice(folder.programs) if ending == ".nc" else set_up[ending]
        data = folder.files[name]
        at = data.index(b"\n", len(data) // 2) + 1
        return folder.changed(name, data[:at] + put + data[at:])

    return damage


# --- SVG


def svg_change(pattern: str, change: Callable[[re.Match[str]], str]) -> Kind:
    """One match of a pattern in an SVG, in the paths of lines alone, changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        set_up = chance.choice(folder.card["set_ups"])
        text = folder.text(set_up["svg"])
        paths = list(re.finditer(r'<path id="(?!stock)[^"]*" d="([^"]*)"/>', text))
        path = chance.choice(paths)
        found = list(re.finditer(pattern, path[0]))
        if not found:
            return None
        one = chance.choice(found)
        put = path[0][: one.start()] + change(one) + path[0][one.end() :]
        return folder.changed(set_up["svg"], text[: path.start()] + put + text[path.end() :])

    return damage


def svg_whole(pattern: str, put: str) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["svg"]
        return folder.changed(name, re.sub(pattern, put, folder.text(name), count=1))

    return damage


def svg_scaled(by: float) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["svg"]
        return folder.changed(name, re.sub(r' d="([^"]*)"', lambda m: f' d="{_scaled(m[1], by)}"', folder.text(name)))

    return damage


def _scaled(path: str, by: float) -> str:
    """Numbers of a path larger; flags and the turn of an arc stay."""
    result, since, letter = [], 0, ""
    for one in re.findall(rf"[MLAZ]|{NUMBER}", path):
        if one in "MLAZ":
            letter, since = one, 0
        else:
            since += 1
            if not (letter == "A" and since % 7 in (3, 4, 5)):
                one = f"{float(one) * by:.6f}"
        result.append(one)
    return " ".join(result)


def svg_moved(match: re.Match[str]) -> str:
    return f"{match[1]}{float(match[2]) + 0.06:.5f}{match[3]}{float(match[4]) - 0.06:.5f}"


# --- DXF


def dxf_change(code: int, change: Callable[[float], float], stock: bool = False) -> Kind:
    """One figure of a group code in the polylines of lines changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["dxf"]
        lines = folder.text(name).split("\n")
        begin = [
            n for n in range(0, len(lines) - 1, 2) if lines[n].strip() == "0" and lines[n + 1].strip() == "LWPOLYLINE"
        ]
        wanted = begin[:1] if stock else begin[1:]
        found = []
        for start in wanted:
            end = next(n for n in range(start + 2, len(lines), 2) if lines[n].strip() == "0")
            found += [n + 1 for n in range(start + 2, end, 2) if lines[n].strip() == str(code)]
        if not found:
            return None
        at = chance.choice(found)
        lines[at] = f"{change(float(lines[at])):.9f}"
        return folder.changed(name, "\n".join(lines))

    return damage


def dxf_line_gone(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.card["set_ups"])["dxf"]
    lines = folder.text(name).split("\n")
    begin = [n for n in range(0, len(lines) - 1, 2) if lines[n].strip() == "0" and lines[n + 1].strip() == "LWPOLYLINE"]
    if len(begin) < 2:
        return None
    start = chance.choice(begin[1:])
    end = next(n for n in range(start + 2, len(lines), 2) if lines[n].strip() == "0")
    return folder.changed(name, "\n".join(lines[:start] + lines[end:]))


def dxf_word(pattern: str, put: str, everywhere: bool = False) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["dxf"]
        return folder.changed(name, re.sub(pattern, put, folder.text(name), count=0 if everywhere else 1))

    return damage


# --- the card


def part(change: Callable[[dict], object]) -> Kind:
    """One part of the card changed; the part, its inlay or its set-up has to be named."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["inlays"]))
        inlay = folder.card["inlays"][i]
        j = chance.randrange(len(inlay["parts"]))
        one = inlay["parts"][j]
        named = (f"part {one['number']} (", f"'{inlay['name']}'", inlay["name"], "assembly")
        return folder.with_card(lambda card: change(card["inlays"][i]["parts"][j]), *named)

    return damage


def inlay(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["inlays"]))
        one = folder.card["inlays"][i]
        parts = [f"part {each['number']} (" for each in one["parts"]]
        return folder.with_card(lambda card: change(card["inlays"][i]), one["name"], *parts, "assembly")

    return damage


def set_up(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["set_ups"]))
        one = folder.card["set_ups"][i]
        files = [each["file"] for each in one["programs"]]
        named = (one["title"], one["svg"], one["dxf"], *files, "assembly", *_parts_of(folder, one["number"]))
        return folder.with_card(lambda card: change(card["set_ups"][i]), *named)

    return damage


def _parts_of(folder: Folder, number: int) -> list[str]:
    """Parts and inlays that a set-up cuts."""
    parts = [(i, p) for i in folder.card["inlays"] for p in i["parts"] if p["set_up"] == number]
    inlays = [i["name"] for i in folder.card["inlays"] if i["recess"]["set_up"] == number]
    return [f"part {p['number']} (" for _, p in parts] + inlays


def fitting(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        if not folder.card["fittings"]:
            return None
        i = chance.randrange(len(folder.card["fittings"]))
        one = folder.card["fittings"][i]
        return folder.with_card(lambda card: change(card["fittings"][i]), f"fitting {one['number']}", "assembly")

    return damage


def cutter(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["cutters"]))
        number = folder.card["cutters"][i]["number"]
        files = [p["file"] for s in folder.card["set_ups"] for p in s["programs"] if p["cutter"] == number]
        inlays = [one["name"] for one in folder.card["inlays"]]
        return folder.with_card(lambda card: change(card["cutters"][i]), *files, *inlays, "assembly")

    return damage


def card(change: Callable[[dict], object], *named: str) -> Kind:
    return lambda folder, chance: folder.with_card(change, *named)


def _add(key: str, by: float) -> Callable[[dict], object]:
    return lambda one: one.update({key: one[key] + by})


def _put(**values: object) -> Callable[[dict], object]:
    return lambda one: one.update(values)


def _without(key: str) -> Callable[[dict], object]:
    return lambda one: one.pop(key)


def _pose(**by: float) -> Callable[[dict], object]:
    return lambda one: one["to_board"].update({key: one["to_board"][key] + amount for key, amount in by.items()})


def _parts_exchanged(one: dict) -> object:
    """Two parts of an inlay, each put where the other goes; nothing for parts that are alike in the files."""
    if len(one["parts"]) < 2:
        return False
    first, second = one["parts"][0], one["parts"][1]
    first["to_board"], second["to_board"] = second["to_board"], first["to_board"]
    return True


def _line(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["lines"][0])


def _v(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["v"]) if one["v"] else False


def _walls(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["walls"]) if one["walls"] else False


# --- tapered walls


def v_program(change: Callable[[Folder, str, random.Random], str | None]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        names = [n for n in sorted(folder.tapered) if folder.cutter[_cutter_of(folder, n)]["v"]]
        if not names:
            return None
        name = chance.choice(names)
        text = change(folder, name, chance)
        ids = [line["id"] for line in folder.set_up_of[name]["lines"]]
        return (
            None
            if text is None
            else folder.changed(name, text, *ids, *_parts_of(folder, folder.set_up_of[name]["number"]))
        )

    return damage


def _cutter_of(folder: Folder, name: str) -> int:
    return next(p["cutter"] for p in folder.set_up_of[name]["programs"] if p["file"] == name)


def v_deeper(by: float) -> Kind:
    return v_program(
        lambda folder, name, _: re.sub(
            r"Z-(\d+\.\d+)", lambda m: f"Z-{float(m[1]) + folder.mm(by):.5f}", folder.text(name)
        )
    )


def v_trip_gone(folder: Folder, name: str, _: random.Random) -> str | None:
    lines = folder.text(name).split("\n")
    starts = [n for n, line in enumerate(lines) if line.startswith("G0 X")]
    ends = [n for n in range(starts[-1], len(lines)) if lines[n].startswith("M5")]
    return "\n".join(lines[: starts[-1]] + lines[ends[0] :])


def v_place_aside(folder: Folder, name: str, _: random.Random) -> str | None:
    """A place where the trail runs along y, moved 0.4 mm along x."""
    lines = folder.text(name).split("\n")
    at = [n for n in range(len(lines)) if re.fullmatch(rf"G1 X{NUMBER} Y{NUMBER}", lines[n])]
    if len(at) < 4:
        return None
    places = np.array([re.findall(rf"[XY]({NUMBER})", lines[n]) for n in at], float)
    gone = np.abs(np.diff(places, axis=0))
    along_y = np.minimum(gone[:-1, 1] - 3 * gone[:-1, 0], gone[1:, 1] - 3 * gone[1:, 0])
    there = at[1 + int(along_y.argmax())]
    lines[there] = plus("X", folder.mm(0.4))(lines[there])
    return "\n".join(lines)


KINDS: dict[str, Kind] = {
    # programs: wood
    "program: end point on a wall moved by 0.02": wall_moved(0.02),
    "program: end point on a wall moved by 0.03": wall_moved(0.03),
    "program: end point on a wall moved by 0.2": wall_moved(0.2),
    "program: end point on a wall moved off it by 0.03": wall_moved(-0.03),
    "program: move on a wall dropped": wall_move_dropped,
    "program: deepest pass 0.05 deeper": deepest_by(0.05),
    "program: deepest pass 0.06 less deep": deepest_by(-0.06),
    "program: one move 0.08 deeper": one_move_deeper,
    "program: stray cut into a wall": stray_cut,
    "program: 1 % larger": all_moves(times("XYIJ", 1.01)),
    "program: 0.2 % smaller": all_moves(times("XYIJ", 0.998)),
    "program: shifted by 0.05 along x": shifted("X", 0.05),
    "program: shifted by 0.05 along y": shifted("Y", -0.05),
    "program: turned by a quarter of a degree": program_turned,
    "program: mirrored": program_mirrored,
    "program: ends half-way": cut_short(0.5),
    "program: last tenth missing": cut_short(0.9),
    "program: the two exchanged": exchanged(".nc"),
    "program: missing": missing("nc"),
    # programs: what a machine would make of them
    "program: mm taken for inches, or inches for mm": units_exchanged,
    "program: torn off": torn_off,
    "program: no feed": word(rf" F{NUMBER}", ""),
    "program: feed beyond the machine": word(rf"F{NUMBER}", "F99999", everywhere=True),
    "program: no spindle": word(r"M3 S\d+\n", ""),
    "program: faster than marked on the cutter": word(r"S\d+", "S199999"),
    "program: another cutter": word(r"\nT(\d+)", r"\nT9\1"),
    "program: relative moves": word("G90", "G91"),
    "program: no end": word(r"M5\nM2\n", ""),
    "program: unknown word": some_line(r"^G1 X", lambda line: f"G41 {line}"),
    "program: word said twice": some_line(r"^G1 X", lambda line: f"{line} X1.0"),
    "program: number that is none": some_line(r"^G1 X", lambda line: line.replace("X", "X1.2.")),
    "program: bytes that are no text": bytes_in(".nc", b"\xff\xfe\n"),
    "program: comment left open": some_line(r"^\(", lambda line: line.rstrip(")")),
    "program: full speed in the wood": rapid_in_wood,
    "program: across below the safe height": word(rf"(?<=\n)G0 Z{NUMBER}", "G0 Z0.2", everywhere=True),
    "program: arc the other way round": some_line(r"^G2 X", lambda line: line.replace("G2", "G3"), straight=True),
    "program: middle of an arc off by 0.05": some_line(r"^G[23] .*I", plus("I", 0.05)),
    "program: middle of an arc across": some_line(r"^G[23] .*J", times("J", -1.0)),
    # SVG
    "svg: a point moved by 0.08": svg_change(rf"([ML])({NUMBER})( )({NUMBER})", svg_moved),
    "svg: an arc the other way": svg_change(r"( [01] )([01])( )", lambda m: f"{m[1]}{1 - int(m[2])}{m[3]}"),
    "svg: radius of an arc 10 % larger": svg_change(
        rf"A ?({NUMBER}) ({NUMBER})", lambda m: f"A{float(m[1]) * 1.1:.5f} {float(m[2]) * 1.1:.5f}"
    ),
    "svg: 1 % larger": svg_scaled(1.01),
    "svg: another width": svg_whole(r'width="(\d+)', r'width="1\1'),
    "svg: not mirrored up": svg_whole(r"matrix\(1 0 0 -1 ", "matrix(1 0 0 1 "),
    "svg: a line missing": svg_change(r".*", lambda _: ""),
    "svg: a line by another name": svg_change(r'id="', lambda _: 'id="x'),
    "svg: stock of another size": svg_whole(rf'(id="stock-outline" d="M){NUMBER}', r"\g<1>3.5"),
    "svg: torn off": lambda f, c: f.changed(
        (name := c.choice(f.card["set_ups"])["svg"]), f.files[name][: len(f.files[name]) // 2]
    ),
    "svg: a curve that nobody knows": svg_change(r"L", lambda _: "Q 1 1 "),
    "svg: two exchanged": exchanged(".svg"),
    "svg: missing": missing("svg"),
    # DXF
    "dxf: x of a point off by 0.06": dxf_change(10, lambda x: x + 0.06),
    "dxf: y of a point off by 0.06": dxf_change(20, lambda y: y - 0.06),
    "dxf: bulge the other way": dxf_change(42, lambda b: -b),
    "dxf: bulge half as large again": dxf_change(42, lambda b: 1.5 * b + 0.05),
    "dxf: stock of another size": dxf_change(10, lambda x: x + 2.0, stock=True),
    "dxf: a line missing": dxf_line_gone,
    "dxf: in inches": dxf_word(r"(\$INSUNITS\n\s*70\n\s*)4", r"\g<1>1"),
    "dxf: another layer": dxf_word(r"SET-UP-(\d)", r"SET-OFF-\1", everywhere=True),
    "dxf: torn off": lambda f, c: f.changed(
        (name := c.choice(f.card["set_ups"])["dxf"]), f.files[name][: len(f.files[name]) * 4 // 5]
    ),
    "dxf: two exchanged": exchanged(".dxf"),
    "dxf: missing": missing("dxf"),
    # the card: where parts go, what they go into, what cuts them
    "card: part moved by 0.05 along x": part(_pose(x=0.05)),
    "card: part moved by 0.05 along y": part(_pose(y=-0.05)),
    "card: part turned by half a degree": part(_pose(angle=0.5)),
    "card: part mirrored": part(lambda one: one["to_board"].update(mirrored=not one["to_board"]["mirrored"])),
    "card: parts exchanged": inlay(_parts_exchanged),
    "card: part without its line": part(_put(line="nowhere-1")),
    "card: seam said wider by 0.05": inlay(lambda one: _add("seam", 0.05)(one) if one["walls"] is None else False),
    "card: recess said 0.1 deeper": inlay(_add("depth", 0.1)),
    "card: inlay on the other face": inlay(lambda one: one.update(face={"show": "underside"}.get(one["face"], "show"))),
    "card: cutter 0.05 wider": cutter(lambda one: _add("diameter", 0.05)(one) if one["v"] is None else False),
    "card: cutter shorter than it cuts": cutter(_put(cutting_length=0.3)),
    "card: cutter marked slower": cutter(_put(max_speed=500.0)),
    "card: line said 0.1 deeper": set_up(_line(_add("depth", 0.1))),
    "card: recess said to be a part": set_up(
        _line(lambda one: one.update(kind={"recess": "part"}.get(one["kind"], "recess")))
    ),
    "card: stock thinner than it is cut deep": set_up(_put(thickness=0.5)),
    "card: stock of another outline": set_up(lambda one: one["outline"].__setitem__(0, [7.0, 9.0])),
    "card: program not said": set_up(lambda one: one["programs"].pop()),
    "card: depths of a program": set_up(lambda one: one["programs"][0].update(depths=[0.7])),
    "card: least wood left": card(_put(least_left=900.0), "wood are left", "wood is left"),
    "card: machine that travels less": card(lambda one: one["machine"].update(travel=[9.0, 9.0, 9.0]), ".nc"),
    "card: machine with a higher safe height": card(lambda one: one["machine"].update(safe_height=55.0), ".nc"),
    "card: fitting 0.2 off": fitting(lambda one: one["centre"].__setitem__(0, one["centre"][0] + 0.2)),
    "card: fitting 0.3 larger": fitting(lambda one: one["size"].__setitem__(0, one["size"][0] + 0.3)),
    "card: fitting 0.1 deeper": fitting(_add("depth", 0.1)),
    "card: a key too many": card(_put(colour="red"), "assembly"),
    "card: a key too few": inlay(_without("glue_room")),
    "card: another version": card(_put(version=1), "assembly"),
    "card: no card": lambda f, _: Damaged({k: v for k, v in f.files.items() if k != "assembly.json"}, ("assembly",)),
    "card: torn off": lambda f, _: f.changed("assembly.json", f.files["assembly.json"][:-900], "assembly"),
    # tapered walls
    "tapered: V 0.06 deeper": v_deeper(0.06),
    "tapered: V 0.06 less deep": v_deeper(-0.06),
    "tapered: a trip of the V missing": v_program(v_trip_gone),
    "tapered: a place of the trail aside": v_program(v_place_aside),
    "tapered: another angle": cutter(_v(_add("half_angle", 1.5))),
    "tapered: another tip": cutter(_v(_add("tip_radius", 0.06))),
    "tapered: sinks less": inlay(_walls(_add("sink", -0.1))),
    "tapered: not as seen": part(lambda one: one["to_board"].update(mirrored=False) if one["plate"] else False),
    "tapered: said to be straight": inlay(lambda one: one.update(walls=None) if one["walls"] else False),
}
_MAY_CHANGE_NOTHING = ("dropped", "the other way", "moved off it", "a point", "arc 10 %", "bulge", "middle of an arc")
MEASURED = {name for name in KINDS if any(words in name for words in _MAY_CHANGE_NOTHING)}
