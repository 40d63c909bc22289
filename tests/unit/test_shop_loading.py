"""A shop file is read forgivingly in notation and strictly in meaning; every fault is told, none is passed over."""

from pathlib import Path

import pytest

from purfle.errors import Fault, ShopFileError
from purfle.shop import cutter_named, first_shop_text, load_shop, read_shop

LEAST = """
[machine]
name = "machine"
travel = ["600 mm", "400 mm", "80 mm"]
speed = 24000
max_feed = "2.5 m/min"
rapid_feed = "200 in/min"
acceleration = "250 mm/s2"
safe_height = "5 mm"

[[cutter]]
number = 1
name = "1/8 in straight"
diameter = "1/8 in"
flutes = 2
cutting_length = "12 mm"
stick_out = "20 mm"
max_speed = 24000
"""
OFFCUT = """
[[offcut]]
name = "rest"
wood = "holly"
outline = "210 x 100 mm"
thickness = "3.6 mm"
"""


def faults(text: str) -> list[Fault]:
    with pytest.raises(ShopFileError) as caught:
        read_shop(text)
    return list(caught.value.faults)


def test_the_first_shop_loads_as_it_stands_and_holds_what_the_demo_needs() -> None:
    shop = read_shop(first_shop_text())
    assert [cutter.diameter for cutter in shop.cutters] == [6.35, 3.175, 1.5875]
    woods = {offcut.wood for offcut in shop.offcuts}
    assert {"holly", "maple", "wenge", "padauk", "sapele", "black walnut", "cherry"} <= woods
    maple = next(offcut for offcut in shop.offcuts if offcut.wood == "maple")
    assert maple.defects.area > 0
    assert any(offcut.wood == "sapele" and offcut.thickness >= 9 for offcut in shop.offcuts)


def test_lengths_are_read_in_any_notation() -> None:
    shop = read_shop(LEAST + OFFCUT)
    assert shop.machine.travel == (600, 400, 80)
    assert shop.machine.max_feed == 2500
    assert shop.machine.rapid_feed == 5080
    assert shop.machine.acceleration == 250
    assert shop.cutters[0].diameter == 3.175
    assert (shop.currency, shop.hourly_rate, shop.offcuts[0].price) == ("", None, None)


@pytest.mark.parametrize(
    "outline, bounds",
    [
        ('"210 x 100 mm"', (0, 0, 210, 100)),
        ('"210 mm x 100 mm"', (0, 0, 210, 100)),
        ('"21 cm by 100 mm"', (0, 0, 210, 100)),
        ('"210×100 mm"', (0, 0, 210, 100)),
        ('"8 1/2 x 4 in"', (0, 0, 215.9, 101.6)),
        ("'8 1/2\" x 4\"'", (0, 0, 215.9, 101.6)),
        ('[["10 mm", "20 mm"], ["110 mm", "20 mm"], ["60 mm", "70 mm"]]', (0, 0, 100, 50)),
    ],
)
def test_an_outline_is_a_size_or_points_and_starts_at_its_lower_left(outline: str, bounds: tuple[float, ...]) -> None:
    shop = read_shop(LEAST + OFFCUT.replace('"210 x 100 mm"', outline))
    assert shop.offcuts[0].outline.bounds == pytest.approx(bounds)


@pytest.mark.parametrize("unit, factor", [("mm", 1.0), ("inch", 25.4), ("in", 25.4)])
def test_bare_numbers_stand_in_the_unit_that_the_file_names(unit: str, factor: float) -> None:
    text = f'units = "{unit}"\n' + LEAST + OFFCUT.replace('"210 x 100 mm"', "[[0, 0], [8, 0], [8, 4]]")
    assert read_shop(text).offcuts[0].outline.bounds == pytest.approx((0, 0, 8 * factor, 4 * factor))


def test_bare_numbers_are_refused_where_the_file_names_no_unit() -> None:
    (fault,) = faults(LEAST.replace('"12 mm"', "12"))
    assert fault.what == '"12" has no unit'
    assert fault.where == "shop.toml, line 16, [[cutter]] 1 (1/8 in straight), key 'cutting_length'"
    assert 'units = "mm"' in fault.mend


def test_a_slip_of_the_unit_is_the_only_fault() -> None:
    """No number without a unit is told of besides."""
    (fault,) = faults('units = "inhc"\n' + LEAST.replace('"12 mm"', "12"))
    assert fault.what == "'inhc' is not understood"
    assert fault.where == "shop.toml, line 1, key 'units'"


def test_defects_move_along_with_their_outline() -> None:
    text = OFFCUT.replace(
        'outline = "210 x 100 mm"',
        'outline = [["10 mm", "10 mm"], ["110 mm", "10 mm"], ["110 mm", "60 mm"], ["10 mm", "60 mm"]]\n'
        'defects = [{ middle = ["60 mm", "30 mm"], across = "10 mm" }]',
    )
    offcut = read_shop(LEAST + text).offcuts[0]
    assert offcut.outline.bounds == (0, 0, 100, 50)
    assert (offcut.defects.centroid.x, offcut.defects.centroid.y) == pytest.approx((50, 20))
    # the polygon stands around the knot, never inside it
    assert 25 * 3.141592 < offcut.defects.area < 25 * 3.2


def test_every_fault_is_told_at_once() -> None:
    text = LEAST.replace("speed = 24000\nmax", 'speed = "fast"\nmax').replace("flutes = 2", "flutes = 2.5")
    text += OFFCUT.replace('wood = "holly"', "wood = 3").replace("3.6 mm", "3.6 furlongs")
    told = faults(text)
    assert [fault.where.rpartition("key ")[2] for fault in told] == ["'speed'", "'flutes'", "'wood'", "'thickness'"]
    assert told[0].what == "'fast' is not a number"
    assert told[1].what == "2.5 is not a whole number"
    line = text.split("\n").index("wood = 3") + 1
    place = f"shop.toml, line {line}, [[offcut]] 1 (rest), key 'wood'"
    assert told[2] == Fault("3 is not a text", place, 'write wood = "..."')
    assert "furlongs" in told[3].what


@pytest.mark.parametrize(
    "wrong, key, mend",
    [
        (LEAST.replace("diameter =", "diamter ="), "diamter", "write 'diameter'"),
        (LEAST.replace("safe_height", "safe_hight"), "safe_hight", "write 'safe_height'"),
        (LEAST.replace("[machine]", 'curency = "EUR"\n[machine]'), "curency", "write 'currency'"),
        (LEAST + OFFCUT.replace("[[offcut]]", "[[ofcut]]"), "ofcut", "write 'offcut'"),
        (LEAST + OFFCUT + "sharpness = 3\n", "sharpness", "understood here: "),
    ],
)
def test_an_unknown_key_tells_the_nearest_known_and_nothing_else(wrong: str, key: str, mend: str) -> None:
    (fault,) = faults(wrong)
    assert fault.what == f"'{key}' is not understood"
    assert f"key '{key}'" in fault.where
    assert fault.mend.startswith(mend)


@pytest.mark.parametrize(
    "wrong, what, mend",
    [
        (LEAST.replace('"1/8 in"\n', '"90 mm"\n'), "90 mm cannot be right", "give 0.2 to 60 mm"),
        (LEAST.replace('"1/8 in"\n', '"-3 mm"\n'), "-3 mm cannot be right", "give 0.2 to 60 mm"),
        (LEAST + 'path_width = "3.2 cm"\n', "32 mm cannot be right", "give 2.54 to 3.81 mm"),
        (LEAST.replace("speed = 24000", "speed = nan"), "nan is not a number", "write speed = a number without a unit"),
        (
            LEAST.replace("speed = 24000", "speed = true"),
            "True is not a number",
            "write speed = a number without a unit",
        ),
        (LEAST + OFFCUT.replace('"210 x 100 mm"', '"210 mm"'), "'210 mm' is not a size", 'write "length x width"'),
        (LEAST + OFFCUT.replace('"210 x 100 mm"', '"0 x 100 mm"'), "the outline encloses no wood", "give a length"),
        (
            LEAST + OFFCUT.replace('"210 x 100 mm"', '[["0 mm", "0 mm"], ["9 mm", "9 mm"]]'),
            "the outline is not a list of three points or more",
            "write [[0, 0], [210, 0], ...]",
        ),
        (
            'units = "mm"\n' + LEAST + OFFCUT.replace('"210 x 100 mm"', "[[0, 0], [9, 9], [9, 0], [0, 9]]"),
            "the outline crosses itself",
            "write its points in order",
        ),
        (LEAST.replace('name = "machine"', 'name = ""'), "'name' is empty", 'write name = "..."'),
        (
            LEAST + 'path_width = "3.2 mm"\n' + LEAST[LEAST.index("[[") :],
            "name '1/8 in straight' is given twice",
            "give",
        ),
        (LEAST + OFFCUT + OFFCUT, "name 'rest' is given twice", "give each offcut a name of its own"),
        (
            "machine = 3\n" + LEAST[LEAST.index("[[") :],
            "'machine' is not a table",
            "write it under a heading [machine]",
        ),
        (LEAST.replace("[[cutter]]", "[cutter]"), "'cutter' is not a table", "write it under a heading [[cutter]]"),
        (
            LEAST + OFFCUT + 'defects = [{ middle = ["500 mm", "5 mm"], across = "9 mm" }]',
            "defect 1 lies outside the outline",
            "give its place in the outline's frame",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_how_to_mend_it(wrong: str, what: str, mend: str) -> None:
    told = faults(wrong)
    found = [fault for fault in told if fault.what.startswith(what)]
    assert found, told
    assert found[0].where.startswith("shop.toml, ")
    assert found[0].mend.startswith(mend)


def test_an_empty_file_tells_what_is_missing() -> None:
    assert [(fault.what, fault.where, fault.mend) for fault in faults("")] == [
        ("'machine' is missing", "shop.toml, key 'machine'", "add machine = ..."),
        ("'cutter' is missing", "shop.toml, key 'cutter'", "add cutter = ..."),
    ]


def test_a_rack_may_be_empty() -> None:
    assert read_shop(LEAST).offcuts == ()


@pytest.mark.parametrize(
    "content, what",
    [
        (b"units = ", "the shop file is not TOML"),
        (b"\xff\xfe\x00", "the shop file is not a text"),
        (b"a = " + b"[" * 100_000, "the shop file is not TOML"),
        (b"#" * 6_000_000, "this is too large for a shop file"),
    ],
)
def test_what_is_no_shop_file_is_refused(tmp_path: Path, content: bytes, what: str) -> None:
    path = tmp_path / "my 'shop' äö.toml"
    path.write_bytes(content)
    with pytest.raises(ShopFileError) as caught:
        load_shop(path)
    assert caught.value.what.startswith(what)
    assert path.name in caught.value.where
    assert caught.value.mend


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(ShopFileError) as caught:
            load_shop(path)
        assert caught.value.what == "the shop file cannot be read"
        assert str(path) in caught.value.where
        assert "check its name and place" in caught.value.mend


def test_a_file_with_a_byte_order_mark_loads(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b"\xef\xbb\xbf" + LEAST.encode())
    assert load_shop(path).machine.name == "machine"


def test_a_cutter_is_found_by_its_name_or_the_nearest_is_told() -> None:
    shop = read_shop(first_shop_text())
    assert cutter_named(shop, " 1/8 IN straight").diameter == 3.175
    with pytest.raises(ShopFileError) as caught:
        cutter_named(shop, "1/8 in strait")
    assert caught.value.what == "there is no cutter '1/8 in strait' in the shop"
    assert caught.value.where == "cutters"
    assert caught.value.mend == "perhaps '1/8 in straight' is meant"


def test_a_cutter_and_a_machine_say_what_they_stand() -> None:
    """Speed, shank and chip load of a cutter, slowest speed and power of the machine; none of them is needed."""
    bare = read_shop(LEAST)
    assert (bare.cutters[0].speed, bare.cutters[0].shank, bare.cutters[0].chip_load) == (None, None, None)
    assert (bare.machine.slowest_speed, bare.machine.power) == (0.0, None)
    more = 'speed = 18000\nshank = "1/4 in"\nchip_load = "0.002 in"\n'
    shop = read_shop(
        LEAST.replace("speed = 24000\nmax", "speed = 24000\nslowest_speed = 9000\npower = 710\nmax") + more
    )
    assert (shop.cutters[0].speed, shop.cutters[0].shank) == (18000, 6.35)
    assert shop.cutters[0].chip_load == pytest.approx(0.0508)
    assert (shop.machine.slowest_speed, shop.machine.power) == (9000, 710)


def test_a_speed_above_the_marked_one_is_refused() -> None:
    (fault,) = faults(LEAST + "speed = 24001\n")
    assert fault.what == "a speed of 24001 rpm is above the 24000 rpm that are marked on the cutter"
    assert fault.where == "shop.toml, line 19, [[cutter]] 1 (1/8 in straight), key 'speed'"
    assert fault.mend == "set speed to 24000 or less, or take the line out"


def test_a_machine_slower_than_its_slowest_is_refused() -> None:
    (fault,) = faults(LEAST.replace("speed = 24000\nmax", "speed = 24000\nslowest_speed = 30000\nmax"))
    assert fault.what == "the machine turns no slower than 30000 rpm, and no faster than 24000"
    assert "slowest_speed" in fault.where
    assert fault.mend


def test_sizes_that_are_sold_and_where_an_offcut_stands_are_read() -> None:
    sold = '[[sold]]\nthicknesses = ["1/4 in", "3 mm"]\nwidths = ["3 in"]\nlengths = ["300 mm", "1 ft"]\n'
    shop = read_shop(LEAST + OFFCUT + 'stands = "shelf 2, left"\n' + sold)
    assert shop.offcuts[0].stands == "shelf 2, left"
    (sizes,) = shop.sold
    assert (sizes.wood, sizes.thicknesses, sizes.widths) == ("", (3.0, 6.35), (pytest.approx(76.2),))
    assert sizes.lengths == pytest.approx((300.0, 304.8))


@pytest.mark.parametrize(
    "line, what",
    [
        ('widths = "3 in"', "'widths' is not a list of lengths"),
        ("widths = []", "'widths' is not a list of lengths"),
        ('widths = ["-3 in"]', "-76.2 mm cannot be right"),
        ('widths = ["3 in", true]', "True is not a length"),
        ("", "'widths' is missing"),
    ],
)
def test_sizes_that_cannot_be_sold_are_refused(line: str, what: str) -> None:
    text = f'{LEAST}[[sold]]\nthicknesses = ["5 mm"]\nlengths = ["1 m"]\n{line}\n'
    assert [fault.what for fault in faults(text)] == [what]
