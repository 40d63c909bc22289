"""A recess and its insert with tapered walls: planned, written as programs, and read back by the proof."""

from dataclasses import dataclass, replace
from pathlib import Path

import shapely
from shapely import Polygon, box

from purfle.cutting.figures import figures_of
from purfle.cutting.passes import numbered
from purfle.cutting.tapered import TaperedWork, tapered_insert, tapered_recess
from purfle.files.rs274 import write_program
from purfle.geometry.pose import Pose
from purfle.model.board import Board
from purfle.model.cutting import CuttingRule, Program, SetUp
from purfle.model.job import FitWish, Job
from purfle.model.shop import Cutter, Machine, VCutter
from purfle.model.tapered import TaperedRule
from purfle.proof.cones import Cone, ConeRun
from purfle.proof.program import read_program
from purfle.proof.tapered import TaperedFit, TaperedPair, TaperedSide, fit_tapered
from purfle.tapered import rounded

MACHINE = Machine("small machine", (900.0, 600.0, 120.0), 24000.0, 3000.0, 5000.0, 300.0, 6.0)
FLAT = Cutter(1, "1/8 in", 3.175, 2, 12.0, 16.0, 24000.0)
SHARP = VCutter(3, "V 60", 12.7, 2, 11.0, 20.0, 24000.0, half_angle=30.0)
NARROW = VCutter(4, "V 30, worn", 6.35, 1, 11.0, 20.0, 24000.0, half_angle=15.0, tip_radius=0.05)
RULES = {
    "sharp": TaperedRule(30.0, 0.0, 2.5, 0.5, 1.0),
    "narrow": TaperedRule(15.0, 0.05, 3.0, 0.6, 1.0),
}
PLACE = Pose(25.0, 130.0, 40.0, mirrored=True)
"""From the recess's frame to the insert's stock: turned over and turned."""


@dataclass(frozen=True)
class Bench:
    """Programs of both sides by file name, and the outlines that they were made for."""

    rule: TaperedRule
    recess: Polygon
    insert: Polygon
    files: dict[str, str]
    cutters: dict[int, Cutter]
    to_recess: Pose = PLACE.inverse()

    def fit(self, **changed: str) -> TaperedFit:
        """The pair put together, from its files; some of them changed, '.' in their names written as '_'."""
        files = {name: changed.get(name.replace(".", "_"), text) for name, text in self.files.items()}
        sides = {}
        for side, outline in (("recess", self.recess), ("insert", self.insert)):
            runs = []
            for name, text in files.items():
                if name.startswith(side):
                    reading = read_program(name, text.encode())
                    runs.append(ConeRun.of(reading, cone_of(self.cutters[reading.cutter])))
            sides[side] = TaperedSide(side, outline, tuple(runs))
        return fit_tapered(TaperedPair(self.rule, sides["recess"], sides["insert"], self.to_recess))

    def with_cutter(self, cutter: Cutter) -> "Bench":
        """The same files, cut by another cutter of that number."""
        return replace(self, cutters=self.cutters | {cutter.number: cutter})


def cone_of(cutter: Cutter) -> Cone:
    if isinstance(cutter, VCutter):
        slope = TaperedRule(cutter.half_angle, 0.0, 1.0, 1.0, 1.0).slope
        return Cone(cutter.tip_radius, slope, cutter.cutting_length)
    return Cone(cutter.radius, 0.0, cutter.cutting_length)


def job() -> Job:
    return Job(
        "Star", "star", Path("."), "mm", "a4", Board("oak", 200.0, 200.0, 20.0), None, (), (),
        FitWish(0.1, FLAT.name, 0.3, 0.2), CuttingRule(), 1.0, 1.0, 5.0, "0a1b2c",
    )  # fmt: skip


def bench(outline: Polygon, which: str = "sharp") -> Bench:
    """Both sides of a pair, written."""
    rule, cutter = RULES[which], SHARP if which == "sharp" else NARROW
    recess = rounded(outline, rule.tip_radius)
    insert = PLACE.region(recess)
    work = TaperedWork(rule, cutter, FLAT, CuttingRule(), "0.1 mm")
    passes = {"recess": tapered_recess(recess, "star", work), "insert": tapered_insert(insert, "star", work)}
    files = {}
    for side, by_cutter in passes.items():
        stock = box(*shapely.buffer(recess if side == "recess" else insert, 20.0).bounds)
        set_up = SetUp(1, side, side, side, "show", stock, 20.0, (), (), "Clamps.", 6.0, 1.0)
        for one, its in by_cutter.items():
            figures = figures_of(its, one, MACHINE)
            program = Program(f"{side}-{one.number}.nc", one, numbered(its, figures, MACHINE), figures, 1.0)
            files[program.file] = write_program(job(), set_up, program)
    return Bench(rule, recess, insert, files, {FLAT.number: FLAT, cutter.number: cutter})
