"""The assembly card is read strictly: every fault names its key."""

import json

import pytest

from proof_fixture import card, job_files
from purfle.errors import ProgramError
from purfle.proof import dry_fit
from purfle.proof.card import read_card


def faults(change) -> list[tuple[str, str]]:
    keys = card()
    change(keys)
    with pytest.raises(ProgramError) as error:
        read_card(json.dumps(keys).encode())
    assert all("write the files again" in fault.mend for fault in error.value.faults)
    return [(fault.what, fault.where) for fault in error.value.faults]


def test_the_card_is_read_whole() -> None:
    found = read_card(json.dumps(card()).encode())
    assert [s.number for s in found.set_ups] == [1, 2, 3]
    assert found.cutters[2].diameter == 3.175
    assert found.inlays[0].parts[1].spare
    assert found.fittings[1].open_edge
    assert found.board.bounds == (0, 0, 200, 120)


@pytest.mark.parametrize(
    "change, what, where",
    [
        (lambda c: c.pop("job"), "the key 'job' is missing", "key job"),
        (lambda c: c.update(colour=1), "the key 'colour' is unknown", "key colour"),
        (lambda c: c["set_ups"][0].update(color=1), "the key 'color' is unknown", "key set_ups[0].color"),
        (lambda c: c["set_ups"][1]["lines"][0].pop("depth"), "is missing", "key set_ups[1].lines[0].depth"),
        (lambda c: c["board"].update(thickness="19"), "is not a number", "key board.thickness"),
        (lambda c: c["board"].update(thickness=True), "is not a number", "key board.thickness"),
        (lambda c: c["board"].update(thickness=0), "too small", "key board.thickness"),
        (lambda c: c["board"].update(length=1e300), "is not a number", "key board.length"),
        (lambda c: c["cutters"][0].update(number=1.0), "is not a whole number", "key cutters[0].number"),
        (lambda c: c["set_ups"][0].update(face="top"), "is not show or underside", "key set_ups[0].face"),
        (lambda c: c["set_ups"][0].update(outline=[[0, 0], [1, 1]]), "three points", "key set_ups[0].outline"),
        (
            lambda c: c["set_ups"][0].update(outline=[[0, 0], [9, 9], [9, 0], [0, 9]]),
            "not closed and simple",
            "key set_ups[0].outline",
        ),
        (lambda c: c["machine"].update(travel=[1, 2]), "a list of 3 numbers", "key machine.travel"),
        (
            lambda c: c["set_ups"][0]["programs"][0].update(depths=[2, 1]),
            "not positive and sorted",
            "key set_ups[0].programs[0].depths",
        ),
        (
            lambda c: c["set_ups"][0]["programs"][0].update(cutter=9),
            "the card lists no cutter 9",
            "key set_ups[0].programs[0].cutter",
        ),
        (lambda c: c["inlays"][0]["parts"][0].update(line="x"), "has no part line 'x'", "key inlays[0].parts[0]"),
        (lambda c: c["inlays"][0]["parts"][0].update(set_up=8), "set-up 8 has no part line", "key inlays[0].parts[0]"),
        (lambda c: c["fittings"][0].update(line="hinge-1"), "is used twice", "key fittings[1]"),
        (lambda c: c["set_ups"][1].update(number=1), "set-up 1 stands twice", "key set_ups[0].number"),
        (lambda c: c["inlays"][0]["parts"].pop(), "'spare-1' of set-up 3 belongs to no inlay", "key set_ups"),
        (lambda c: c.update(version=1), "version 1", "key version"),
        (lambda c: c["set_ups"][2].update(stock="board"), "parts in the stock 'board'", "key set_ups[2].lines"),
        (lambda c: c["set_ups"][0].update(thickness=18), "19.0 mm thick, not 18.0", "key set_ups[0].thickness"),
        (
            lambda c: c["set_ups"][0]["lines"][0].update(tapered=True),
            "its lines slope, and it has no tapered walls",
            "key inlays[0].walls",
        ),
        (lambda c: c["inlays"][0]["parts"][0].update(plate="piece-1"), "hang on plates", "key inlays[0].parts"),
        (
            lambda c: c["set_ups"][1]["lines"][0].update(tapered=True),
            "slopes, and belongs to no tapered walls",
            "key set_ups",
        ),
        (
            lambda c: c["set_ups"][2]["lines"][0].update(depth=1.0),
            "is cut 1.0 mm deep out of",
            "key set_ups[2].lines[0].depth",
        ),
        (lambda c: c["inlays"][0].update(depth=4.1), "is 4.1 mm deep, its line", "key inlays[0].depth"),
        (lambda c: c["fittings"][0].update(depth=9.0), "is 9.0 mm deep, its line", "key fittings[0].depth"),
        (lambda c: c["inlays"][0].update(face="underside"), "its line is cut into 'show'", "key inlays[0].face"),
        (lambda c: c.update(inlays={}), "is not a list of groups", "key inlays"),
        (lambda c: c.update(board=[]), "is not a group of keys", "key board"),
    ],
)
def test_a_fault_of_the_card_names_its_key(change, what: str, where: str) -> None:
    found = faults(change)
    assert any(what in said and where in place for said, place in found), found
    assert all(place.startswith("assembly.json") for _, place in found)


def test_all_faults_are_said() -> None:
    assert len(faults(lambda c: (c.pop("job"), c["board"].pop("wood"), c.update(x=1)))) == 3


@pytest.mark.parametrize(
    "data, what",
    [
        (b"", "cannot be read"),
        (b"[]", "not a list of keys"),
        (b"{", "cannot be read"),
        (b'{"version": 1, "version": 1}', "the key 'version' stands twice"),
        (b'{"version": NaN}', "NaN is not a number"),
        (b"\xff", "cannot be read"),
        (b"[" * 100_000, "cannot be read"),
        (b'{"version": ' + b"9" * 5000 + b"}", "cannot be read"),
    ],
)
def test_a_file_that_is_no_card_is_refused(data: bytes, what: str) -> None:
    with pytest.raises(ProgramError) as error:
        read_card(data)
    assert what in error.value.what
    assert error.value.where.startswith("assembly.json")
    assert error.value.mend


def test_a_folder_without_a_card_is_refused() -> None:
    files = job_files()
    del files["assembly.json"]
    with pytest.raises(ProgramError) as error:
        dry_fit(files)
    assert (error.value.what, error.value.where) == ("the assembly card is missing", "assembly.json")
    assert "folder" in error.value.mend


def test_faults_of_several_files_are_said_together() -> None:
    files = job_files()
    files["set-up-1.ngc"] += b"G0 X0\n"
    files["set-up-2.svg"] = b"<svg/>"
    files["set-up-3.dxf"] = b"0\nEOF\n"
    with pytest.raises(ProgramError) as error:
        dry_fit(files)
    assert {fault.where.split(",")[0] for fault in error.value.faults} >= {
        "set-up-1.ngc",
        "set-up-2.svg",
        "set-up-3.dxf",
    }
