"""Hostile drawings through the whole command, one process each: a clear error or a sound result in time and memory.

    python bench/hostile.py [--only WORD] [--json FILE]

Runs `purfle pieces` on every hostile SVG and DXF of tests/cases, and on larger ones that are made here. Each has to end
with exit status 0, 1 or 2 and no traceback, a refusal with what, where and mend, within 10 s of the processor and 1 GB.
Prints those that took longest, and every one that does not keep to it; exit status 1 then. Needs Linux.
"""

import argparse
import json
import math
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests/cases/hostile_svg"), str(ROOT / "tests/cases/hostile_dxf")]

import test_hostile_dxf  # noqa: E402
import test_hostile_svg  # noqa: E402

from dxf_sample import dxf_bytes  # noqa: E402

MOST_SECONDS, MOST_MB = 10.0, 1000.0
STOPPED_AFTER, STOPPED_AT = 45, 3 << 30
"""Seconds of the processor, and bytes, beyond which a run is stopped and counted as a fault."""
PAGE, SQUARE = test_hostile_svg.PAGE, test_hostile_svg.SQUARE


def svg(body: str) -> bytes:
    return f"{PAGE}{body}</svg>".encode()


def joined(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:.4f},{y:.4f}" for x, y in points)


def scattered(count: int, seed: int = 3) -> list[tuple[float, float]]:
    chance = random.Random(seed)
    return [(chance.uniform(2, 78), chance.uniform(2, 78)) for _ in range(count)]


def spiral(count: int) -> Iterator[tuple[float, float]]:
    for k in range(count):
        turn, reach = k / count * 200 * math.tau, 38.0 * k / count
        yield 40 + reach * math.cos(turn), 40 + reach * math.sin(turn)


def rayed(count: int) -> Iterator[tuple[float, float]]:
    for k in range(count):
        reach = 38.0 if k % 2 else 0.5
        yield 40 + reach * math.cos(k / count * math.tau), 40 + reach * math.sin(k / count * math.tau)


def comb(teeth: int) -> Iterator[tuple[float, float]]:
    for k in range(teeth):
        x = 2 + 76.0 * k / teeth
        yield from ((x, 78), (x, 6), (x + 38.0 / teeth, 6), (x + 38.0 / teeth, 78))
    yield from ((78, 78), (78, 2), (2, 2))


def circles(count: int, radius: float) -> str:
    return "".join(
        f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{radius}" fill="#{k % 4096:03x}"/>'
        for k, (x, y) in enumerate(scattered(count))
    )


def squares(count: int, side: float) -> str:
    """A chequered field of count x count."""
    step = 76.0 / count
    return "".join(
        f'<rect x="{2 + step * (k % count):.4f}" y="{2 + step * (k // count):.4f}" width="{side * step:.4f}" '
        f'height="{side * step:.4f}" fill="#{(k * 7) % 4096:03x}"/>'
        for k in range(count * count)
    )


def clips(depth: int) -> str:
    """Clip paths of fifty discs, each clipped by the next."""
    body = "".join(f'<clipPath id="c{k}" clip-path="url(#c{k + 1})">{circles(50, 9)}</clipPath>' for k in range(depth))
    return body + '<rect width="80" height="80" clip-path="url(#c0)"/>'


LARGE_SVG = {
    "curves without number, far bent": svg('<path d="M0 0' + "c9e5 0 0 9e5 9 9" * 600_000 + 'z"/>'),
    "arcs without number, far bent": svg('<path d="M0 0' + "a9e5 9e5 0 0 1 9 9" * 500_000 + 'z"/>'),
    "three thousand crossing lines, every second field": svg(
        f'<path fill-rule="evenodd" d="M{joined(scattered(3000))}Z"/>'
    ),
    "three hundred crossing lines, every second field": svg(
        f'<path fill-rule="evenodd" d="M{joined(scattered(300))}Z"/>'
    ),
    "twenty thousand crossing lines": svg(f'<path d="M{joined(scattered(20_000))}Z"/>'),
    "three thousand crossing lines, stroked": svg(
        f'<path fill="none" stroke="#000" stroke-width=".05" d="M{joined(scattered(3000))}Z"/>'
    ),
    "ten thousand crossing lines, each a shape": svg(
        "".join(
            f'<path stroke="#{k % 4096:03x}" stroke-width=".1" d="M{joined(scattered(2, k))}"/>' for k in range(9000)
        )
    ),
    "nine thousand discs over one another": svg(circles(9000, 20)),
    "nine thousand small discs": svg(circles(9000, 0.6)),
    "a chequered field of ten thousand": svg(squares(99, 1.0)),
    "a chequered field with gaps": svg(squares(99, 0.9)),
    "a chequered field of dust": svg(f'<g transform="scale(.01)">{squares(99, 0.5)}</g>' + SQUARE),
    "a spiral of fifty thousand points": svg(f'<polygon points="{joined(spiral(50_000))}"/>'),
    "a spiral stroked": svg(
        f'<polyline fill="none" stroke="#000" stroke-width=".1" points="{joined(spiral(50_000))}"/>'
    ),
    "a star of twenty thousand rays": svg(f'<polygon points="{joined(rayed(40_000))}"/>'),
    "a comb of five thousand teeth": svg(f'<polygon points="{joined(comb(5000))}"/>'),
    "a comb of two thousand teeth, sound": svg(f'<polygon points="{joined(list(comb(2000))[1:])}"/>'),
    "a comb of a hundred teeth": svg(f'<polygon points="{joined(comb(100))}"/>'),
    "a star of a thousand rays": svg(f'<polygon points="{joined(rayed(2000))}"/>'),
    "a stroked spiral of ten thousand points": svg(
        f'<polyline fill="none" stroke="#000" stroke-width=".1" points="{joined(spiral(10_000))}"/>'
    ),
    "small discs, no more than are read": svg(circles(2900, 0.6)),
    "discs over one another, no more than are read": svg(circles(2900, 20)),
    "a chequered field, no more squares than are read": svg(squares(54, 1.0)),
    "a chequered field with gaps, no more squares than are read": svg(squares(54, 0.9)),
    "nine hundred crossing lines, each a shape": svg(
        "".join(
            f'<path stroke="#{k % 4096:03x}" stroke-width=".1" d="M{joined(scattered(2, k))}"/>' for k in range(900)
        )
    ),
    "letters, no more than are read": svg(
        f'<text y="40" font-size=".2" font-family="Source Serif Pro">{"Tern " * 580}</text>'
    ),
    "clips within clips": svg(clips(40)),
    "a clip of fifty discs, used by thousands": svg(
        f'<clipPath id="c">{circles(50, 9)}</clipPath>' + '<rect width="80" height="80" clip-path="url(#c)"/>' * 3000
    ),
    "a transform of a million steps": svg(f'<g transform="{"rotate(1)" * 300_000}">{SQUARE}</g>'),
    "a hundred thousand numbers of dashes": svg(
        f'<path stroke="#000" stroke-dasharray="{".5 " * 100_000}" d="M0 0h70v70"/>'
    ),
    "dashes that are no numbers": svg('<path stroke="#000" stroke-dasharray="NaN inf" d="M0 0h70v70z"/>' + SQUARE),
    "dashes that begin at 1e300": svg(
        '<path stroke="#000" stroke-dasharray="3 2" stroke-dashoffset="1e300" d="M0 0h70v70z"/>'
    ),
    "a mitre of 1e300": svg(
        '<path stroke="#000" stroke-miterlimit="1e300" stroke-width="4" d="M5 5L75 5.001L5 5.002z"/>'
    ),
    "ten thousand letters": svg(f'<text y="40" font-size=".02" font-family="Source Serif Pro">{"Tern " * 1999}</text>'),
    "letters of 1e300": svg('<text y="40" font-size="1e300" font-family="Source Serif Pro">Tern</text>' + SQUARE),
    "letters of no size": svg('<text y="40" font-size="NaN" font-family="Source Serif Pro">Tern</text>' + SQUARE),
    "letters spaced by 1e300": svg(
        '<text y="9" letter-spacing="1e300" font-family="Source Serif Pro">Tern</text>' + SQUARE
    ),
    "a drawing of a nanometre": PAGE.replace("80mm", "1e-6mm").encode() + SQUARE.encode() + b"</svg>",
    "a drawing as large as the moon": PAGE.replace("80mm", "3e9mm").encode() + SQUARE.encode() + b"</svg>",
    "a line a thousand times longer than high": svg('<rect width="80" height=".0001"/>'),
    "a line a million times higher than wide": svg('<rect width=".000001" height="80"/>' + '<rect height="80"/>'),
    "style rules without number": svg(
        "<style>" + "".join(f".c{k}{{fill:#{k % 4096:03x}}}" for k in range(20_000)) + "</style>" + SQUARE
    ),
    "two million points": svg(f'<polygon points="{"1 1 2 2 3 1 " * 700_000}"/>'),
    "nested groups of gradients": svg(
        "".join(f'<linearGradient id="g{k}" href="#g{k + 1}"/>' for k in range(9000))
        + '<rect width="20" height="20" fill="url(#g0)"/>'
    ),
    "in two bytes a sign": ('<?xml version="1.0" encoding="UTF-16"?>' + PAGE + SQUARE + "</svg>").encode("utf-16"),
    "in an unknown code": b'<?xml version="1.0" encoding="no-such-code"?>' + svg(SQUARE),
    "packed": b"\x1f\x8b\x08\x00" + bytes(200),
    "elements nested a hundred thousand deep": svg("<g>" * 100_000 + SQUARE + "</g>" * 100_000),
    "an attribute of twenty million signs": svg(f'<rect width="9" height="9" data-x="{"x" * 20_000_000}"/>'),
    "forty million signs": svg(f'<desc>{"x" * 40_000_000}</desc>{SQUARE}'),
    "hairlines beside each other": svg(
        "".join(f'<rect x="{2 + k * 0.02:.3f}" y="2" width=".01" height="70"/>' for k in range(3000))
    ),
    "one shape ten thousand times": svg('<circle cx="40" cy="40" r="30"/>' * 9999),
    "a photograph within": svg(
        f'<image href="data:image/png;base64,{"A" * 9_000_000}" width="9" height="9"/>' + SQUARE
    ),
}  # fmt: skip


def crossing(count: int):
    def draw(_, model):
        for k in range(count):
            model.add_line(*scattered(2, k))

    return draw


def concentric(count: int):
    def draw(_, model):
        for k in range(count):
            model.add_circle((0, 0), 1 + k * 36.0 / count)

    return draw


def discs(count: int, radius: float):
    def draw(_, model):
        for place in scattered(count):
            model.add_circle(place, radius)

    return draw


def hatched(_, model):
    hatch = model.add_hatch()
    for k in range(400):
        hatch.paths.add_polyline_path([*scattered(100, k)], is_closed=True)


def with_spline(degree: int, count: int):
    return lambda _, model: model.add_open_spline([(x, y, 0) for x, y in scattered(count)], degree=degree)


def beside(draw):
    """With a circle that is sound."""

    def both(document, model):
        draw(document, model)
        model.add_circle((40, 40), 12)

    return both


LARGE_DXF = {
    "three thousand crossing lines": (crossing(3000)),
    "nine thousand crossing lines": (crossing(9000)),
    "seven hundred crossing lines": (crossing(700)),
    "two hundred crossing lines": (crossing(200)),
    "nine thousand circles in one another": (concentric(9999)),
    "six hundred circles in one another": (concentric(600)),
    "nine thousand circles over one another": (discs(9000, 20)),
    "nine thousand small circles": (discs(9000, 0.2)),
    "small circles, no more than are read": (discs(2900, 0.6)),
    "four hundred circles over one another": (discs(400, 20)),
    "a polyline of a hundred thousand points": (lambda _, m: m.add_lwpolyline(list(spiral(100_000)), close=True)),
    "a polyline that crosses itself everywhere": (lambda _, m: m.add_lwpolyline(scattered(3000), close=True)),
    "bulges without number": (
        lambda _, m: m.add_lwpolyline([(x, y, 0.9) for x, y in scattered(20_000)], "xyb", close=True)
    ),
    "a hatch of islands over one another": (hatched),
    "a spline of degree fifty": (beside(with_spline(50, 400))),
    "a spline of nineteen thousand points": (beside(with_spline(3, 19_000))),
    "a spline of thirty thousand points": (beside(with_spline(3, 30_000))),
    "a block of no size": (
        beside(lambda d, m: (d.blocks.new("a").add_circle((0, 0), 1), m.add_blockref("a", (0, 0), {"xscale": 0.0})))
    ),
    "a block of 1e300": (
        beside(lambda d, m: (d.blocks.new("a").add_circle((0, 0), 1), m.add_blockref("a", (0, 0), {"xscale": 1e300})))
    ),
    "an ellipse without width": (beside(lambda _, m: m.add_ellipse((0, 0), (5, 0), 1e-6))),
    "a circle of a micrometre": (lambda _, m: m.add_circle((0, 0), 1e-6)),
    "a circle of forty metres": (lambda _, m: m.add_circle((0, 0), 40_000)),
}


def cases() -> Iterator[tuple[str, str, Callable[[], bytes]]]:
    """Kind and name of every case, and what makes its bytes."""
    for name, text in {**test_hostile_svg.REFUSED, **test_hostile_svg.READ}.items():
        yield "svg", name, text.encode
    for name, data in LARGE_SVG.items():
        yield "svg", name, partial(bytes, data)
    for name, (data, _) in test_hostile_dxf.REFUSED.items():
        yield "dxf", name, partial(bytes, data)
    for name, add in test_hostile_dxf.UNSOUND.items():
        yield "dxf", name, partial(dxf_bytes, lambda _, model, add=add: (add(model), model.add_circle((0, 0), 6)))
    for name, draw in LARGE_DXF.items():
        yield "dxf", name, partial(dxf_bytes, draw)


def limited() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (STOPPED_AFTER, STOPPED_AFTER))
    resource.setrlimit(resource.RLIMIT_AS, (STOPPED_AT, STOPPED_AT))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def measured(kind: str, name: str, data: bytes, folder: Path) -> dict[str, object]:
    """How one run ended, how long it took and how much memory it had."""
    file, target = folder / f"case.{kind}", folder / "case.geojson"
    file.write_bytes(data)
    target.unlink(missing_ok=True)
    words = ["pieces", str(file), "--height", "80mm", "--cutter", "1/8in", "--seam", "0.1mm", "--geojson", str(target)]
    start = time.monotonic()
    with (folder / "said").open("w+b") as said:
        run = subprocess.Popen(
            [sys.executable, "-m", "purfle.cli", *words], stdout=said, stderr=said, preexec_fn=limited
        )
        _, ended, used = os.wait4(run.pid, 0)
        run.returncode = os.waitstatus_to_exitcode(ended)
        said.seek(0)
        told = said.read().decode(errors="replace")
    mb = used.ru_maxrss / (1024 if sys.platform == "linux" else 1 << 20)
    row = {"kind": kind, "case": name, "bytes": len(data), "status": run.returncode}
    row |= {"seconds": used.ru_utime + used.ru_stime, "elapsed_s": time.monotonic() - start, "peak_mb": mb}
    return row | {"faults": faults_of(row, told, target), "told": told[:300]}


def faults_of(row: dict, told: str, target: Path) -> list[str]:
    """What of the promise was not kept."""
    found = []
    if row["status"] not in (0, 1, 2) or "Traceback" in told:
        found.append(f"ended with {row['status']}: {told[-200:]}")
    if row["status"] == 2 and not ("where: " in told and "mend: " in told):
        found.append(f"refused without place or mend: {told[:200]}")
    if (row["status"] in (0, 1)) != target.exists():
        found.append("a result where it was refused, or none where it was not")
    if row["seconds"] > MOST_SECONDS:
        found.append(f"{row['seconds']:.1f} s")
    if row["peak_mb"] > MOST_MB:
        found.append(f"{row['peak_mb']:.0f} MB")
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", default="", help="cases whose name holds this")
    parser.add_argument("--json", type=Path)
    wish = parser.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for kind, name, make in cases():
            if wish.only not in name:
                continue
            row = measured(kind, name, make(), Path(folder))
            rows.append(row)
            if row["faults"]:
                print(f"NOT KEPT {kind} {name}: {'; '.join(row['faults'])}", flush=True)
    print(f"{len(rows)} drawings; {sum(row['status'] == 2 for row in rows)} refused, each with what, where and mend")
    for row in sorted(rows, key=lambda one: -one["seconds"])[:12]:
        print(f"  {row['seconds']:6.2f} s {row['peak_mb']:5.0f} MB status {row['status']} {row['kind']} {row['case']}")
    print(f"  most memory: {max(row['peak_mb'] for row in rows):.0f} MB")
    if wish.json:
        wish.json.write_text(json.dumps(rows, indent=1))
    sys.exit(1 if any(row["faults"] for row in rows) else 0)


if __name__ == "__main__":
    main()
