"""Each kind of damage to a written folder is caught by the dry fit, with its place and what mends it."""

import json
import math
import re
from collections.abc import Callable

import pytest

from proof_fixture import dxf, job_files, lines_of, outline_of, program, svg
from purfle.errors import Fault, ProgramError
from purfle.model.findings import Finding
from purfle.proof import dry_fit

Files = dict[str, bytes]
FILES = job_files()


def changed(name: str, change: Callable[[str], str]) -> Files:
    text = FILES[name].decode()
    new = change(text)
    assert new != text, "the damage must change the file"
    return {**FILES, name: new.encode()}


def card_changed(change: Callable[[dict], None]) -> Files:
    card = json.loads(FILES["assembly.json"])
    change(card)
    return {**FILES, "assembly.json": json.dumps(card).encode()}


def stops(files: Files) -> list[Finding]:
    proof = dry_fit(files)
    found = [finding for finding in proof.findings if finding.severity == "stop"]
    assert proof.proven == (not found)
    assert all(finding.stage == "proof" and finding.mend for finding in found)
    return found


WALL_OR_ARC = "wall of 'recess-2' is off its outline|must be equally far"


def caught(files: Files) -> list[Finding] | list[Fault]:
    """What stops, or why the files are refused: an arc whose radii no longer agree is never swept."""
    try:
        return stops(files)
    except ProgramError as error:
        return list(error.faults)


def one(found: list[Finding] | list[Fault], what: str) -> Finding | Fault:
    """The first finding whose `what` matches."""
    matching = [finding for finding in found if re.search(what, finding.what)]
    assert matching, [finding.what for finding in found]
    return matching[0]


@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_an_untouched_folder_is_proven_without_any_finding(unit: str) -> None:
    proof = dry_fit(job_files(unit))
    assert proof.proven
    assert proof.findings == ()
    assert [(seam.inlay, seam.kind) for seam in proof.seams] == [
        (inlay, kind) for inlay in ("moon", "tile") for kind in ("programs", "svg", "dxf")
    ]
    assert all(program.uncut_area == program.gouged_area == 0 for program in proof.programs)
    # the magnet's 4 mm below the moon's 2 mm, in a board of 19 mm
    assert proof.least_wood_left == pytest.approx(13.0, abs=1e-3)


def test_the_same_files_give_the_same_proof() -> None:
    assert dry_fit(FILES) == dry_fit(dict(reversed(FILES.items())))


def cutting_lines(name: str, word: str = "G1 X") -> list[int]:
    return [i for i, line in enumerate(FILES[name].decode().splitlines()) if line.startswith(word)]


def shifted(line: str, axis: str, by: float) -> str:
    return re.sub(rf"{axis}(-?[\d.]+)", lambda m: f"{axis}{float(m[1]) + by:.4f}", line)


@pytest.mark.parametrize("by", [0.03, -0.03])
@pytest.mark.parametrize("which", range(4))
def test_an_end_point_of_a_wall_moved_by_three_hundredths_is_caught(which: int, by: float) -> None:
    """The four straight sides of the square's last lap; across the side, since along it no wood changes."""
    lines = FILES["set-up-1.ngc"].decode().splitlines()
    index = [i for i in cutting_lines("set-up-1.ngc") if "Z-2.0" in lines[i]][-4 + which]
    before = next(re.findall(r"[XY](-?[\d.]+)", lines[i]) for i in range(index - 1, 0, -1) if "X" in lines[i])
    here = re.findall(r"[XY](-?[\d.]+)", lines[index])
    axis = "X" if before[0] == here[0] else "Y"
    lines[index] = shifted(lines[index], axis, by)
    # the arc after it starts where this line ends: its centre stays where it was
    follower = lines[index + 1]
    if follower.startswith("G3"):
        centre = "I" if axis == "X" else "J"
        lines[index + 1] = shifted(follower, centre, -by)
    finding = one(caught({**FILES, "set-up-1.ngc": "\n".join(lines).encode()}), WALL_OR_ARC)
    named = int(re.search(r"set-up-1.ngc, line (\d+)", finding.where)[1])
    assert abs(named - (index + 1)) <= 1
    assert "do not cut with th" in finding.mend


def test_a_pass_that_goes_a_tenth_too_deep_is_caught() -> None:
    found = stops(changed("set-up-1.ngc", lambda text: text.replace("Z-1.0000", "Z-1.1000")))
    finding = one(found, "a pass cuts 1.10 mm deep; the passes on the card go to 1.00, 2.00 mm")
    assert re.match(r"set-up-1.ngc, line \d+$", finding.where)
    assert "do not cut" in finding.mend
    one(found, "no pass cuts 1.00 mm deep")


def test_a_floor_that_is_too_deep_is_caught_and_named_by_its_recess() -> None:
    found = stops(changed("set-up-1.ngc", lambda text: text.replace("Z-2.0000", "Z-2.0600")))
    finding = one(found, "'recess-1' is cut 2.06 mm deep instead of 2.00 mm")
    assert finding.where == "set-up-1.ngc, line 'recess-1'"
    assert "write the files again" in finding.mend


def test_a_part_that_is_not_cut_through_is_caught() -> None:
    shallow = {line.id: (1.0, 2.0, 2.5) for line in lines_of(3)}
    found = stops({**FILES, "set-up-3.ngc": program(lines_of(3), shallow, 3)})
    finding = one(found, "'piece-1' is cut 2.50 mm deep instead of 2.60 mm")
    assert "set-up-3.ngc" in finding.where
    one(found, "'piece-1' is not free: it is still joined to the wood around it")
    assert "write the files again" in finding.mend


def test_a_cut_into_the_machine_table_is_caught() -> None:
    found = stops(changed("set-up-3.ngc", lambda text: text.replace("Z-2.9000", "Z-3.1000")))
    finding = one(found, "cuts 3.10 mm deep; the stock and what lies below it allow 2.90 mm")
    assert "set-up-3.ngc, line " in finding.where
    assert finding.mend


def mirror_paths(text: str) -> str:
    """Every x of the paths mirrored within the sheet of 200 mm, arcs turned the other way."""
    text = re.sub(r"([ML])([\d.]+) ([\d.]+)", lambda m: f"{m[1]}{200 - float(m[2]):.6f} {m[3]}", text)
    return re.sub(r"0 0 1 ([\d.]+) ([\d.]+)", lambda m: f"0 0 0 {200 - float(m[1]):.6f} {m[2]}", text)


def test_one_mirrored_outline_file_is_named_as_the_odd_one_out() -> None:
    found = stops(changed("set-up-1.svg", mirror_paths))
    finding = one(found, "outline of 'recess-2' is not the one of the DXF file and of the program")
    assert finding.where == "set-up-1.svg, line 'recess-2'"
    assert "do not cut with this one" in finding.mend
    assert not [f for f in found if "set-up-1.dxf" in f.where or ".ngc" in f.where]


def test_a_mirrored_program_is_named_as_the_odd_one_out() -> None:
    def mirror(text: str) -> str:
        text = re.sub(r"X([\d.]+)", lambda m: f"X{200 - float(m[1]):.4f}", text)
        return re.sub(r" I(-?[\d.]+)", lambda m: f" I{-float(m[1]):.4f}", text).replace("G3", "G2")

    found = stops(changed("set-up-1.ngc", mirror))
    finding = one(found, "wall of 'recess-1' is off its outline")
    assert finding.where.startswith("set-up-1.ngc")
    assert not [f for f in found if f.where.startswith(("set-up-1.svg", "set-up-1.dxf"))]


@pytest.mark.parametrize("ending", ["svg", "dxf"])
def test_an_outline_one_hundredth_too_large_is_named(ending: str) -> None:
    lines = lines_of(3)
    big = lines[0].shape.offset(0.0)
    grown = type(big)(big.x, big.y, big.half_x * 1.01, big.half_y * 1.01, big.corner * 1.01)
    lines[0] = type(lines[0])(lines[0].id, lines[0].kind, lines[0].depth, grown)
    write = {"svg": svg, "dxf": dxf}[ending]
    found = stops({**FILES, f"set-up-3.{ending}": write(lines, outline_of(3), 3)})
    finding = one(found, "outline of 'piece-1' is not the one of")
    assert finding.where == f"set-up-3.{ending}, line 'piece-1'"
    assert "it is 1.01 times its size" in finding.what
    assert "write the files again" in finding.mend
    clash = one(found, "part 1 .moon. does not go in: it overlaps the wall of the recess")
    assert ending.upper() in clash.where
    assert clash.place is not None


@pytest.mark.parametrize("which", [-1, -2, -3, -4])
def test_a_dropped_line_of_the_last_pass_is_caught(which: int) -> None:
    lines = FILES["set-up-1.ngc"].decode().splitlines()
    level = [i for i in cutting_lines("set-up-1.ngc") if "Z-2.0" in lines[i]]
    del lines[level[which]]
    finding = one(caught({**FILES, "set-up-1.ngc": "\n".join(lines).encode()}), WALL_OR_ARC)
    assert "set-up-1.ngc, line " in finding.where
    assert "do not cut with th" in finding.mend


def test_a_swapped_cutter_is_caught_in_word_header_and_wood() -> None:
    found = stops(changed("set-up-1.ngc", lambda text: text.replace("T2\n", "T1\n")))
    word = one(found, r"asks for cutter 1 \(quarter inch\); the card says cutter 2")
    assert word.where == "set-up-1.ngc, T word"
    assert "do not cut" in word.mend
    header = one(found, "its header says a cutter of 3.175 mm; cutter 1 is 6.350 mm wide")
    assert header.where == "set-up-1.ngc, header"
    assert "mm2 gouged" in one(found, "wall of 'recess-1' is off its outline").what


def test_a_cutter_that_is_worn_on_the_card_alone_shows_in_the_wood() -> None:
    files = card_changed(lambda card: card["cutters"][1].update(diameter=3.115))
    found = stops(files)
    assert "left uncut" in one(found, "wall of 'recess-1' is off its outline").what
    assert one(found, "its header says").where == "set-up-1.ngc, header"


@pytest.mark.parametrize("unit, said", [("mm", "inches"), ("inch", "mm")])
def test_a_wrong_units_word_is_named(unit: str, said: str) -> None:
    words = ("G21", "G20") if unit == "mm" else ("G20", "G21")
    files = job_files(unit)
    files["set-up-1.ngc"] = files["set-up-1.ngc"].replace(words[0].encode(), words[1].encode())
    found = stops(files)
    finding = one(found, f"its units word says {said}")
    assert finding.where.startswith("set-up-1.ngc")
    assert "write the files again" in finding.mend


def test_a_wrong_place_for_a_part_is_caught_with_its_name() -> None:
    def move(card: dict) -> None:
        card["inlays"][1]["parts"][0]["to_board"]["x"] += 0.2

    found = stops(card_changed(move))
    finding = one(found, r"part 2 \(tile\) does not go in: it overlaps the wall of the recess")
    assert "inlay 'tile'" in finding.where
    assert "mm on the board" in finding.where
    assert "the card's place for it is wrong" in finding.mend
    assert finding.place is not None
    assert math.dist(finding.place, (130, 60)) < 25


def test_a_part_turned_to_the_wrong_side_is_caught() -> None:
    def turn(card: dict) -> None:
        card["inlays"][1]["parts"][0]["to_board"]["angle"] += 1.0

    one(stops(card_changed(turn)), r"part 2 \(tile\) does not go in")


def test_a_missing_part_leaves_an_empty_place_that_is_found() -> None:
    def drop(card: dict) -> None:
        card["inlays"][1]["parts"] = []
        card["set_ups"][2]["lines"] = [line for line in card["set_ups"][2]["lines"] if line["id"] != "piece-2"]

    finding = one(stops(card_changed(drop)), "mm2 of the recess stay empty: a part is missing")
    assert "inlay 'tile'" in finding.where
    assert finding.mend


def test_a_spare_that_is_not_its_part_is_caught() -> None:
    def stretch(card: dict) -> None:
        card["inlays"][0]["parts"][1]["to_board"]["x"] += 0.1

    finding = one(stops(card_changed(stretch)), "a spare is not like its part")
    assert "part 1 (moon), spare" in finding.where
    assert finding.mend


@pytest.mark.parametrize("name", ["set-up-1.ngc", "set-up-2.svg", "set-up-3.dxf"])
def test_a_missing_file_is_a_stop_with_its_name(name: str) -> None:
    files = {key: data for key, data in FILES.items() if key != name}
    finding = one(stops(files), f"the file '{name}' is missing")
    assert finding.where.startswith(f"{name}, set-up ")
    assert "write the files again" in finding.mend


def test_a_program_of_another_job_in_the_folder_is_pointed_out() -> None:
    proof = dry_fit({**FILES, "old.ngc": FILES["set-up-1.ngc"], "picture.png": b""})
    assert proof.proven
    assert [(f.severity, f.where) for f in proof.findings] == [("look", "old.ngc")]
    assert "take it away" in proof.findings[0].mend


def test_a_rapid_move_through_wood_is_caught() -> None:
    """The lift to the safe height after the first recess is left out."""
    lines = FILES["set-up-1.ngc"].decode().splitlines()
    lifts = [i for i, line in enumerate(lines) if line == "G0 Z6.0000"]
    del lines[lifts[1]]
    found = stops({**FILES, "set-up-1.ngc": "\n".join(lines).encode()})
    finding = one(found, "moves sideways at full speed at height -2.00 mm, below the safe height of 6.00 mm")
    assert finding.where == f"set-up-1.ngc, line {lifts[1] + 1}"
    assert "do not cut" in finding.mend
    one(found, "wall of 'recess-1' is off its outline|where there is no line")


@pytest.mark.parametrize(("number", "place"), [(1, (70.0, 100.0)), (2, (30.0, -110.0))])
def test_a_groove_where_no_line_lies_is_caught_with_its_area(number: int, place: tuple[float, float]) -> None:
    """Whether the recesses of the set-up lie inside the board or run out over its edge. A ramp of 20 mm and back."""
    x, y = place
    name = f"set-up-{number}.ngc"
    lines = FILES[name].decode().splitlines()
    first = next(index for index, line in enumerate(lines) if line == "G0 Z6.0000") + 1
    ramp = [f"G0 X{x:.4f} Y{y:.4f}", "G1 Z0.0000", f"G1 X{x + 20:.4f} Z-1.0000", f"G1 X{x:.4f}", "G0 Z6.0000"]
    lines[first:first] = ramp
    finding = one(stops({**FILES, name: "\n".join(lines).encode()}), "of wood where there is no line")
    said = re.search(r"the program cuts ([0-9.]+) mm2", finding.what)
    assert said
    assert float(said[1]) == pytest.approx(20 * 3.175 + math.pi * 3.175**2 / 4, abs=0.02)
    assert re.search(rf"{name}, line \d+", finding.where)


def test_a_plunge_into_solid_wood_is_caught() -> None:
    """Straight down to the first depth instead of to the top of the wood."""
    found = stops(changed("set-up-1.ngc", lambda text: text.replace("G1 Z0.0000", "G1 Z-1.0000", 1)))
    finding = one(found, "plunges straight into solid wood, 1.00 mm deep")
    assert re.fullmatch(r"set-up-1.ngc, line \d+", finding.where)
    assert finding.mend
    found = stops(changed("set-up-1.ngc", lambda text: text.replace("G1 Z0.0000", "G0 Z-0.5000", 1)))
    one(found, "goes down at full speed into solid wood, 0.50 mm deep")


def test_a_plunge_where_the_wood_is_gone_is_no_fault() -> None:
    """The first recess is entered again, at full speed, after it was cut."""
    lines = FILES["set-up-1.ngc"].decode().splitlines()
    at = [i for i, line in enumerate(lines) if line == "G0 Z6.0000"][1]
    lines[at + 1 : at + 1] = ["G0 X60 Y50", "G0 Z-2", "G0 Z6"]
    assert stops({**FILES, "set-up-1.ngc": "\n".join(lines).encode()}) == []


def test_what_machine_and_cutter_cannot_do_is_caught() -> None:
    def small(card: dict) -> None:
        card["machine"].update(travel=[100, 400, 80], max_feed=1000, speed=12000)
        card["cutters"][1]["cutting_length"] = 3.0

    found = stops(card_changed(small))
    assert "in X, the machine has 100.0 mm" in one(found, "travel").what
    assert one(found, "feed of 1200 mm/min, the machine goes to 1000").where == "set-up-1.ngc"
    one(found, "speed of 18000 rpm, the machine goes to 12000")
    marked = one(
        stops(card_changed(lambda card: card["cutters"][1].update(max_speed=17_000))), "rpm, eighth inch is marked"
    )
    assert marked.what == "asks for a speed of 18000 rpm, eighth inch is marked 17000"
    assert marked.where.startswith("set-up-")
    assert "longer cutter" in one(found, "4.00 mm deep with a cutter whose edges are 3.00 mm long").mend


def test_too_little_wood_between_the_faces_is_caught() -> None:
    finding = one(stops(card_changed(lambda card: card.update(least_left=13.5))), "13.00 mm of wood are left between")
    assert "inlay 'moon' on the show face and fitting 1 (magnet 1) on the underside" in finding.what
    assert finding.place is not None
    assert math.dist(finding.place, (60, 50)) < 6
    assert "shallower" in finding.mend


@pytest.mark.parametrize(
    "change",
    [{"centre": [60.15, 50]}, {"size": [10.3, 10.3]}, {"face": "show"}, {"centre": [60, 70]}],
    ids=["middle", "size", "face", "mirrored"],
)
def test_a_fitting_that_is_not_what_was_asked_for_is_caught(change: dict) -> None:
    found = stops(card_changed(lambda card: card["fittings"][0].update(change)))
    finding = one(found, r"recess for fitting 1 \(magnet 1\)")
    assert "set-up-2.ngc" in finding.where
    assert "do not cut" in finding.mend
    assert finding.place is not None


def test_a_square_recess_for_a_round_fitting_is_caught() -> None:
    found = stops(card_changed(lambda card: card["fittings"][1].update(round=True, size=[12, 12], centre=[150, 6])))
    one(found, r"recess for fitting 2 \(hinge 2\)")


def test_a_stock_drawn_in_another_size_is_caught() -> None:
    found = stops({**FILES, "set-up-3.svg": svg(lines_of(3), [[0, 0], [170, 0], [170, 60], [0, 60]], 3)})
    finding = one(found, "outline of the stock is not the one on the assembly card")
    assert finding.where == "set-up-3.svg"
    assert finding.mend


def test_a_part_that_would_lie_below_the_face_is_caught() -> None:
    def thin(card: dict) -> None:
        card["inlays"][0]["depth"] = card["set_ups"][0]["lines"][0]["depth"] = 2.8

    finding = one(stops(card_changed(thin)), "the part will lie 0.10 mm below the face")
    assert "part 1 (moon)" in finding.where
    assert "thicker offcut" in finding.mend
