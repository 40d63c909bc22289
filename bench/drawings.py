"""Drawings that nobody here has drawn, taken to pieces: how many settle by both engines, how even the seam, how long.

    python bench/drawings.py [--set colour ...] [--count 200 | --all] [--cutter 3.175] [--seam 0.1] [--out FILE.jsonl]

Each drawing is read, made 90 mm large on its longer side, taken to pieces for one cutter, and let in. Prints a table
for each set and writes a line of JSON for each drawing as it is done; with the same --out, what is there already is not
done again. Seconds are of the processor, for one drawing on one core; the seam is measured by distances between
outlines. A drawing that is refused names its place and reason: those are counted and listed; anything else is a fault.
"""

import argparse
import contextlib
import json
import os
import resource
import signal
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

import numpy as np
from corpus import SETS, sample

from purfle import artwork
from purfle.errors import PurfleError
from purfle.files.svg_drawing import read_svg
from purfle.fit import let_in, make_pieces
from purfle.hard_stop import LONGEST, HardStop
from purfle.model.pieces import FitRule

SIZE = 90.0
TOO_LONG = 120
"""Seconds of the processor after which a drawing is given up and counted as a fault."""
CLOSED, SEAM_LEAST, SEAM_SHARE = 0.005, 0.001, 0.999


def measured(task: tuple[str, str, bytes, float, float], longest: float = LONGEST) -> dict[str, object]:
    """The figures of one drawing, or its refusal, or the fault that it met."""
    group, name, data, cutter, seam = task
    row: dict[str, object] = {"set": group, "drawing": name, "cutter_mm": cutter, "seam_mm": seam}
    _forget_peak()
    signal.signal(signal.SIGPROF, _give_up)
    signal.setitimer(signal.ITIMER_PROF, TOO_LONG)
    start = time.process_time()
    try:
        with HardStop(longest):
            row |= _taken_to_pieces(name, data, FitRule(cutter / 2, seam))
    except PurfleError as refusal:
        first = refusal.faults[0]
        row |= {"refused": first.what, "where": first.where, "mend": first.mend}
    except Exception as fault:
        row |= {"fault": f"{type(fault).__name__}: {fault}", "trace": traceback.format_exc(limit=-8)}
    signal.setitimer(signal.ITIMER_PROF, 0)
    return row | {"seconds": time.process_time() - start, "peak_mb": _peak_mb()}


def _taken_to_pieces(name: str, data: bytes, rule: FitRule) -> dict[str, object]:
    start = time.process_time()
    drawing = read_svg(data, name)
    drawing = read_svg(data, name, enlarged=SIZE / max(drawing.design_size))
    areas = artwork.areas_of_drawing(drawing)
    scale = SIZE / max(artwork.design_size(areas))
    colours = dict.fromkeys(area.colour for area in areas.areas if area.number not in areas.ground)
    woods = [("#{:02x}{:02x}{:02x}".format(*colour), colour) for colour in colours]
    drawn = artwork.choose_woods(areas, scale, woods, ()).areas
    read = time.process_time()
    pieces = make_pieces(drawn, rule)
    made = time.process_time()
    seam = let_in(pieces, rule).seam
    return {
        "nodes": int(sum(len(arc.points) for arc in areas.arcs)),
        "areas": len(drawn),
        "pieces": len(pieces.pieces),
        "lost": len(pieces.lost),
        "residual_geos_mm": pieces.closing_residual_geos,
        "residual_clipper_mm": pieces.closing_residual_clipper,
        "art_changed": pieces.art_changed,
        "seam_narrowest_mm": seam.narrowest,
        "seam_widest_mm": seam.widest,
        "seam_share_within": seam.share_within,
        "not_carried": len(areas.doubts),
        "reading_s": read - start,
        "pieces_s": made - read,
        "letting_in_s": time.process_time() - made,
    }


def _give_up(*_: object) -> None:
    raise TimeoutError(f"given up after {TOO_LONG} s")


def _forget_peak() -> None:
    with contextlib.suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak_mb() -> float:
    try:
        lines = Path("/proc/self/status").read_text().splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
    except (OSError, StopIteration):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _table(rows: list[dict], seam: float) -> None:
    made = [row for row in rows if "residual_geos_mm" in row]
    refused = [row for row in rows if "refused" in row]
    faults = [row for row in rows if "fault" in row]
    reasoned = [row for row in refused if row["refused"] and row["where"] and row["mend"]]
    silent = [row for row in made if not _as_promised(row, seam)]
    print(f"{len(rows)} drawings: {len(made)} made, {len(refused)} refused, {len(faults)} tracebacks")
    print(f"  refused with place, reason and mend: {len(reasoned)} of {len(refused)}; ", end="")
    print(f"made but not as promised (silent): {len(silent)}")
    for what, count in Counter(_kind(row["refused"]) for row in refused).most_common(12):
        print(f"  refused {count:4}: {what}")
    for row in refused[:20]:
        print(f"    {row['drawing']}: {row['refused'][:90]}; {row['where']}")
    for row in silent[:20]:
        print(f"  SILENT {row['drawing']}")
    for row in faults:
        print(f"  FAULT {row['drawing']}: {row['fault'][:150]}")
    if not made:
        return
    print(f"  {'':22}{'p50':>10}{'p95':>10}{'p99':>10}{'least':>10}{'most':>10}")
    for key in ("seconds", "pieces_s", "peak_mb", "nodes", "pieces", "lost", "art_changed", "residual_geos_mm"):
        _row(key, made)
    for key in ("residual_clipper_mm", "seam_narrowest_mm", "seam_widest_mm", "seam_share_within"):
        _row(key, made)
    both = sum(max(row["residual_geos_mm"], row["residual_clipper_mm"]) <= CLOSED for row in made)
    narrow = sum(row["seam_narrowest_mm"] < seam - SEAM_LEAST for row in made)
    wide = sum(row["seam_widest_mm"] <= 1.3 * seam for row in made)
    wider = sum(row["seam_widest_mm"] > 2.0 * seam for row in made)
    even = sum(row["seam_share_within"] >= SEAM_SHARE for row in made)
    print(f"  closed within {CLOSED} mm by both engines: {both} of {len(rows)}, {100 * both / len(rows):.2f} %")
    print(f"  seam too narrow: {narrow}; at most 1.3 a: {100 * wide / len(made):.1f} %; beyond 2 a: {wider}; ", end="")
    print(f"{100 * SEAM_SHARE} % of it within 0.01 mm: {100 * even / len(made):.1f} % of the drawings")


def _as_promised(row: dict, seam: float) -> bool:
    """True if what was made is closed by both engines, and its seam within the goal everywhere."""
    closed = max(row["residual_geos_mm"], row["residual_clipper_mm"]) <= CLOSED
    return closed and seam - SEAM_LEAST <= row["seam_narrowest_mm"] and row["seam_widest_mm"] <= 2.0 * seam


def _kind(text: str) -> str:
    """A refusal without its names and figures, so that equal ones are counted together."""
    words = (word if not any(sign.isdigit() or sign == '"' for sign in word) else "…" for word in text.split())
    return " ".join(words)


def _row(key: str, made: list[dict]) -> None:
    values = np.array([row[key] for row in made], float)
    figures = (*np.percentile(values, [50, 95, 99]), values.min(), values.max())
    print(f"  {key:22}" + "".join(f"{figure:10.4g}" for figure in figures))


def _wish() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", action="append", choices=SETS, help="one of the sets; may be given again")
    parser.add_argument("--count", type=int, default=200, help="drawings of each set")
    parser.add_argument("--all", action="store_true", help="every drawing of each set")
    parser.add_argument("--drawing", action="append", help="only the drawings of this name")
    parser.add_argument("--cutter", type=float, default=3.175, help="cutter diameter in mm")
    parser.add_argument("--seam", type=float, default=0.1, help="seam in mm")
    parser.add_argument("--longest", type=float, default=LONGEST, help="s of the hard stop; inf lifts it")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--out", type=Path, help="JSON lines, one for each drawing")
    return parser.parse_args()


def main() -> None:
    wish = _wish()
    done = [json.loads(line) for line in wish.out.read_text().splitlines()] if wish.out and wish.out.exists() else []
    seen = {(row["set"], row["drawing"], row["cutter_mm"], row["seam_mm"]) for row in done}
    faults = 0
    for group in wish.set or SETS:
        chosen = sample(group, None if wish.all or wish.drawing else wish.count)
        tasks = [(group, name, data, wish.cutter, wish.seam) for name, data in chosen]
        tasks = [task for task in tasks if not wish.drawing or task[1] in wish.drawing]
        left = [task for task in tasks if (task[0], task[1], task[3], task[4]) not in seen]
        names = {(task[0], task[1], task[3], task[4]) for task in tasks}
        rows = [row for row in done if (row["set"], row["drawing"], row["cutter_mm"], row["seam_mm"]) in names]
        with ProcessPoolExecutor(wish.processes) as pool:
            for row in pool.map(partial(measured, longest=wish.longest), left, chunksize=1):
                rows.append(row)
                if wish.out:
                    with wish.out.open("a") as sink:
                        sink.write(json.dumps(row) + "\n")
                if sys.stderr.isatty():
                    print(f"\r{group} {len(rows)} of {len(tasks)}", end="", file=sys.stderr)
        print(f"\n{group}: {SETS[group].kind}, {SETS[group].package}, cutter {wish.cutter} mm, seam {wish.seam} mm")
        _table(rows, wish.seam)
        faults += sum("fault" in row for row in rows)
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
