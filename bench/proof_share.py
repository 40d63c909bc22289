"""How long the dry fit takes beside the making of what it proves, both on one core.

    python bench/proof_share.py [JOB ...] [--count 5] [--json FILE]

Each JOB is a job folder; without one the demo, the star tray, and a star of six points with tapered walls that is
written here. Each is made `count` times in this process without a second one. Times are of the processor. Making is
all that `purfle make` does before the dry fit: reading, areas, pieces, places, plan, programs, outlines, card. Sheets
and pictures count on neither side. The median of the shares of single runs is printed, since the machine changes its
speed; metres are those of all programs.
Goals: 20 m in 1 s or less, 0.3 of the making time.
"""

import argparse
import contextlib
import json
import statistics
import tempfile
import time
from pathlib import Path

from purfle import job
from purfle.shop import first_shop_text

ROOT = Path(__file__).resolve().parent.parent
DRY_FIT, SHEETS = "dry fit", "sheets"
V_CUTTER = """
[[cutter]]
number = 4
name = "60 degree V"
angle = 60
diameter = "1/2 in"
flutes = 2
cutting_length = 10
stick_out = 20
max_speed = 24000
"""
TAPERED_STAR = """
[job]
name = "Tapered star"
units = "mm"
[board]
wood = "black walnut"
length = "100 mm"
width = "70 mm"
thickness = "18 mm"
[fit]
walls = "tapered"
cutter = "1/8 in straight"
v_cutter = "60 degree V"
[[shape]]
kind = "star"
points = 6
diameter = "44 mm"
wood = "holly"
depth = "3 mm"
centred = true
"""


def tapered_star(folder: Path) -> Path:
    """The job folder of a star with tapered walls; its plate wants thicker holly than the first rack has."""
    made = folder / "tapered-star"
    made.mkdir()
    (made / "job.toml").write_text(TAPERED_STAR, encoding="utf-8")
    shop = first_shop_text().replace("thickness = 3.6", "thickness = 9", 1) + V_CUTTER
    (made / "shop.toml").write_text(shop, encoding="utf-8")
    return made


class Enough(Exception):
    """What follows the dry fit is not made."""


class Watch:
    """When each stage began, in s of the processor; stops the job before one of them."""

    def __init__(self, last: str = "") -> None:
        self.begun: dict[str, float] = {"start": time.process_time()}
        self.last = last

    def __call__(self, stage: str) -> None:
        self.begun[stage] = time.process_time()
        if self.last and self.last in stage:
            raise Enough

    def at(self, word: str) -> float:
        """When the stage with this word in its name began."""
        return next(when for stage, when in self.begun.items() if word in stage)


def run(folder: Path) -> tuple[float, float]:
    """Making and proving of one run, in s of the processor."""
    watch = Watch(SHEETS)
    with contextlib.suppress(Enough):
        job.make(folder, watch)
    return watch.at(DRY_FIT) - watch.at("start"), watch.at(SHEETS) - watch.at(DRY_FIT)


def measured(folder: Path, count: int) -> dict[str, object]:
    """The figures of one job. A whole run before the counted ones loads what is needed, and tells the metres."""
    proof = job.make(folder)[0].proof
    assert proof is not None
    metres = sum(program.metres for program in proof.programs)
    runs = [run(folder) for _ in range(count)]
    making, proving = (statistics.median(times) for times in zip(*runs, strict=True))
    return {
        "proven": proof.proven,
        "metres": round(metres, 2),
        "making_s": round(making, 3),
        "proving_s": round(proving, 3),
        "proving_s_for_20_m": round(proving * 20 / metres, 3),
        "share": round(statistics.median(proved / made for made, proved in runs), 3),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("jobs", type=Path, nargs="*")
    parser.add_argument("--count", type=int, default=5)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        usual = [ROOT / "examples" / "tern-lid", ROOT / "examples" / "star-tray", tapered_star(Path(folder))]
        rows = {}
        for one in asked.jobs or usual:
            rows[one.name] = measured(one, asked.count)
            print(f"{one.name}: {rows[one.name]}", flush=True)
    if asked.json:
        asked.json.write_text(json.dumps(rows, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
