"""The files of a job, tampered with one at a time: each is caught, by name, with what is wrong and how to mend it."""

import itertools
import json
import math
import random
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from conftest import Made
from outline_reader import svg_lines
from program_reader import Stroke, cut_at, strokes
from purfle.cli.main import main
from purfle.errors import ProgramError
from purfle.proof import dry_fit

Files = dict[str, bytes]
Found = list[tuple[str, str, str]]
Corner = tuple[float, float]
PLACES = range(3)
MOVED, DEEPER, LARGER = 0.03, 0.1, 1.01
MATTERS = 0.015
"""Half the width (mm) of the wood by which a deleted line has to make a difference."""
MOST_TRIED = 40


def written(folder: Path, files: Files) -> Path:
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return folder


def told(text: str) -> Found:
    """What the command says, as what, where, mend."""
    return re.findall(r"^(?:STOP: )?(\S.*)\n  where: (.*)\n  mend:  (.*)$", text, re.MULTILINE)


def stopped_by(files: Files) -> Found:
    """What the proof says of these files: why they are refused, or which findings say stop."""
    try:
        proof = dry_fit(files)
    except ProgramError as refusal:
        return [(fault.what, fault.where, fault.mend) for fault in refusal.faults]
    stops = [finding for finding in proof.findings if finding.severity == "stop"]
    assert proof.proven == (not stops)
    return [(finding.what, finding.where, finding.mend) for finding in stops]


class Bench:
    """Files of one job; `check` proves them with one of them tampered with."""

    def __init__(self, files: Files) -> None:
        self.files = {n: d for n, d in files.items() if n.endswith((".nc", ".svg", ".dxf", ".json"))}
        self.files.pop("timings.json")
        self.card: dict[str, Any] = json.loads(files["assembly.json"])

    def names(self, ending: str) -> list[str]:
        """The files for the machine of one kind."""
        if ending != ".nc":
            return [s[ending[1:]] for s in self.card["set_ups"]]
        return [p["file"] for s in self.card["set_ups"] for p in s["programs"]]

    def set_up(self, name: str) -> dict[str, Any]:
        """The set-up on the card that a file belongs to."""
        of_set_up = {
            s["number"]: [s["svg"], s["dxf"], *(p["file"] for p in s["programs"])] for s in self.card["set_ups"]
        }
        return next(s for s in self.card["set_ups"] if name in of_set_up[s["number"]])

    def radius(self, name: str) -> float:
        number = next(p["cutter"] for p in self.set_up(name)["programs"] if p["file"] == name)
        return float(next(c["diameter"] for c in self.card["cutters"] if c["number"] == number)) / 2

    def check(self, name: str, data: bytes) -> Found:
        """What stops, or why it is refused; told with where and mend, and with the name of the file."""
        assert data != self.files[name], "the damage has to change the file"
        found = stopped_by({**self.files, name: data})
        assert found, f"{name}: not caught"
        assert all(what and where and mend for what, where, mend in found)
        assert any(name in where for _, where, _ in found), (name, found)
        return found

    def with_card(self, change: Callable[[dict[str, Any]], None]) -> Found:
        card = json.loads(self.files["assembly.json"])
        change(card)
        return self.check_card(json.dumps(card).encode())

    def check_card(self, data: bytes) -> Found:
        found = stopped_by({**self.files, "assembly.json": data})
        assert found, "not caught"
        assert all(what and where and mend for what, where, mend in found)
        return found


@pytest.fixture(scope="module")
def small(clasp: Made) -> Bench:
    return Bench(clasp[1])


@pytest.fixture(scope="module")
def lid(tern_lid: Made) -> Bench:
    return Bench(tern_lid[1])


def chance(*seeds: object) -> random.Random:
    return random.Random(repr(seeds))


# --- untouched


@pytest.mark.parametrize("which", ["small", "lid"])
def test_untouched_files_are_proven(which: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    bench: Bench = request.getfixturevalue(which)
    assert stopped_by(bench.files) == []
    assert main(["prove", str(written(tmp_path, bench.files))]) == 0


# --- programs


def last_pass(program: bytes) -> list[Stroke]:
    """The cutting moves of the deepest last passes, in the plane of their floor."""
    moves = [s for s in strokes(program) if "last pass" in s.of_pass and s.word != "G0"]
    floors = {p: min(s.end[2] for s in moves if s.of_pass == p) for p in {s.of_pass for s in moves}}
    return [s for s in moves if s.start[2] == s.end[2] == floors[s.of_pass]]


def with_words(line: str, **places: float) -> str:
    """A line of a program with these words changed, or added where it had none."""
    for letter, value in places.items():
        word = f"{letter}{value:.4f}"
        line = re.sub(rf"{letter}-?[\d.]+", word, line) if letter in line else f"{line} {word}"
    return line


def moved_to_the_wall(bench: Bench, name: str, turn: random.Random) -> bytes:
    """One end point of the last pass, moved 0.03 mm towards the wall."""
    walls = shapely.boundary(shapely.union_all(list(svg_lines(bench.files[bench.set_up(name)["svg"]]).values())))
    radius = bench.radius(name)
    on_wall = [
        s for s in last_pass(bench.files[name]) if abs(walls.distance(shapely.Point(s.end[:2])) - radius) < 0.004
    ]
    stroke = turn.choice(on_wall)
    here, there = shapely.get_coordinates(shapely.shortest_line(shapely.Point(stroke.end[:2]), walls))
    x, y = here + (there - here) / math.dist(here, there) * MOVED
    lines = bench.files[name].decode().splitlines()
    lines[stroke.line] = with_words(lines[stroke.line], X=x, Y=y)
    return "\n".join(lines).encode()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("which", ["small", "lid"])
def test_an_end_point_of_a_last_pass_moved_by_three_hundredths(
    which: str, place: int, request: pytest.FixtureRequest
) -> None:
    bench: Bench = request.getfixturevalue(which)
    turn = chance("end point", place)
    name = bench.names(".nc")[(place * 2) % len(bench.names(".nc"))]
    bench.check(name, moved_to_the_wall(bench, name, turn))


def deepened(program: bytes, number: int) -> bytes:
    """One pass 0.1 mm deeper, ramp and floor."""
    lines = program.decode().splitlines()
    begin = next(i for i, line in enumerate(lines) if line.startswith(f"(Pass {number}:"))
    end = next((i for i in range(begin + 1, len(lines)) if lines[i].startswith("(Pass")), len(lines))
    for i in range(begin, end):
        if not lines[i].startswith("("):
            lines[i] = re.sub(r"Z-([\d.]+)", lambda m: f"Z-{float(m[1]) + DEEPER:.4f}", lines[i])
    return "\n".join(lines).encode()


@pytest.mark.parametrize("which", ["small", "lid"])
def test_a_pass_a_tenth_deeper(which: str, request: pytest.FixtureRequest) -> None:
    """Roughing or last pass: of the small job passes of two programs, of the lid one."""
    bench: Bench = request.getfixturevalue(which)
    for name in bench.names(".nc")[:2] if which == "small" else bench.names(".nc")[:1]:
        passes = [int(n) for n in re.findall(rb"^\(Pass (\d+):", bench.files[name], re.MULTILINE)]
        for number in passes[:: 1 + len(passes) // 4] if which == "small" else passes[-1:]:
            found = bench.check(name, deepened(bench.files[name], number))
            assert any("deep" in what for what, _, _ in found), found


def mirrored_program(program: bytes, middle: float) -> bytes:
    """x mirrored about a line, turns the other way round."""
    lines = []
    for line in program.decode().splitlines():
        if not line.startswith("("):
            line = re.sub(r"X(-?[\d.]+)", lambda m: f"X{2 * middle - float(m[1]):.4f}", line)
            line = re.sub(r"I(-?[\d.]+)", lambda m: f"I{-float(m[1]):.4f}", line)
            line = re.sub(r"G([23])\b", lambda m: f"G{5 - int(m[1])}", line)
        lines.append(line)
    return "\n".join(lines).encode()


def middle_of(bench: Bench, name: str) -> float:
    xs = [x for x, _ in bench.set_up(name)["outline"]]
    return float(min(xs) + max(xs)) / 2


@pytest.mark.parametrize("about", ["nothing", "middle"])
@pytest.mark.parametrize("place", PLACES)
def test_a_mirrored_program(small: Bench, place: int, about: str) -> None:
    name = small.names(".nc")[place * 2]
    middle = 0.0 if about == "nothing" else middle_of(small, name)
    small.check(name, mirrored_program(small.files[name], middle))


def without_line(bench: Bench, name: str, which: int) -> bytes:
    """A program less one move of its last pass: the longest (or the next) of those without which wood is another."""
    moves = [s for s in strokes(bench.files[name]) if np.isfinite(s.start[:2]).all()]
    radius = bench.radius(name)
    after = dict(itertools.pairwise(moves))
    wood = shapely.Polygon(bench.set_up(name)["outline"])
    chords = shapely.linestrings([[s.start[:2], s.end[:2]] for s in moves])
    whole_lines = [s for s in last_pass(bench.files[name]) if after[s].word == "G1"]
    for stroke in sorted(whole_lines, key=lambda s: -math.dist(s.start, s.end))[:MOST_TRIED]:
        gone = shapely.LineString([stroke.start[:2], stroke.end[:2], after[stroke].end[:2]])
        near = [moves[i] for i in np.flatnonzero(shapely.dwithin(chords, gone, 3 * radius))]
        left = [s for s in near if s not in (stroke, after[stroke])] + [replace(after[stroke], start=stroke.start)]
        before, then = (cut_at(some, -stroke.end[2], radius) for some in (near, left))
        changed = before.symmetric_difference(then).intersection(wood)
        which -= 0 if changed.buffer(-MATTERS).is_empty else 1
        if which < 0:
            lines = bench.files[name].decode().splitlines()
            del lines[stroke.line]
            return "\n".join(lines).encode()
    pytest.fail(f"no move of {name} matters alone")


@pytest.mark.parametrize(
    "which, number, place", [("small", 0, 0), ("small", 1, 1), ("small", 2, 0), ("lid", 0, 2), ("lid", 4, 0)]
)
def test_a_deleted_line_that_changes_wood(which: str, number: int, place: int, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    name = bench.names(".nc")[number]
    bench.check(name, without_line(bench, name, place))


@pytest.mark.parametrize("number", PLACES)
def test_another_cutter_in_a_program(small: Bench, number: int) -> None:
    """One that is on the card, and one that is not."""
    name = small.names(".nc")[number * 2]
    words = re.search(rb"^T(\d+)$", small.files[name], re.MULTILINE)
    assert words
    others = [c["number"] for c in small.card["cutters"] if c["number"] != int(words[1])] + [77]
    for other in others:
        found = small.check(name, re.sub(rb"(?m)^T\d+$", b"T%d" % other, small.files[name]))
        assert any(f"cutter {other}" in what for what, _, _ in found), found


@pytest.mark.parametrize("by", [0.1, -0.1, 0.03])
def test_another_diameter_on_the_card(small: Bench, by: float) -> None:
    used = {p["cutter"] for s in small.card["set_ups"] for p in s["programs"]}

    def change(card: dict[str, Any]) -> None:
        for cutter in card["cutters"]:
            cutter["diameter"] += by if cutter["number"] in used else 0.0

    found = small.with_card(change)
    for name in small.names(".nc"):
        assert any(name in where for _, where, _ in found), name


# --- outline files


def changed_path(svg: bytes, which: int, change: Callable[[list[list[Any]]], None]) -> bytes:
    """An SVG with its path number `which` (the stock not counted) changed: a list of [letter, numbers...]."""
    paths = re.findall(rb' d="([^"]*)"', svg)[1:]
    commands = [
        [c, *map(float, re.findall(r"-?[\d.]+", body))]
        for c, body in re.findall(r"([MLAZ])([^MLAZ]*)", paths[which].decode())
    ]
    change(commands)
    words = [c[0] + " ".join(f"{v:.7f}".rstrip("0").rstrip(".") for v in c[1:]) for c in commands]
    return svg.replace(paths[which], " ".join(words).encode())


def moved_corner(at: int) -> Callable[[list[list[Any]]], None]:
    """One corner moved by 0.03 mm across the way from the corner before to the corner behind."""

    def change(commands: list[list[Any]]) -> None:
        drawn = [c for c in commands if c[0] != "Z"]
        here = drawn[at % len(drawn)]
        before, behind = drawn[(at - 1) % len(drawn)], drawn[(at + 1) % len(drawn)]
        way = math.dist(before[-2:], behind[-2:])
        here[-2] -= (behind[-1] - before[-1]) / way * MOVED
        here[-1] += (behind[-2] - before[-2]) / way * MOVED

    return change


def scaled(commands: list[list[Any]]) -> None:
    """The outline 1 % larger about its first corner."""
    x0, y0 = commands[0][1:3]
    for c in commands:
        if c[0] != "Z":
            c[-2:] = [x0 + (c[-2] - x0) * LARGER, y0 + (c[-1] - y0) * LARGER]
            c[1:-2] = [c[1] * LARGER, c[2] * LARGER, *c[3:6]] if c[0] == "A" else []


def mirrored(middle: float) -> Callable[[list[list[Any]]], None]:
    def change(commands: list[list[Any]]) -> None:
        for c in commands:
            if c[0] != "Z":
                c[-2] = 2 * middle - c[-2]
                c[5:6] = [1 - c[5]] if c[0] == "A" else c[5:6]

    return change


@pytest.mark.parametrize("which, number", [("small", 0), ("small", 1), ("small", 2), ("lid", 0), ("lid", 3)])
def test_a_corner_of_an_svg_moved_by_three_hundredths(which: str, number: int, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    name = bench.names(".svg")[number]
    at = chance("corner", which, number).randrange(20)
    bench.check(name, changed_path(bench.files[name], 0, moved_corner(at)))


@pytest.mark.parametrize("which, number", [("small", 0), ("small", 1), ("small", 2), ("lid", 2)])
def test_an_outline_of_an_svg_one_hundredth_larger(which: str, number: int, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    name = bench.names(".svg")[number]
    bench.check(name, changed_path(bench.files[name], 0, scaled))


@pytest.mark.parametrize("about", ["nothing", "middle"])
@pytest.mark.parametrize("number", PLACES)
def test_a_mirrored_svg(small: Bench, number: int, about: str) -> None:
    name = small.names(".svg")[number]
    data = small.files[name]
    for path in range(len(re.findall(rb' d="', data)) - 1):
        data = changed_path(data, path, mirrored(0.0 if about == "nothing" else middle_of(small, name)))
    small.check(name, data)


Tags = list[list[str]]


def changed_dxf(dxf: bytes, change: Callable[[Tags], None]) -> bytes:
    """A DXF with the corners of each of its lines but the stock changed: a list of [group, value] for each line."""
    lines = dxf.decode("cp1252").splitlines()
    tags = [[lines[i].strip(), lines[i + 1]] for i in range(0, len(lines) - 1, 2)]
    starts = [i for i, t in enumerate(tags) if t[0] == "0"]
    for begin, end in zip(starts, [*starts[1:], len(tags)], strict=True):
        entity = tags[begin:end]
        if entity[0][1] == "LWPOLYLINE" and ["8", "STOCK"] not in entity:
            change(entity)
    return "\n".join(word for tag in tags for word in tag).encode("cp1252") + b"\n"


def corners(entity: Tags) -> list[tuple[list[str], list[str]]]:
    """The x and y tags of each corner, to be changed in place."""
    xs, ys = ([t for t in entity if t[0] == group] for group in ("10", "20"))
    return list(zip(xs, ys, strict=True))


class FirstOnly:
    """Does something to the first line that comes along, and nothing to the others."""

    def __init__(self, change: Callable[[Tags], None]) -> None:
        self.change, self.done = change, False

    def __call__(self, entity: Tags) -> None:
        if not self.done:
            self.change(entity)
            self.done = True


def moved_dxf_corner(at: int) -> Callable[[Tags], None]:
    def change(entity: Tags) -> None:
        places = corners(entity)
        before, here, behind = (places[(at + i) % len(places)] for i in (-1, 0, 1))
        dx, dy = (float(behind[i][1]) - float(before[i][1]) for i in (0, 1))
        way = math.hypot(dx, dy)
        here[0][1] = f"{float(here[0][1]) - dy / way * MOVED:.6f}"
        here[1][1] = f"{float(here[1][1]) + dx / way * MOVED:.6f}"

    return change


def scaled_dxf(entity: Tags) -> None:
    first = [float(t[1]) for t in corners(entity)[0]]
    for corner in corners(entity):
        for tag, begin in zip(corner, first, strict=True):
            tag[1] = f"{begin + (float(tag[1]) - begin) * LARGER:.6f}"


def mirrored_dxf(middle: float) -> Callable[[Tags], None]:
    def change(entity: Tags) -> None:
        for tag in entity:
            if tag[0] == "10":
                tag[1] = f"{2 * middle - float(tag[1]):.6f}"
            elif tag[0] == "42":
                tag[1] = f"{-float(tag[1]):.9f}"

    return change


@pytest.mark.parametrize("which, number", [("small", 0), ("small", 1), ("small", 2), ("lid", 0), ("lid", 3)])
def test_a_corner_of_a_dxf_moved_by_three_hundredths(which: str, number: int, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    name = bench.names(".dxf")[number]
    at = chance("corner", which, number).randrange(20)
    bench.check(name, changed_dxf(bench.files[name], FirstOnly(moved_dxf_corner(at))))


@pytest.mark.parametrize("which, number", [("small", 0), ("small", 1), ("small", 2), ("lid", 2)])
def test_an_outline_of_a_dxf_one_hundredth_larger(which: str, number: int, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    name = bench.names(".dxf")[number]
    bench.check(name, changed_dxf(bench.files[name], FirstOnly(scaled_dxf)))


@pytest.mark.parametrize("about", ["nothing", "middle"])
@pytest.mark.parametrize("number", PLACES)
def test_a_mirrored_dxf(small: Bench, number: int, about: str) -> None:
    name = small.names(".dxf")[number]
    middle = 0.0 if about == "nothing" else middle_of(small, name)
    small.check(name, changed_dxf(small.files[name], mirrored_dxf(middle)))


# --- whole files and the card


@pytest.mark.parametrize("ending", [".nc", ".svg", ".dxf", ".json"])
@pytest.mark.parametrize("place", PLACES)
def test_a_missing_file(
    small: Bench, place: int, ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By the command: 1 where the rest can still be read, 2 where the card itself is gone."""
    name = "assembly.json" if ending == ".json" else small.names(ending)[place * 2]
    written(tmp_path, {n: d for n, d in small.files.items() if n != name})
    assert main(["prove", str(tmp_path)]) == (2 if ending == ".json" else 1)
    said = capsys.readouterr()
    found = told(said.err if ending == ".json" else said.out)
    assert any("missing" in what and name in where and mend for what, where, mend in found), found


@pytest.mark.parametrize("ending", [".nc", ".svg", ".dxf", ".json"])
@pytest.mark.parametrize("place", PLACES)
def test_a_truncated_file(
    small: Bench, place: int, ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing of it, half of it, all but its last sign that counts."""
    name = "assembly.json" if ending == ".json" else small.names(ending)[place]
    data = small.files[name].rstrip()
    kept = data[: (0, len(data) // 2, len(data) - 2)[place]]
    written(tmp_path, {**small.files, name: kept})
    assert main(["prove", str(tmp_path)]) in (1, 2)
    said = capsys.readouterr()
    found = told(said.err + said.out)
    assert any(name in where and what and mend for what, where, mend in found), found


@pytest.mark.parametrize("which", ["small", "lid"])
@pytest.mark.parametrize(
    "key, by", [("angle", 0.5), ("angle", 180.0), ("x", 0.3), ("y", -0.3), ("mirrored", 1.0)], ids=str
)
def test_a_part_turned_or_moved(which: str, key: str, by: float, request: pytest.FixtureRequest) -> None:
    bench: Bench = request.getfixturevalue(which)
    part = bench.card["inlays"][0]["parts"][0]

    def change(card: dict[str, Any]) -> None:
        pose = card["inlays"][0]["parts"][0]["to_board"]
        pose[key] = not pose[key] if key == "mirrored" else pose[key] + by

    found = bench.with_card(change)
    label = f"part {part['number']} ({part['name']})"
    assert any(label in what or label in where for what, where, _ in found), found


TAMPERED: dict[str, Callable[[Bench, str], bytes]] = {
    "end point": lambda bench, name: moved_to_the_wall(bench, name, chance("command")),
    "deeper": lambda bench, name: deepened(bench.files[name], 1),
    "mirrored": lambda bench, name: mirrored_program(bench.files[name], middle_of(bench, name)),
    "line gone": lambda bench, name: without_line(bench, name, 0),
    "cutter": lambda bench, name: re.sub(rb"(?m)^T\d+$", b"T1", bench.files[name]),
}


@pytest.mark.parametrize("kind", TAMPERED)
def test_the_command_says_so(small: Bench, kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """1 where it can be computed, 2 where a file cannot be read; never 0, and nothing but what, where and mend."""
    name = small.names(".nc")[0]
    written(tmp_path, {**small.files, name: TAMPERED[kind](small, name)})
    status = main(["prove", str(tmp_path)])
    said = capsys.readouterr()
    assert status in (1, 2)
    assert ("NOT PROVEN. Do not cut" in said.out) == (status == 1)
    assert "Proven:" not in said.out
    assert any(name in where for _, where, _ in told(said.out if status == 1 else said.err))
