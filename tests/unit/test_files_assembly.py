"""The assembly card says where each part goes, names only what exists, and holds no outline of what is cut."""

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from purfle.files.assembly import assembly_card, card_bytes, dxf_file, svg_file
from purfle.model.cutting import CuttingPlan
from purfle.model.job import JobResult
from purfle.proof.card import read_card
from sample import tern_result

RESULT = tern_result()
ON_ITS_SPOT = 0.001
"""In mm: a millionth of a degree over a board and a millionth of a mm are far below it."""
DESCRIPTION = Path(__file__).parents[2] / "docs" / "assembly-card.md"


def written(result: JobResult) -> bytes:
    return card_bytes(result.job, result.shop, result.layout, result.on_offcuts, result.cutting)


CARD = json.loads(written(RESULT))


def moved(points: np.ndarray, pose: dict) -> np.ndarray:
    """A pose as `docs/assembly-card.md` describes it: mirror in the x axis, turn, move."""
    x, y = points[:, 0], points[:, 1] * (-1 if pose["mirrored"] else 1)
    cos, sin = np.cos(np.radians(pose["angle"])), np.sin(np.radians(pose["angle"]))
    return np.column_stack([x * cos - y * sin + pose["x"], x * sin + y * cos + pose["y"]])


def test_every_part_comes_from_its_line_on_the_offcut_to_its_place_on_the_board() -> None:
    lines = {(s.number, line.id): line.region for s in RESULT.cutting.set_ups for line in s.lines}
    for inlay, on_card in zip(RESULT.layout.inlays, CARD["inlays"], strict=True):
        inserts = {insert.number: inlay.pose.region(insert.region) for insert in inlay.fit.inserts}
        assert {part["number"] for part in on_card["parts"]} == set(inserts)
        for part in on_card["parts"]:
            cut = lines[(part["set_up"], part["line"])]
            there = shapely.transform(cut, lambda xy, pose=part["to_board"]: moved(xy, pose))
            assert shapely.hausdorff_distance(there, inserts[part["number"]]) < ON_ITS_SPOT
            assert part["to_board"]["mirrored"] == (inlay.face == "underside")


def test_spares_go_where_their_original_goes() -> None:
    parts = [part for inlay in CARD["inlays"] for part in inlay["parts"] if part["spare"]]
    assert parts, "the sample has spares"
    assert len({(p["set_up"], p["line"]) for inlay in CARD["inlays"] for p in inlay["parts"]}) == len(
        RESULT.on_offcuts.places
    )


def test_every_recess_and_fitting_names_the_line_that_cuts_it() -> None:
    for inlay, face in zip(CARD["inlays"], ("show", "underside"), strict=False):
        set_up = next(s for s in CARD["set_ups"] if s["number"] == inlay["recess"]["set_up"])
        assert (set_up["stock"], set_up["face"]) == ("board", inlay["face"])
        assert inlay["face"] == face
        assert set(inlay["recess"]["lines"]) <= {line["id"] for line in set_up["lines"]}
    for fitting in CARD["fittings"]:
        assert fitting["line"] == f"{fitting['kind']}-{fitting['number']}"
        assert fitting["round"] == (fitting["kind"] in ("round", "magnet"))


def test_the_card_has_the_keys_that_its_description_lists_and_no_others() -> None:
    described = DESCRIPTION.read_text(encoding="utf-8")
    top = set(re.findall(r"^\| `(\w+)`(?:, `(\w+)`)?", described, re.MULTILINE))
    assert set(CARD) == {key for keys in top for key in keys if key}
    for name, one in (("set-up", CARD["set_ups"][0]), ("inlay", CARD["inlays"][0]), ("fitting", CARD["fittings"][0])):
        (listed,) = re.findall(rf"\*\*An? {name}\*\*: `{{(.*?)}}`", described, re.DOTALL)
        keys = set(re.findall(r"\w+", listed))
        assert set(one) == keys


def test_programs_list_their_depths_and_offcuts_are_cut_through() -> None:
    for set_up, on_card in zip(RESULT.cutting.set_ups, CARD["set_ups"], strict=True):
        assert on_card["cut_through"] == (0.0 if set_up.stock == "board" else RESULT.job.cutting.through)
        assert (on_card["svg"], on_card["dxf"]) == (svg_file(RESULT.job, set_up), dxf_file(RESULT.job, set_up))
        for program, entry in zip(set_up.programs, on_card["programs"], strict=True):
            assert entry["depths"] == sorted({one.depth for one in program.passes})
            assert [one["depth"] for one in on_card["passes"]] == [one.depth for one in program.passes]


def lists_of_places(value: Any, key: str = "") -> Iterator[str]:
    """Keys of the card below which a list of places stands."""
    for name, one in value.items() if isinstance(value, dict) else ((key, one) for one in value):
        if isinstance(one, (dict, list)):
            yield from lists_of_places(one, name)
            if isinstance(one, list) and one and isinstance(one[0], list):
                yield name


def test_the_card_holds_no_outline_but_that_of_the_stock() -> None:
    assert set(lists_of_places(CARD)) == {"outline"}
    for set_up, on_card in zip(RESULT.cutting.set_ups, CARD["set_ups"], strict=True):
        assert len(on_card["outline"]) == len(set_up.outline.exterior.coords) - 1


def test_the_card_is_the_same_to_the_byte_and_the_strict_reader_takes_it() -> None:
    assert written(tern_result()) == written(RESULT)
    assert read_card(written(RESULT)).job == "Tern lid"
    assert read_card(written(tern_result("inch"))).change == RESULT.job.change


def test_the_width_on_the_card_is_the_groove_that_the_cutter_cuts() -> None:
    (cutter,) = (c for c in CARD["cutters"] if c["number"] == 1)
    assert cutter["diameter"] == 3.18, "from the fit trial, not the 3.175 marked on it"


def test_a_plan_that_does_not_cut_a_part_is_a_fault_of_the_program() -> None:
    plan = CuttingPlan(RESULT.cutting.set_ups[:2])
    with pytest.raises(ValueError, match="no set-up cuts the offcut"):
        assembly_card(RESULT.job, RESULT.shop, RESULT.layout, RESULT.on_offcuts, plan)
    without = replace(RESULT.cutting.set_ups[0], lines=())
    with pytest.raises(ValueError, match="no line"):
        assembly_card(
            RESULT.job, RESULT.shop, RESULT.layout, RESULT.on_offcuts, CuttingPlan((without, *plan.set_ups[1:]))
        )
