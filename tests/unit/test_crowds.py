"""Crowds of areas lose what hardly takes the cutter at once; no other drawing is touched."""

import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon, box

from purfle.fit.cells import Cell, Partition, lay_out
from purfle.fit.crowds import CROWD, LITTLE, thin_out
from purfle.fit.sweeping import put_drawn_in_order
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5, 0.1)
WOODS = ("holly", "ebony", "pear")


def strips(count: int, width: float, corners: int) -> tuple[DrawnArea, ...]:
    """Strips beside one another in turn of three woods, 20 mm high, their common borders of so many corners; and a
    broad one at the end."""
    high = np.linspace(0.0, 20.0, corners)
    edges = [np.column_stack((at * width + 0.05 * np.sin(high * math.pi), high)) for at in range(count + 1)]
    thin = [Polygon(np.vstack((one, other[::-1]))) for one, other in pairwise(edges)]
    broad = Polygon(np.vstack((edges[-1], box(0, 0, count * width + 9.0, 20).exterior.coords[:2][::-1])))
    return tuple(DrawnArea(f"strip {n}", WOODS[n % 3], (n, 0, 0), region) for n, region in enumerate([*thin, broad]))


def put_in_order(areas: tuple[DrawnArea, ...]) -> Partition:
    partition = lay_out(areas, RULE)
    put_drawn_in_order(partition)
    return partition


def seen(partition: Partition) -> list[tuple[str, bytes]]:
    return [(cell.name, shapely.to_wkb(cell.region)) for cell in partition.cells]


def widths(cells: list[Cell]) -> list[float]:
    return [2.0 * float(shapely.maximum_inscribed_circle(cell.region, 0.01).length) for cell in cells]


def test_thin_areas_of_a_crowd_go_to_their_neighbours_at_once() -> None:
    """Strips of 1.3 mm beside each other, more than a hundred, of many corners: they go, what is broad stays."""
    areas = strips(CROWD + 10, 1.3, 60)
    partition = put_in_order(areas)
    assert len(partition.inserts) == len(areas)
    thin_out(partition, len(areas))
    assert 1 <= len(partition.inserts) < len(areas) / 2
    assert min(widths(partition.inserts)) >= RULE.cutter_radius - 0.05
    assert math.isclose(sum(cell.region.area for cell in partition.cells), partition.domain.area, rel_tol=1e-9)
    assert partition.rule == RULE
    assert [one.severity for one in partition.findings] == ["look"]
    assert "1.5 mm" in partition.findings[0].what


def test_fewer_areas_and_plain_ones_are_left_as_they_are() -> None:
    """As many corners on a hundred areas, and as many areas with few corners, are no crowd."""
    for areas in (strips(CROWD - 1, 1.3, 60), strips(CROWD + 10, 1.3, 4)):
        partition = put_in_order(areas)
        vertices = shapely.get_num_coordinates([cell.region for cell in partition.cells]).sum()
        assert (vertices > LITTLE) == (len(areas) <= CROWD)
        before = seen(partition)
        thin_out(partition, len(areas))
        assert seen(partition) == before
        assert not partition.findings
