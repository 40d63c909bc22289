"""A small job written out literally for tests of the proof: nothing here comes from the writers that it proves.

A board of 200 x 120 x 19 mm. On its show face a disc (set-up 1, inlay "moon") and a rounded square (inlay "tile"), let
in 2 mm with a seam of 0.1 mm; on its underside a magnet and a hinge that runs out over edge A (set-up 2). The disc,
its spare and the square come out of the offcut "maple-1", 2.6 mm thick (set-up 3).
"""

import json
import math
from dataclasses import dataclass, replace

SEAM = 0.1
CUTTER = 3.175
DEPTHS = (1.0, 2.0)
THROUGH = (1.0, 2.0, 2.9)
BOARD = (200.0, 120.0, 19.0)
OFFCUT = (160.0, 60.0, 2.6)
SAFE = 6.0


@dataclass(frozen=True)
class Rounded:
    """A rectangle with round corners (a disc where all three sizes are equal), turned by a multiple of 90 degrees."""

    x: float
    y: float
    half_x: float
    half_y: float
    corner: float

    def offset(self, by: float) -> "Rounded":
        return replace(self, half_x=self.half_x + by, half_y=self.half_y + by, corner=max(0.0, self.corner + by))

    def corners(self) -> list[tuple[float, float, float, float, float, float]]:
        """Counter-clockwise from the lower right: begin of the round corner, its end, its centre."""
        found = []
        for quarter, (sx, sy) in enumerate([(1, -1), (1, 1), (-1, 1), (-1, -1)]):
            cx = self.x + sx * (self.half_x - self.corner)
            cy = self.y + sy * (self.half_y - self.corner)
            a, b = math.radians(90 * quarter - 90), math.radians(90 * quarter)
            r = self.corner
            found.append(
                (cx + r * math.cos(a), cy + r * math.sin(a), cx + r * math.cos(b), cy + r * math.sin(b), cx, cy)
            )
        return found

    def svg(self) -> str:
        path, r = [], self.corner
        for index, (x0, y0, x1, y1, _, _) in enumerate(self.corners()):
            path.append(f"{'L' if index else 'M'}{x0:.6f} {y0:.6f} A{r:.6f} {r:.6f} 0 0 1 {x1:.6f} {y1:.6f}")
        return " ".join(path) + " Z"

    def dxf(self, layer: str, name: str) -> list[str]:
        tags = [
            "0",
            "LWPOLYLINE",
            "5",
            "30",
            "100",
            "AcDbEntity",
            "8",
            layer,
            "100",
            "AcDbPolyline",
            "90",
            "8",
            "70",
            "1",
        ]
        for x0, y0, x1, y1, _, _ in self.corners():
            tags += ["10", f"{x0:.6f}", "20", f"{y0:.6f}", "42", f"{math.tan(math.pi / 8):.9f}"]
            tags += ["10", f"{x1:.6f}", "20", f"{y1:.6f}"]
        return tags + (["1001", "PURFLE", "1000", name] if name else [])


class Pen:
    """Writes a program line by line, in mm or in inches."""

    def __init__(self, header: list[str], cutter: int, unit: str) -> None:
        self.scale, self.digits = (1.0, 4) if unit == "mm" else (25.4, 5)
        self.lines = [*(f"({line})" for line in header), "G21" if unit == "mm" else "G20", "G90 G17 G94"]
        self.lines += [f"T{cutter}", "S18000 M3", f"F{1200 / self.scale:.1f}", f"G0 Z{self.number(SAFE)}"]

    def number(self, value: float) -> str:
        return f"{value / self.scale:.{self.digits}f}"

    def go(self, word: str, **places: float) -> None:
        self.lines.append(word + "".join(f" {letter}{self.number(value)}" for letter, value in places.items()))

    def lap(self, shape: Rounded, z0: float, z1: float) -> None:
        """Once round the shape, counter-clockwise, sinking from z0 to z1 on the way."""
        corners = shape.corners()
        z = z0
        for index in range(4):
            x0, y0, x1, y1, cx, cy = corners[index]
            nx, ny = corners[(index + 1) % 4][:2]
            straight = math.hypot(nx - x1, ny - y1)
            bend = math.pi / 2 * shape.corner
            z += (z1 - z0) / 4 * bend / (bend + straight)
            if shape.corner > 0:
                self.go("G3", X=x1, Y=y1, Z=z, I=cx - x0, J=cy - y0)
            z = z0 + (z1 - z0) * (index + 1) / 4
            if straight > 1e-9:
                self.go("G1", X=nx, Y=ny, Z=z)

    def text(self) -> bytes:
        return "\n".join([*self.lines, f"G0 Z{self.number(SAFE)}", "M5", "M2", ""]).encode()


def recess_laps(shape: Rounded, radius: float) -> list[Rounded]:
    """Laps that clear a recess, from the inside out; the last one is on the line."""
    laps = [shape.offset(-radius)]
    while min(laps[-1].half_x, laps[-1].half_y) > 1.5:
        laps.append(laps[-1].offset(-1.1))
    return laps[::-1]


def cut_recess(pen: Pen, shape: Rounded, depths: tuple[float, ...], radius: float) -> None:
    laps = recess_laps(shape, radius)
    x, y = laps[0].corners()[0][:2]
    pen.go("G0", X=x, Y=y)
    pen.go("G1", Z=0.0)
    above = 0.0
    for depth in depths:
        pen.lap(laps[0], -above, -depth)
        for lap in laps:
            pen.go("G1", X=lap.corners()[0][0], Y=lap.corners()[0][1])
            pen.lap(lap, -depth, -depth)
        pen.go("G1", X=x, Y=y)
        above = depth
    pen.go("G0", Z=SAFE)


def cut_part(pen: Pen, shape: Rounded, depths: tuple[float, ...], radius: float) -> None:
    lap = shape.offset(radius)
    x, y = lap.corners()[0][:2]
    pen.go("G0", X=x, Y=y)
    pen.go("G1", Z=0.0)
    above = 0.0
    for depth in depths:
        pen.lap(lap, -above, -depth)
        pen.lap(lap, -depth, -depth)
        above = depth
    pen.go("G0", Z=SAFE)


@dataclass(frozen=True)
class Line:
    id: str
    kind: str
    depth: float
    shape: Rounded


def program(lines: list[Line], depths: dict[str, tuple[float, ...]], number: int, unit: str = "mm") -> bytes:
    pen = Pen([f"set-up {number}", f"cutter 2, diameter {CUTTER} mm", "run it in the air first"], 2, unit)
    for line in lines:
        cut = cut_recess if line.kind == "recess" else cut_part
        cut(pen, line.shape, depths[line.id], CUTTER / 2)
    return pen.text()


def svg(lines: list[Line], outline: list[list[float]], number: int) -> bytes:
    xs, ys = zip(*outline, strict=True)
    width, height = max(xs) - min(xs), max(ys) - min(ys)
    group = {"recess": "recess", "part": "parts"}[lines[0].kind]
    stock = "M" + " L".join(f"{x:.6f} {y:.6f}" for x, y in outline) + " Z"
    paths = "\n".join(f'<path id="{line.id}" d="{line.shape.svg()}" fill-rule="evenodd"/>' for line in lines)
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">
<title>set-up {number}</title>
<g id="set-up-{number}" transform="matrix(1 0 0 -1 {-min(xs)} {max(ys)})">
<g id="stock"><path id="stock-outline" d="{stock}"/></g>
<g id="{group}">
{paths}
</g>
</g>
</svg>
""".encode()


def dxf(lines: list[Line], outline: list[list[float]], number: int) -> bytes:
    tags = ["0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", "AC1015", "9", "$INSUNITS", "70", "4", "0", "ENDSEC"]
    tags += ["0", "SECTION", "2", "ENTITIES"]
    tags += ["0", "LWPOLYLINE", "8", "STOCK", "90", str(len(outline)), "70", "1"]
    for x, y in outline:
        tags += ["10", f"{x:.6f}", "20", f"{y:.6f}"]
    for line in lines:
        tags += line.shape.dxf(f"SET-UP-{number}", line.id)
    return "\n".join([*tags, "0", "ENDSEC", "0", "EOF", ""]).encode()


MOON = Rounded(60, 50, 20, 20, 20)
TILE = Rounded(130, 60, 15, 15, 3)
MAGNET = Rounded(60, -50, 5.05, 5.05, 5.05)
HINGE = Rounded(150, -4.5, 20, 7.5, CUTTER / 2)
"""In the underside frame; 12 mm of its 15 lie on the board."""


def lines_of(number: int) -> list[Line]:
    if number == 1:
        return [Line(f"recess-{i}", "recess", 2.0, s.offset(SEAM / 2)) for i, s in enumerate((MOON, TILE), 1)]
    if number == 2:
        return [Line("magnet-1", "recess", 4.0, MAGNET), Line("hinge-1", "recess", 2.0, HINGE)]
    moon = replace(MOON, x=25, y=28).offset(-SEAM / 2)
    return [
        Line("piece-1", "part", 2.6, moon),
        Line("piece-2", "part", 2.6, replace(TILE, x=130, y=30).offset(-SEAM / 2)),
        Line("spare-1", "part", 2.6, replace(moon, x=70)),
    ]


def outline_of(number: int) -> list[list[float]]:
    if number == 3:
        return [[0, 0], [OFFCUT[0], 0], [OFFCUT[0], OFFCUT[1]], [0, OFFCUT[1]]]
    y0, y1 = (0.0, BOARD[1]) if number == 1 else (-BOARD[1], 0.0)
    return [[0, y0], [BOARD[0], y0], [BOARD[0], y1], [0, y1]]


PASSES = {
    1: {"recess-1": DEPTHS, "recess-2": DEPTHS},
    2: {"magnet-1": (1.0, 2.0, 3.0, 4.0), "hinge-1": DEPTHS},
    3: {"piece-1": THROUGH, "piece-2": THROUGH, "spare-1": THROUGH},
}


def set_up(number: int) -> dict:
    on_board = number < 3
    return {
        "number": number,
        "title": f"set-up {number}",
        "stock": "board" if on_board else "maple-1",
        "face": "underside" if number == 2 else "show",
        "outline": outline_of(number),
        "thickness": BOARD[2] if on_board else OFFCUT[2],
        "cut_through": 0.0 if on_board else 0.3,
        "skin": 0.0,
        "sawing": None,
        "programs": [
            {
                "file": f"set-up-{number}.ngc",
                "cutter": 2,
                "depths": sorted({d for depths in PASSES[number].values() for d in depths}),
                "minutes": 3.0,
                "tapered": False,
            }
        ],
        "svg": f"set-up-{number}.svg",
        "dxf": f"set-up-{number}.dxf",
        "lines": [
            {"id": line.id, "kind": line.kind, "depth": line.depth, "tapered": False, "tabs": []}
            for line in lines_of(number)
        ],
        "passes": [],
        "steps": [],
        "guides": [],
    }


def part(number: int, name: str, line: str, spare: bool, pose: tuple[float, float, float]) -> dict:
    angle, x, y = pose
    return {
        "number": number,
        "name": name,
        "wood": "maple",
        "set_up": 3,
        "line": line,
        "spare": spare,
        "plate": "",
        "to_board": {"angle": angle, "x": x, "y": y, "mirrored": False},
    }


def inlay(name: str, line: str, parts: list[dict]) -> dict:
    common = {
        "face": "show",
        "order": 1,
        "into": "",
        "depth": 2.0,
        "glue_room": 0.1,
        "proud": 0.5,
        "seam": SEAM,
        "walls": None,
    }
    return {"name": name, **common, "recess": {"set_up": 1, "lines": [line]}, "chisel": [], "parts": parts}


def about(x: float, y: float, angle: float, to: tuple[float, float]) -> tuple[float, float, float]:
    """The pose that turns by `angle` and takes (x, y) to `to`."""
    turn = math.radians(angle)
    return (
        angle,
        to[0] - (x * math.cos(turn) - y * math.sin(turn)),
        to[1] - (x * math.sin(turn) + y * math.cos(turn)),
    )


def fitting(number: int, kind: str, line: str, shape: dict) -> dict:
    common = {"number": number, "name": f"{kind} {number}", "kind": kind, "face": "underside", "set_up": 2}
    return {**common, "line": line, "remnants": 0, **shape}


def card() -> dict:
    moon, spare, tile = (about(25, 28, 30, (60, 50)), about(70, 28, 30, (60, 50)), about(130, 30, 90, (130, 60)))
    return {
        "version": 8,
        "way": "machine",
        "templates": [],
        "holes": [],
        "job": "moon and tile",
        "change": "0000",
        "board": {"wood": "white oak", "length": BOARD[0], "width": BOARD[1], "thickness": BOARD[2]},
        "least_left": 6.0,
        "cutters": [
            {
                "number": 1,
                "name": "quarter inch",
                "diameter": 6.35,
                "cutting_length": 20.0,
                "max_speed": 24000,
                "v": None,
            },
            {
                "number": 2,
                "name": "eighth inch",
                "diameter": CUTTER,
                "cutting_length": 12.0,
                "max_speed": 30000,
                "v": None,
            },
        ],
        "machine": {"travel": [600, 400, 80], "safe_height": SAFE, "speed": 24000, "max_feed": 3000},
        "set_ups": [set_up(number) for number in (1, 2, 3)],
        "inlays": [
            inlay(
                "moon", "recess-1", [part(1, "moon", "piece-1", False, moon), part(1, "moon", "spare-1", True, spare)]
            ),
            inlay("tile", "recess-2", [part(2, "tile", "piece-2", False, tile)]),
        ],
        "fittings": [
            fitting(1, "magnet", "magnet-1", {"depth": 4.0, "centre": [60, 50], "size": [10.1, 10.1], "round": True}),
            fitting(
                2,
                "hinge",
                "hinge-1",
                {"depth": 2.0, "centre": [150, 6], "size": [40, 12], "round": False, "open_edge": True},
            ),
        ],
    }


def job_files(unit: str = "mm") -> dict[str, bytes]:
    """Everything in the folder, by name."""
    files = {"assembly.json": json.dumps(card()).encode()}
    for number in (1, 2, 3):
        lines, outline = lines_of(number), outline_of(number)
        files[f"set-up-{number}.ngc"] = program(lines, PASSES[number], number, unit)
        files[f"set-up-{number}.svg"] = svg(lines, outline, number)
        files[f"set-up-{number}.dxf"] = dxf(lines, outline, number)
    return files
