"""A pupil let into a moon that is glued into the board: the parts are put together in the planned order, or not at all.

The files are written out literally, as in `proof_fixture`: set-up 4 cuts the pupil's recess into the moon.
"""

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from proof_fixture import (
    MOON,
    PASSES,
    SEAM,
    Line,
    about,
    card,
    dxf,
    inlay,
    lines_of,
    outline_of,
    part,
    program,
    set_up,
    svg,
)
from proof_fixture import job_files as plain_files
from purfle.errors import ProgramError
from purfle.model.proof import Proof
from purfle.proof import dry_fit

Files = dict[str, bytes]
Told = list[tuple[str, str, str]]
ON_OFFCUT = (102.0, 50.0)


def later(middle: tuple[float, float], depth: float) -> Line:
    pupil = replace(MOON, x=middle[0], y=middle[1], half_x=6.0, half_y=6.0, corner=6.0)
    return Line("recess-3", "recess", depth, pupil.offset(SEAM / 2))


def files_with(
    middle: tuple[float, float] = (64.0, 52.0),
    depth: float = 1.2,
    change: Callable[[Any], None] = lambda _: None,
    without: tuple[str, ...] = (),
) -> Files:
    """The small job with a pupil about `middle` of the board, its recess `depth` deep, and a change of its card.

    `without`: lines of parts that there is no wood for.
    """
    recess = later(middle, depth)
    x, y = ON_OFFCUT
    piece = replace(recess.shape, x=x, y=y).offset(-SEAM)
    parts = [*lines_of(3), Line("piece-3", "part", 2.6, piece)]
    passes = {"recess-3": (depth / 2, depth)}
    through = {**PASSES[3], "piece-3": PASSES[3]["piece-1"]}
    files, top = plain_files(), card()
    top["set_ups"][2]["lines"].append({"id": "piece-3", "kind": "part", "depth": 2.6, "tapered": False, "tabs": []})
    fourth = {**set_up(1), "number": 4, "title": "pupil", "svg": "set-up-4.svg", "dxf": "set-up-4.dxf"}
    fourth["programs"] = [
        {"file": "set-up-4.ngc", "cutter": 2, "depths": [depth / 2, depth], "minutes": 1.0, "tapered": False}
    ]
    fourth["lines"] = [{"id": "recess-3", "kind": "recess", "depth": depth, "tapered": False, "tabs": []}]
    top["set_ups"].append(fourth)
    into = inlay("pupil", "recess-3", [part(3, "pupil", "piece-3", False, about(x, y, 45, middle))])
    into |= {"order": 2, "into": "moon", "depth": depth, "recess": {"set_up": 4, "lines": ["recess-3"]}}
    top["inlays"].append(into)
    for one in (top["set_ups"][2]["lines"], *(each["parts"] for each in top["inlays"])):
        one[:] = [line for line in one if line.get("line", line.get("id")) not in without]
    parts = [line for line in parts if line.id not in without]
    change(top)
    files["assembly.json"] = json.dumps(top).encode()
    for number, lines, depths in ((3, parts, through), (4, [recess], passes)):
        outline = outline_of(3 if number == 3 else 1)
        files[f"set-up-{number}.ngc"] = program(lines, depths, number)
        files[f"set-up-{number}.svg"] = svg(lines, outline, number)
        files[f"set-up-{number}.dxf"] = dxf(lines, outline, number)
    return files


def stops(proof: Proof) -> Told:
    found = [finding for finding in proof.findings if finding.severity == "stop"]
    assert proof.proven == (not found)
    return [(finding.what, finding.where, finding.mend) for finding in found]


def test_what_is_planned_in_order_is_proven_with_the_seam_of_the_later_joint() -> None:
    """Radii 6.05 and 5.95 about one middle: 0.1 mm all round, from programs, SVG and DXF."""
    proof = dry_fit(files_with())
    assert stops(proof) == []
    seams = [seam for seam in proof.seams if seam.inlay == "pupil"]
    assert [seam.kind for seam in seams] == ["programs", "svg", "dxf"]
    for seam in seams:
        assert (seam.narrowest, seam.widest) == pytest.approx((SEAM, SEAM), abs=0.002)


def one_stop(files: Files) -> tuple[str, str, str]:
    (found,) = stops(dry_fit(files))
    return found


def test_a_recess_that_is_cut_before_its_host_is_in_is_stopped() -> None:
    what, where, mend = one_stop(files_with(change=lambda top: top["set_ups"].insert(0, top["set_ups"].pop())))
    assert what == "the recess for 'pupil' is cut before 'moon', into which it is let, can be glued in"
    assert where == "set-up 4 stands before set-up 1 (set-up 1)"
    assert "write the files again" in mend


def test_a_recess_that_runs_out_of_its_host_is_stopped_in_every_kind_of_file() -> None:
    """18 mm from the moon's middle: 4 mm of the pupil lie in the board beside it."""
    found = stops(dry_fit(files_with(middle=(78.0, 50.0))))
    assert [where.split(", ")[1] for _, where, _ in found] == ["programs", "svg", "dxf"]
    for what, where, mend in found:
        assert what.startswith("the recess for 'pupil' is cut beside the wood that it is to be let into, ")
        assert where.startswith("inlay 'pupil', ")
        assert where.endswith("mm on the board")
        assert "do not cut" in mend


def test_a_host_without_wood_is_one_stop_and_nothing_that_follows() -> None:
    """No wood for the moon: what is let into it is at no fault. Where it runs out of the moon's place, it is told."""
    without = ("piece-1", "spare-1")
    what, where, mend = one_stop(files_with(without=without))
    assert what == "1 place of the picture stays empty: no part is cut for it"
    assert where.startswith("inlay 'moon'")
    assert mend.startswith("find wood for it")
    told = [what for what, _, _ in stops(dry_fit(files_with(middle=(78.0, 50.0), without=without)))]
    assert sum("is cut beside the wood" in what for what in told) == 3


def test_a_recess_at_the_very_edge_of_its_host_is_not() -> None:
    """The moon's part has radius 19.95, the recess 6.05: they touch when their middles are 13.9 apart."""
    assert stops(dry_fit(files_with(middle=(73.89, 50.0)))) == []
    assert stops(dry_fit(files_with(middle=(73.94, 50.0)))) != []


def test_a_recess_that_comes_through_its_host_is_stopped() -> None:
    """Levelled, the moon is 2.0 - 0.1 mm thick."""
    what, where, mend = one_stop(files_with(depth=1.92))
    assert "the recess for 'pupil' is cut 1.92 mm deep and comes through 'moon'" in what
    assert "1.90 mm thick when it is levelled" in what
    assert where == "inlay 'pupil', set-up 4"
    assert "write the files again" in mend
    assert stops(dry_fit(files_with(depth=1.85))) == []


def test_two_orders_in_one_set_up_are_stopped() -> None:
    """A tile that says it is let into the moon while it is cut beside it."""

    def change(top: Any) -> None:
        top["inlays"][1] |= {"order": 2, "into": "moon"}

    found = stops(dry_fit(files_with(change=change)))
    assert found[0][0] == "'tile' is cut in one set-up with 'moon', which has to be glued in before"
    assert found[0][1] == "set-up 1 (set-up 1)"
    assert any("beside the wood" in what for what, _, _ in found)


def test_a_later_program_that_was_moved_is_stopped() -> None:
    """Three hundredths of a mm to the right, the outline files as they were."""
    files = files_with()
    lines = [line.split(" ") for line in files["set-up-4.ngc"].decode().splitlines()]
    moved = [[f"X{float(word[1:]) + 0.03:.4f}" if word.startswith("X") else word for word in line] for line in lines]
    files["set-up-4.ngc"] = "\n".join(" ".join(line) for line in moved).encode()
    found = stops(dry_fit(files))
    assert found
    assert any("set-up-4.ngc" in where for _, where, _ in found)


@pytest.mark.parametrize(
    "changes, what",
    [
        ({"into": "sun"}, "there is no inlay 'sun'"),
        ({"order": 3}, "'moon' is not on the same face, one order before"),
        ({"face": "underside"}, "'moon' is not on the same face, one order before"),
        ({"into": ""}, "an inlay of order 2 has to say what it is let into"),
    ],
)
def test_a_card_that_names_no_host_is_refused(changes: dict[str, Any], what: str) -> None:
    with pytest.raises(ProgramError) as error:
        dry_fit(files_with(change=lambda top: top["inlays"][2].update(changes)))
    assert (what, "assembly.json, key inlays[2].into") in [(fault.what, fault.where) for fault in error.value.faults]
    assert all("write the files again" in fault.mend for fault in error.value.faults)
