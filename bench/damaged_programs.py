"""Kinds of damage to the programs of a folder, those of V cutters too; damages.py says what a kind gives."""

import math
import random
import re
from collections.abc import Callable

import numpy as np
from damaged_folder import NUMBER, Damaged, Folder, Kind, parts_of

from purfle.proof.program import read_program

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


def crossing_low(folder: Folder, chance: random.Random) -> Damaged | None:
    """All that goes across goes 0.2 mm above the wood."""
    name = chance.choice(folder.programs)
    low = f"G0 Z{folder.mm(0.2):.4f}"
    return folder.changed(name, re.sub(rf"(?<=\n)G0 Z{NUMBER}", low, folder.text(name)))


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
            else folder.changed(name, text, *ids, *parts_of(folder, folder.set_up_of[name]["number"]))
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
