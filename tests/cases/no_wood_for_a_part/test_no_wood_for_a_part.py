"""No offcut is large enough for a part: the proof says once that its place stays empty, and nothing that follows."""

import json

import pytest

from proof_fixture import PASSES, card, dxf, job_files, lines_of, outline_of, program, svg
from purfle.proof import dry_fit


def written(without: tuple[str, ...], one_inlay: bool) -> dict[str, bytes]:
    """The small job as it is written when there is no wood for these parts; both recesses in one inlay or in two."""
    lines = [line for line in lines_of(3) if line.id not in without]
    depths = {line.id: PASSES[3][line.id] for line in lines}
    on_card = card()
    on_card["set_ups"][2]["lines"] = [one for one in on_card["set_ups"][2]["lines"] if one["id"] not in without]
    for inlay in on_card["inlays"]:
        inlay["parts"] = [part for part in inlay["parts"] if part["line"] not in without]
    if one_inlay:
        moon, tile = on_card["inlays"]
        moon["recess"]["lines"] += tile["recess"]["lines"]
        moon["parts"] += tile["parts"]
        on_card["inlays"] = [moon]
    files = {**job_files(), "assembly.json": json.dumps(on_card).encode()}
    files["set-up-3.ngc"] = program(lines, depths, 3)
    files["set-up-3.svg"] = svg(lines, outline_of(3), 3)
    files["set-up-3.dxf"] = dxf(lines, outline_of(3), 3)
    return files


def test_one_stop_stands_for_the_place_whatever_files_it_is_seen_in() -> None:
    proof = dry_fit(written(("piece-2",), one_inlay=True))
    (finding,) = proof.findings
    assert not proof.proven
    assert finding.severity == "stop"
    assert finding.what == "1 place of the picture stays empty: no part is cut for it"
    assert finding.where == "inlay 'moon', at 130.00, 60.00 mm on the board"
    assert finding.mend == "find wood for it, or make the design smaller"
    assert finding.place == pytest.approx((130, 60), abs=0.01)


def test_the_seam_of_the_parts_that_are_there_is_read_back_as_without_the_empty_place() -> None:
    beside = dry_fit(written(("piece-2",), one_inlay=True)).seams
    alone = [seam for seam in dry_fit(job_files()).seams if seam.inlay == "moon"]
    assert [seam.kind for seam in beside] == ["programs", "svg", "dxf"]
    for one, other in zip(beside, alone, strict=True):
        assert (one.narrowest, one.widest, one.length) == pytest.approx(
            (other.narrowest, other.widest, other.length), abs=1e-6
        )
        assert one.share_within == 1.0
        assert one.wide_places == ()


def test_an_inlay_without_any_part_has_no_seam_and_one_stop() -> None:
    proof = dry_fit(written(("piece-2",), one_inlay=False))
    assert [finding.where for finding in proof.findings] == ["inlay 'tile', at 130.00, 60.00 mm on the board"]
    assert {seam.inlay for seam in proof.seams} == {"moon"}


def test_places_are_counted() -> None:
    files = written(("piece-1", "spare-1"), one_inlay=True)
    on_card = json.loads(files["assembly.json"])
    assert [part["line"] for part in on_card["inlays"][0]["parts"]] == ["piece-2"]
    assert "1 place " in dry_fit(files).findings[0].what
    on_card["inlays"][0]["parts"] = []
    on_card["set_ups"] = on_card["set_ups"][:2]
    files["assembly.json"] = json.dumps(on_card).encode()
    found = [one for one in dry_fit(files).findings if one.severity == "stop"]
    assert [one.what for one in found] == ["2 places of the picture stay empty: no part is cut for them"]
    assert "at 60.00, 50.00 mm; at 130.00, 60.00 mm on the board" in found[0].where
    assert found[0].mend == "find wood for them, or make the design smaller"


def test_a_fault_elsewhere_is_still_told() -> None:
    """The empty place hides what follows from it, not a part that does not go in."""
    files = written(("piece-2",), one_inlay=True)
    on_card = json.loads(files["assembly.json"])
    on_card["inlays"][0]["parts"][0]["to_board"]["x"] += 1.0
    files["assembly.json"] = json.dumps(on_card).encode()
    assert any("part 1 (moon) does not go in" in one.what for one in dry_fit(files).findings)
