"""SVG reading against an independent renderer (resvg) on drawings that nobody here has drawn.

    python bench/svg_reading.py [--set colour ...] [--count 200 | --all] [--out FILE.jsonl]

Each drawing is read, its shapes are painted as plain polygons at 1,000 px on its longer side, and every pixel is held
against what resvg shows of the drawing itself. A pixel differs if one picture has there what the other does not have
within a pixel of it (antialiased edges are no difference). Prints a table for each set and writes a line of JSON for
each drawing. Goal: at most 0.1 % of the pixels differ on 99 % of the drawings, and each larger difference is one that
the reader told (`not_carried`). Exit status 1 if one was not told.
"""

import argparse
import io
import json
import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np
import resvg_py
import shapely
from corpus import SETS, sample
from PIL import Image

from purfle.errors import PurfleError
from purfle.files.svg_drawing import read_svg
from purfle.model.artwork import Drawing

SIDE = 1000
LEVELS = 48
"""Levels by which a pixel has to stand out."""
MOST_SHARE, ON_SHARE = 0.001, 0.99


def measured(task: tuple[str, str, bytes]) -> dict[str, object]:
    """The share of pixels that differ, or the refusal, or the fault."""
    group, name, data = task
    row: dict[str, object] = {"set": group, "drawing": name}
    start = time.process_time()
    try:
        drawing = read_svg(data, name)
        row["seconds"] = time.process_time() - start
        row["told"] = sorted({finding.what for finding in drawing.not_carried})
        width, height = pixel_size(drawing)
        theirs = shown_by_resvg(data, width, height)
        row["differs"] = float(np.mean(stand_out(painted(drawing, width, height), theirs)))
    except PurfleError as refusal:
        row |= {"refused": refusal.what, "where": refusal.where}
    except Exception as fault:
        row |= {"fault": f"{type(fault).__name__}: {fault}"}
    return row


def pixel_size(drawing: Drawing) -> tuple[int, int]:
    scale = SIDE / max(drawing.width, drawing.height)
    return max(1, round(drawing.width * scale)), max(1, round(drawing.height * scale))


def shown_by_resvg(data: bytes, width: int, height: int) -> np.ndarray:
    """At twice the size, then averaged: where two shapes abut, antialiasing lets the white below shine through."""
    size = {"width": 2 * width, "height": 2 * height}
    png = resvg_py.svg_to_bytes(svg_string=data.decode(), dpi=96, background="#ffffff", **size)
    pixels = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB"))
    return cv2.resize(pixels, (width, height), interpolation=cv2.INTER_AREA)


def painted(drawing: Drawing, width: int, height: int) -> np.ndarray:
    """Our shapes as plain polygons, the later over the earlier ones, shown by the same renderer."""
    body = ""
    for shape in drawing.shapes:
        rings = [ring for part in shapely.get_parts(shape.region) for ring in (part.exterior, *part.interiors)]
        data = "".join("M" + " ".join(f"{x:.4f},{drawing.height - y:.4f}" for x, y in ring.coords) for ring in rings)
        body += f'<path fill="rgb{shape.colour}" fill-rule="evenodd" d="{data}"/>'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {drawing.width} {drawing.height}"'
    size = f'width="{drawing.width}mm" height="{drawing.height}mm" preserveAspectRatio="none"'
    return shown_by_resvg(f"{head} {size}>{body}</svg>".encode(), width, height)


def stand_out(ours: np.ndarray, theirs: np.ndarray) -> np.ndarray:
    """Pixels of one picture that lie outside the range of the other one's pixels around them, either way round."""
    return beyond(ours, theirs) | beyond(theirs, ours)


def beyond(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    around = np.ones((3, 3), np.uint8)
    least, most = cv2.erode(other, around).astype(int), cv2.dilate(other, around).astype(int)
    return ((one < least - LEVELS) | (one > most + LEVELS)).any(2)


def _table(rows: list[dict]) -> list[dict]:
    """Print one set's figures; give back the differences that were not told."""
    seen = [row for row in rows if "differs" in row]
    shares = np.array([row["differs"] for row in seen])
    good = int((shares <= MOST_SHARE).sum())
    worse = [row for row in seen if row["differs"] > MOST_SHARE]
    untold = [row for row in worse if not row["told"]]
    refused = [row for row in rows if "refused" in row]
    print(f"{len(rows)} drawings: {len(seen)} compared, {len(refused)} refused, ", end="")
    print(f"{sum('fault' in row for row in rows)} faults")
    for row in [row for row in rows if "fault" in row][:10]:
        print(f"  FAULT {row['drawing']}: {row['fault'][:150]}")
    for row in refused[:10]:
        print(f"  refused {row['drawing']}: {row['refused'][:120]}")
    if seen:
        middle, most = np.percentile(shares, 50), shares.max()
        seconds = np.percentile([row["seconds"] for row in seen], [50, 95])
        print(f"  at most {MOST_SHARE:.1%} of the pixels differ: {good} of {len(seen)}, {good / len(seen):.2%}")
        print(f"  share that differs: median {middle:.4%}, most {most:.2%}; ", end="")
        print(f"reading {seconds[0]:.3f} s, p95 {seconds[1]:.3f} s")
        print(f"  larger differences: {len(worse)}, told by the reader: {len(worse) - len(untold)}")
    for row in sorted(untold, key=lambda row: -row["differs"])[:20]:
        print(f"  NOT TOLD {row['drawing']}: {row['differs']:.3%}")
    return untold


def _wish() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", action="append", choices=SETS, help="one of the sets; may be given again")
    parser.add_argument("--count", type=int, default=200, help="drawings of each set")
    parser.add_argument("--all", action="store_true", help="every drawing of each set")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--out", type=Path, help="JSON lines, one for each drawing")
    return parser.parse_args()


def main() -> None:
    wish = _wish()
    everything, untold = [], []
    for group in wish.set or SETS:
        tasks = [(group, name, data) for name, data in sample(group, None if wish.all else wish.count)]
        with ProcessPoolExecutor(wish.processes) as pool:
            rows = list(pool.map(measured, tasks, chunksize=4))
        print(f"\n{group}: {SETS[group].kind}, {SETS[group].package}")
        untold += _table(rows)
        everything += rows
    if wish.out:
        wish.out.write_text("".join(json.dumps(row) + "\n" for row in everything))
    shares = np.array([row["differs"] for row in everything if "differs" in row])
    good = float(np.mean(shares <= MOST_SHARE))
    print(f"\nall: {len(shares)} drawings, at most {MOST_SHARE:.1%} differ on {good:.2%} (goal {ON_SHARE:.0%})")
    sys.exit(1 if untold or any("fault" in row for row in everything) else 0)


if __name__ == "__main__":
    main()
