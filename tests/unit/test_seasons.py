"""The seasons of a job: every seam against wood that really grows, as polygons; limits, advice, and what is absurd."""

import json
import math
import random
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
import shapely
from shapely import Polygon, affinity, box

from purfle import wood
from purfle.errors import JobFileError
from purfle.files.job_toml import load_job
from purfle.files.report import report_bytes
from purfle.model.job import JobResult
from purfle.model.season import Air, Climate, Fitted, SeasonWish
from purfle.model.shop import OwnWood
from purfle.season.bodies import Body, sides_of
from purfle.season.findings import findings_of
from purfle.season.reckoning import fitted_of, opens_at, reckon
from purfle.season.seams import seam_through_the_year, size_limits, years_of
from purfle.sheets import glue_up
from purfle.sheets import seasons as seasons_sheet
from purfle.sheets.seasons import words_for_glue_up
from purfle.sheets.style import Style
from sample import tern_result

HOUSE = Climate("a house", Air(7.0), Air(11.0), "test", "test")
ONE = (Fitted("winter", 7.0, 7.0),)
SEAM = 0.1


def body(name: str, region: Polygon, grain: float, rings: float | None = 0.0) -> Body:
    return Body(wood.find(name), region, grain, rings)


def grown(one: Body, moisture: tuple[float, float], region: Polygon, about: tuple[float, float]) -> Polygon:
    """A region that grows as the wood of a body does: along the fibres and across them, about a place."""
    along = wood.growth_along(moisture).share
    across = wood.growth_across(one.species, one.rings or 0.0, moisture).share
    turned = affinity.rotate(region, -one.grain, origin=about)
    larger = affinity.scale(turned, 1.0 + along, 1.0 + across, origin=about)
    return affinity.rotate(larger, one.grain, origin=about)


def carried(place: tuple[float, float], ground: Body, moisture: tuple[float, float]) -> tuple[float, float]:
    """Where the ground carries a place of it when it grows about its own middle."""
    moved = grown(ground, moisture, shapely.Point(place).buffer(1.0), tuple(ground.middle))
    return moved.centroid.x, moved.centroid.y


def apart(one: Polygon, place: tuple[float, float], other: Polygon) -> float:
    """How far a place on the outline of one region is from another region, below 0 where it lies in it."""
    spot = shapely.Point(place)
    return -spot.distance(shapely.boundary(other)) if other.contains(spot) else spot.distance(other)


def moved_place(one: Body, moisture: tuple[float, float], place: tuple[float, float], to: tuple[float, float]) -> tuple:
    spot = grown(one, moisture, shapely.Point(place).buffer(0.5), tuple(one.middle)).centroid
    return spot.x + to[0] - one.middle[0], spot.y + to[1] - one.middle[1]


@pytest.mark.parametrize(
    "insert, seed", [("holly", 1), ("wenge", 2), ("American beech", 3), ("teak", 4), ("sapele", 5)]
)
def test_a_seam_at_its_worst_is_where_wood_that_grows_leaves_it(insert: str, seed: int) -> None:
    """Ground and insert grow as polygons (GEOS), about their own middles; the seam between them is then measured."""
    rng = random.Random(seed)
    corners = [
        (40 + 30 * math.cos(a) * rng.uniform(0.7, 1), 25 + 18 * math.sin(a)) for a in (0, 1.1, 2.3, 3.2, 4.4, 5.3)
    ]
    recess = Polygon(corners)
    ground = body("white oak", box(0, 0, 300, 200), rng.uniform(0, 180))
    part = body(insert, recess.buffer(-SEAM, join_style="mitre"), rng.uniform(0, 180), 30.0)
    years = years_of(ONE, {"winter": 7.0, "summer": 11.0})
    (sides,) = sides_of([part], SEAM)
    low, high = seam_through_the_year(part, sides, (ground, [part]), years)
    hole = grown(ground, (7.0, 11.0), recess, tuple(ground.middle))
    to = carried(tuple(part.middle), ground, (7.0, 11.0))
    for seam in (low, high):
        assert seam.season == "summer"
        place = moved_place(part, (7.0, 11.0), seam.place, to)
        inside = hole.contains(shapely.Point(place))
        measured = shapely.Point(place).distance(hole.exterior) * (1.0 if inside else -1.0)
        assert measured - SEAM == pytest.approx(seam.width, abs=2e-3)
    # no place of the outline that grew comes closer, or further apart, than what was told
    ends = shapely.MultiPoint(shapely.get_coordinates(part.region)).buffer(1.0)  # two sides are near to a corner
    outline = shapely.get_coordinates(shapely.segmentize(part.region.exterior.difference(ends), 0.7))
    every = [moved_place(part, (7.0, 11.0), tuple(p), to) for p in outline[::3]]
    signed = [
        shapely.Point(p).distance(hole.exterior) * (1.0 if hole.contains(shapely.Point(p)) else -1.0) for p in every
    ]
    assert low.width - 3e-3 <= min(signed) - SEAM
    assert max(signed) - SEAM <= high.width + 3e-3


def test_a_seam_between_two_inserts_moves_with_both() -> None:
    """Two blocks side by side in one recess, grown as polygons on a ground that grows too."""
    ground = body("white oak", box(0, 0, 300, 200), 0.0)
    left = body("holly", box(50.0, 50.0, 89.95, 120.0), 90.0)
    right = body("wenge", box(90.05, 50.0, 120.0, 120.0), 20.0)
    (sides, _) = sides_of([left, right], SEAM)
    years = years_of(ONE, {"winter": 7.0, "summer": 11.0})
    low, high = seam_through_the_year(left, sides, (ground, [left, right]), years)
    assert {low.against, high.against} == {0, 2}
    other = grown(right, (7.0, 11.0), right.region, tuple(right.middle))
    to = carried(tuple(right.middle), ground, (7.0, 11.0))
    other = affinity.translate(other, to[0] - right.middle[0], to[1] - right.middle[1])
    seam = low if low.against else high
    place = moved_place(left, (7.0, 11.0), seam.place, carried(tuple(left.middle), ground, (7.0, 11.0)))
    assert apart(left.region, place, other) - SEAM == pytest.approx(seam.width, abs=2e-3)


@pytest.mark.parametrize(
    "width, insert, ground, moisture",
    [(120.0, 0.0, 0.00365, 4.0), (40.0, 0.00248, 0.00353, 2.0), (64.0, 0.0, 0.0, 3.0)],
)
def test_a_square_insert_keeps_to_half_its_width_times_the_difference(
    width: float, insert: float, ground: float, moisture: float
) -> None:
    """Source: design formula, per side W/2 (C_insert - C_ground) dM; 0 stands for growth along the fibres."""
    coefficients = {0.00365: "white oak", 0.00353: "sugar maple", 0.00248: "cherry", 0.0: "white oak"}
    oak = body(coefficients[ground], box(0, 0, 400, 400), 90.0 if ground == 0.0 else 0.0)
    part = body(coefficients[insert], box(150, 150, 150 + width, 150 + width), 90.0 if insert == 0.0 else 0.0)
    (sides,) = sides_of([part], SEAM)
    years = [one for one in years_of(ONE, {"winter": 7.0, "summer": 7.0 + moisture}) if one.season == "summer"]
    low, high = seam_through_the_year(part, sides, (oak, [part]), years)
    c_insert, c_ground = insert or wood.CHANGE_ALONG, ground or wood.CHANGE_ALONG
    formula = -wood.seam_change(width, c_insert, c_ground, moisture)
    assert min(abs(one - formula) for one in (low.width, high.width)) < 1e-9


def test_limits_of_size_are_where_the_seam_is_used_up() -> None:
    """An insert as large as the limit opens its seam to the line, and one as large as the other limit closes it."""
    ground = body("white oak", box(0, 0, 900, 900), 0.0)
    years = years_of(ONE, {"winter": 7.0, "summer": 11.0})
    small = body("white oak", box(400, 400, 430, 430), 90.0)
    opens, pushes = size_limits(small, ground, years, (0.05, SEAM))
    assert opens is not None
    assert pushes is not None
    for size, room, sign in ((opens, 0.05, 1.0), (pushes, SEAM, -1.0)):
        part = body("white oak", box(400, 400, 400 + size, 400 + size), 90.0)
        (sides,) = sides_of([part], SEAM)
        low, high = seam_through_the_year(part, sides, (ground, [part]), years)
        assert (high.width if sign > 0 else low.width) == pytest.approx(sign * room, rel=1e-6)
    assert size_limits(replace(small, grain=0.0), ground, years, (0.05, SEAM)) == (None, None)


def test_what_is_not_known_is_taken_at_its_worse() -> None:
    """Where nothing says how wood was cut, the seam is at least as far off as either way of cutting it."""
    ground = body("white oak", box(0, 0, 300, 200), 0.0, None)
    region = box(50.0, 50.0, 120.0, 90.0)
    years = years_of(ONE, {"winter": 7.0, "summer": 11.0})

    def worst(ground_rings: float | None, rings: float | None) -> tuple[float, float]:
        part = body("holly", region, 0.0, rings)
        (sides,) = sides_of([part], SEAM)
        low, high = seam_through_the_year(part, sides, (replace(ground, rings=ground_rings), [part]), years)
        return low.width, high.width

    both = worst(None, None)
    every = [worst(one, other) for one in (0.0, 90.0) for other in (0.0, 90.0)]
    assert both == pytest.approx((min(low for low, _ in every), max(high for _, high in every)), abs=1e-12)


def test_wood_beyond_6_to_14_percent_goes_by_the_wide_equation() -> None:
    """Source: Wood Handbook, ch. 13, Eq. (13-3)."""
    oak = wood.find("white oak")
    assert wood.growth_across(oak, 0.0, (6.0, 14.0)).equation == "13-2"
    dry = wood.growth_across(oak, 0.0, (8.0, 4.0))
    assert (dry.equation, dry.figure) == ("13-3", 10.5)
    assert dry.share == pytest.approx(-4.0 / (3000.0 / 10.5 - 30.0 + 8.0))


def test_what_was_measured_goes_before_the_shop() -> None:
    wish = SeasonWish(HOUSE, HOUSE)
    assert fitted_of(wish) == (Fitted("winter", 7.0, 7.0), Fitted("summer", 11.0, 11.0))
    assert fitted_of(replace(wish, made="summer", parts_moisture=6.0)) == (Fitted("summer", 11.0, 6.0),)
    measured = replace(wish, board_moisture=9.0, parts_moisture=6.0)
    assert fitted_of(measured) == (Fitted("measured", 9.0, 6.0),)
    assert opens_at(0.1) == pytest.approx(0.15)
    assert opens_at(0.4) == pytest.approx(0.6)


def test_a_job_without_a_climate_is_not_reckoned_and_one_with_it_is() -> None:
    result = tern_result()
    assert reckon(result.job, result.shop, result.layout, result.on_offcuts) is None
    job = replace(result.job, season=SeasonWish(HOUSE, HOUSE, "winter"), board=replace(result.job.board, rings=0.0))
    seasons = reckon(job, result.shop, result.layout, result.on_offcuts)
    assert seasons is not None
    assert len(seasons.inserts) == sum(len(inlay.fit.inserts) for inlay in result.layout.inlays)
    assert seasons.board_across[2] == pytest.approx(seasons.board_across[0] * 4.0 * 0.00365)
    told = findings_of(seasons, result.layout)
    assert {finding.stage for finding in told} == {"season"}
    assert [one.what for one in told if "nothing says the cut of the parts" in one.what]
    assert all(finding.severity != "stop" for finding in told)
    wet = replace(job, season=replace(job.season, board_moisture=14.0, parts_moisture=8.0))
    again = reckon(wet, result.shop, result.layout, result.on_offcuts)
    assert again is not None
    whats = [finding.what for finding in again.findings]
    assert "board and parts are 6.0 % of moisture apart when they are fitted" in whats
    assert "wood fitted at 14.0 % of moisture is 5.0 % wetter than it will be" in whats


def test_the_worked_example_of_the_wood_handbook_comes_out_of_a_job() -> None:
    """Source: FPL-GTR-190, ch. 13: a flat-sawn board of 232 mm (9.15 in), C_T 0.00245, goes from 8 to 11 %: it is then
    233.7 mm (9.217 in) wide; across its thickness C_R is 0.00112. Here it is the board of a job, by own figures.
    """
    result = tern_result()
    fir = OwnWood("example fir", "FPL-GTR-190, ch. 13", change_radial=0.00112, change_tangential=0.00245)
    at = Climate("there", Air(11.0), Air(11.0), "test", "test")
    wish = SeasonWish(HOUSE, at, board_moisture=8.0, parts_moisture=8.0)
    board = replace(result.job.board, wood="example fir", width=232.0, grain=0.0, rings=0.0)
    job, shop = replace(result.job, board=board, season=wish), replace(result.shop, woods=(fir,))
    seasons = reckon(job, shop, result.layout, result.on_offcuts)
    assert seasons is not None
    size, _, grows = seasons.board_across
    assert grows == pytest.approx(1.7, abs=0.05)
    assert size + grows == pytest.approx(233.7, abs=0.05)
    assert (size + grows) / 25.4 == pytest.approx(9.15 + 0.067, abs=0.02)
    upright = reckon(replace(job, board=replace(board, rings=90.0)), shop, result.layout, result.on_offcuts)
    assert upright is not None
    assert upright.board_across[2] == pytest.approx(232.0 * 3.0 * 0.00112)


def test_the_report_of_seasons_keeps_to_its_schema() -> None:
    """Source: JSON Schema 2020-12, checked by the library jsonschema."""
    result = tern_result()
    job = replace(result.job, season=SeasonWish(HOUSE, HOUSE))
    seasons = reckon(job, result.shop, result.layout, result.on_offcuts)
    assert seasons is not None
    written = json.loads(report_bytes(replace(result, job=job, seasons=seasons), {}))
    schema = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(written)
    told = written["seasons"]["inserts"]
    assert [one["narrowest"]["width_mm"] for one in told] == [
        pytest.approx(one.narrowest.width, abs=1e-6) for one in seasons.inserts
    ]


SEASON = """
[season]
shop = "heated house, temperate"
place = { winter = "20 C, 30 %", summer = "75 F, 60 %" }
made = "summer"
board_moisture = 9
parts_moisture = "8.5 %"
"""


def first_job(folder: Path, more: str, board: str = "") -> Path:
    from purfle.files.job_toml import first_job_text

    text = first_job_text("a box", None).replace("\n[board]\n", f"\n[board]\n{board}\n") + more
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder


def test_climates_and_cuts_are_read_from_the_job_file(tmp_path: Path) -> None:
    job = load_job(first_job(tmp_path, SEASON, 'rings = "quarter"'))
    assert job.season is not None
    assert (job.season.made, job.season.board_moisture, job.season.parts_moisture) == ("summer", 9.0, 8.5)
    assert job.season.shop.summer.moisture == 12.0
    assert job.season.place.winter.moisture == pytest.approx(wood.moisture_content(20.0, 30.0))
    assert job.season.place.summer.moisture == pytest.approx(wood.moisture_content(43.0 / 1.8, 60.0))
    assert job.board.rings == 90.0


@pytest.mark.parametrize(
    "old, new, what",
    [
        ('shop = "heated house, temperate"', 'shop = "a cave"', 'there is no climate "a cave"'),
        ('winter = "20 C, 30 %"', 'winter = "20 C, 130 %"', "air cannot have 130 % of humidity"),
        ('winter = "20 C, 30 %"', 'winter = "dry"', '"dry" says nothing of the air'),
        ('winter = "20 C, 30 %", ', "", "winter is missing in [season.place]"),
        ("board_moisture = 9", "board_moisture = 60", "wood at 60 % of moisture is wet"),
        ('parts_moisture = "8.5 %"', 'parts_moisture = "44 %"', "wood at 44 % of moisture is wet"),
        ('made = "summer"', 'made = "spring"', 'made cannot be "spring"'),
        ('made = "summer"', "stands = 1", "stands is not known here"),
    ],
)
def test_a_slip_in_the_season_is_one_fault_with_its_line(tmp_path: Path, old: str, new: str, what: str) -> None:
    with pytest.raises(JobFileError) as caught:
        load_job(first_job(tmp_path, SEASON.replace(old, new)))
    (fault,) = caught.value.faults
    assert fault.what.startswith(what)
    assert "season" in fault.where
    assert "line" in fault.where
    assert fault.mend


SHEETS = ((Style("mm", "a4"), "0.15"), (Style("inch", "letter"), "0.006"))


@pytest.mark.parametrize("style, line", SHEETS, ids=["mm", "inch"])
def test_the_page_of_the_seasons_says_what_was_reckoned(style: Style, line: str) -> None:
    """Every insert has its bar, with the figures of the reckoning in the maker's unit; what opens is counted."""
    result = with_seasons()
    assert result.seasons is not None
    (page,) = seasons_sheet.data(result, style)
    texts = [text["t"] for text in page["drawing"]["texts"]]
    for one in result.seasons.inserts:
        assert f"{style.true(one.narrowest.width)} to {style.true(one.widest.width)}" in texts
    opened = sum(one.widest.width > result.seasons.opens_at for one in result.seasons.inserts)
    assert page["lead"].startswith(f"Of {len(result.seasons.inserts)} seams {opened} open beyond {line} {style.word}")
    assert page["climates"]["rows"][1][2] == [{"b": "7.0 %"}]
    assert words_for_glue_up(result) == "Seams through the seasons: next page."


def test_without_a_climate_the_glue_up_says_so_and_which_key_to_add() -> None:
    result = tern_result()
    assert seasons_sheet.data(result, SHEETS[0][0]) == []
    (page,) = glue_up.data(result, SHEETS[0][0])
    assert page["reckoned"].endswith("not reckoned. Say both climates in [season] of job.toml to have them.")


def test_of_many_inserts_the_page_shows_those_that_go_furthest() -> None:
    """A page of rows and no more; the caption says how many there are."""
    result = with_seasons()
    assert result.seasons is not None
    tall = replace(SHEETS[0][0], paper="letter")
    rows = seasons_sheet._rows(result, result.seasons, 3)
    assert len(rows) == 3
    seam = result.job.fit.seam
    off = [max(one.widest.width - seam, seam - one.narrowest.width) for one in result.seasons.inserts]
    shown = [max(one.widest.width - seam, seam - one.narrowest.width) for _, one in rows]
    assert sorted(shown) == sorted(off)[-3:]
    assert seasons_sheet._caption(rows, result.seasons, tall).startswith(f"The 3 that go furthest of {len(off)}.")


def with_seasons() -> JobResult:
    result = tern_result()
    job = replace(result.job, season=SeasonWish(HOUSE, HOUSE, "winter"))
    return replace(result, job=job, seasons=reckon(job, result.shop, result.layout, result.on_offcuts))
