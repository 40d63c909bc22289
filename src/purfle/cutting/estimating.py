"""How long a design takes to cut, before anything is placed: real passes and their times, as if it lay on one stock."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import Polygon

from purfle.cutting.choosing import CHANGE_MINUTES
from purfle.cutting.figures import figures_of
from purfle.cutting.freeing import part_passes
from purfle.cutting.passes import Work, clearing_passes, numbered, recess_passes
from purfle.geometry.offsetting import Region
from purfle.model.cutting import CuttingRule, Pass
from purfle.model.shop import Cutter, Machine


@dataclass(frozen=True, slots=True)
class CuttingTask:
    """What is cut: recesses with their depth, and parts with the thickness of the wood that they are cut out of."""

    recesses: tuple[tuple[Region, float], ...]
    parts: tuple[tuple[tuple[Polygon, ...], float], ...]
    rule: CuttingRule
    machine: Machine

    @property
    def deepest(self) -> float:
        """The deepest cut of all."""
        return max([depth for _, depth in self.recesses] + [thick + self.rule.through for _, thick in self.parts])

    @property
    def deepest_recess(self) -> float:
        """The deepest recess; 0 where there is none."""
        return max((depth for _, depth in self.recesses), default=0.0)


def minutes_of_parts(task: CuttingTask, cutter: Cutter) -> float:
    """Minutes in which a cutter cuts all parts out of their wood; setting up is not among them."""
    groups = [
        (part_passes(parts, "", _work(task, cutter, thick + task.rule.through))) for parts, thick in task.parts if parts
    ]
    return _minutes(groups, cutter, task.machine)


def minutes_of_recesses(task: CuttingTask, cutter: Cutter, clearing: Cutter | None = None) -> float | None:
    """Minutes in which a cutter cuts all recesses, or finishes them after a larger one has cleared where it can go.

    The change of cutters is counted. None where the larger one can go nowhere.
    """
    if clearing is None:
        alone = [recess_passes([region], "", _work(task, cutter, depth)) for region, depth in task.recesses]
        return _minutes(alone, cutter, task.machine)
    first: list[Sequence[Pass]] = []
    then: list[Sequence[Pass]] = []
    for region, depth in task.recesses:
        passes, cleared = clearing_passes([region], "", _work(task, clearing, depth))
        first.append(passes)
        then.append(recess_passes([region], "", _work(task, cutter, depth), cleared))
    if not any(first):
        return None
    return _minutes(first, clearing, task.machine) + CHANGE_MINUTES + _minutes(then, cutter, task.machine)


def _work(task: CuttingTask, cutter: Cutter, depth: float) -> Work:
    return Work(cutter, task.rule, depth, "")


def _minutes(groups: Iterable[Sequence[Pass]], cutter: Cutter, machine: Machine) -> float:
    passes = [one for group in groups for one in group]
    if not passes:
        return 0.0
    figures = figures_of(passes, cutter, machine)
    return sum(one.minutes for one in numbered(passes, figures, machine))
