"""The whole job: how long the demo takes from the command to the proven files, warm.

    python bench/whole_job.py [--count 5] [--job examples/tern-lid] [--json FILE]

Runs `purfle make` so many times, each in fresh processes, into a folder that is thrown away. Prints the least, median
and most of: real time, processor time of both processes together, each stage; and the most memory that both held at a
time (proportional set size, so that what they share counts once; Linux only), from two runs before the counted ones.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOOK_EVERY = 0.02
"""Seconds between two looks at the memory."""


def family(first: int) -> list[int]:
    """A process and all that came from it."""
    found, new = [first], [first]
    while new:
        children = []
        for one in new:
            try:
                children += [int(child) for child in Path(f"/proc/{one}/task/{one}/children").read_text().split()]
            except OSError:
                continue
        found, new = found + children, children
    return found


def memory(first: int) -> float:
    """MB that a process and its children hold; 0 where the system does not tell."""
    held = 0.0
    for one in family(first):
        try:
            rows = Path(f"/proc/{one}/smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        held += sum(float(row.split()[1]) for row in rows if row.startswith("Pss:")) / 1000
    return held


def run(job: Path, out: Path, looks: bool) -> dict[str, float]:
    """The figures of one run. To look at the memory costs time, so it is done in runs of their own."""
    before, start = os.times(), time.perf_counter()
    command = [sys.executable, "-m", "purfle.cli", "make", str(job), "--out", str(out)]
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    most = 0.0
    while looks and running.poll() is None:
        most = max(most, memory(running.pid))
        time.sleep(LOOK_EVERY)
    status = running.wait()
    if looks:
        return {"memory of both, MB": most}
    after = os.times()
    spent = after.children_user - before.children_user + after.children_system - before.children_system
    if status not in (0, 1):
        sys.exit(f"purfle make ended with status {status}")
    stages = json.loads((out / "timings.json").read_text(encoding="utf-8"))
    return {"real time, s": time.perf_counter() - start, "processor time of both, s": spent} | stages


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=5)
    parser.add_argument("--job", type=Path, default=ROOT / "examples" / "tern-lid")
    parser.add_argument("--json", type=Path)
    wish = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "made"
        held = [run(wish.job, out, looks=True) for _ in range(2)]
        runs = [run(wish.job, out, looks=False) for _ in range(wish.count)]
    print(f"{'':42}{'least':>8}{'median':>8}{'most':>8}")
    for key in (*held[0], *runs[0]):
        values = [one[key] for one in (held if key in held[0] else runs)]
        print(f"{key:42}{min(values):8.2f}{statistics.median(values):8.2f}{max(values):8.2f}")
    if wish.json:
        wish.json.write_text(json.dumps({"memory": held, "runs": runs}, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
