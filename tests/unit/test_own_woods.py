"""Woods of the maker's own stand in a whole job like those of the table: as board and as parts, with their figures."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from plain_fit import BOARD
from test_fittings import HEAD, LEAST, plate, screw, told

from purfle.board import lay_out
from purfle.carrying import carry
from purfle.errors import JobFileError, PurfleError
from purfle.files.job_folder import read_job_folder
from purfle.mate import Mate
from purfle.model.carrying import CarryWish
from purfle.model.shop import OwnWood
from purfle.season import reckon
from purfle.sheets import safety
from purfle.sheets.style import Style
from purfle.shop import first_shop_text
from purfle.wood import find, gravity_of, hazards_of, is_softwood, know, known_as, one_of, own_species, woods_told
from sample import bare_result

OWN = """
[[wood]]
name = "zebrano of mine"
source = "my dealer's sheet, 2026"
density = 760
shrinkage_radial = 7.6
shrinkage_tangential = 10.8
bending_strength = 120
stiffness = 14
[[wood]]
name = "bog oak 2"
source = "measured"
shrinkage_radial = 7
shrinkage_tangential = 12
[[offcut]]
name = "bog 1"
wood = "bog oak 2"
outline = "200 x 100 mm"
thickness = 4
"""
SEASON = '[season]\nshop = "heated house, temperate"\nplace = "heated house, cold winters"\n'


@pytest.fixture(autouse=True)
def _forget() -> Iterator[None]:
    yield
    know(())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    text = HEAD.replace("white ash", "zebrano of mine").replace('wood = "wenge"', 'wood = "bog oak 2"')
    (tmp_path / "job.toml").write_text(text + SEASON, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(first_shop_text() + OWN, encoding="utf-8")
    return tmp_path


def test_a_job_is_read_with_them_and_they_are_spoken_of_by_their_names(folder: Path) -> None:
    job, shop = read_job_folder(folder)
    assert (job.board.wood, shop.offcuts[-1].wood) == ("zebrano of mine", "bog oak 2")
    oak = find("Bog-oak 2")
    assert (oak.id, known_as(oak.id), one_of("bog oak 2", [oak.id])) == ("own_bog_oak_c", "bog oak 2", oak.id)
    assert woods_told(f"{oak.id} is the nearest") == "bog oak 2 is the nearest"
    assert (hazards_of("bog oak 2"), is_softwood("bog oak 2")) == ((), False)


def test_a_slip_of_the_name_names_the_wood_that_is_in_the_shop(folder: Path) -> None:
    text = (folder / "job.toml").read_text(encoding="utf-8").replace("bog oak 2", "bog oka 2")
    with pytest.raises(JobFileError) as refusal:
        read_job_folder(folder, text.encode())
    (fault,) = refusal.value.faults
    assert fault.mend.startswith("bog oak 2 is in the shop file")


def test_woods_of_another_shop_are_no_longer_known(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    read_job_folder(folder)
    other = tmp_path_factory.mktemp("other")
    (other / "job.toml").write_text(HEAD, encoding="utf-8")
    (other / "shop.toml").write_text(first_shop_text(), encoding="utf-8")
    read_job_folder(other)
    with pytest.raises(PurfleError):
        find("bog oak 2")


def test_the_board_carries_and_holds_screws_by_the_makers_figures(folder: Path) -> None:
    """Stiffness 14 GPa and density 760 as given; G is 760 / 1120, without its 12 % of water (definition)."""
    job, _ = read_job_folder(folder)
    board = replace(BOARD, wood=job.board.wood)
    asked = plate(100, 100, replace(screw(14.0), withdrawal=True))
    layout = lay_out(board, (), (asked,), LEAST)
    (note,) = told(layout, "pulls them out")
    assert f"{108.25 * (760 / 1120) ** 2 * 4.0 * 12.0:.0f} N" in note.what
    found, _ = carry(layout, CarryWish(supports=(50.0, 370.0)))
    assert found is not None
    assert (found.stiffness, found.strength) == (14_000.0, 120.0)
    assert found.weight == pytest.approx(760e-9 * board.length * board.width * board.thickness)
    weak = lay_out(replace(board, wood="bog oak 2"), (), (asked,), LEAST)
    (unknown,) = told(weak, "not reckoned")
    assert "[[wood]]" in unknown.mend
    assert gravity_of("bog oak 2") is None


def test_seasons_and_safety_take_them(folder: Path) -> None:
    job, shop = read_job_folder(folder)
    result = bare_result(400.0, 300.0)
    layout = replace(result.layout, board=replace(job.board, rings=0.0))
    shop = replace(result.shop, woods=shop.woods)
    seasons = reckon(replace(job, board=layout.board), shop, layout, result.on_offcuts)
    assert seasons is not None
    share = 10.8 / (3000.0 - 20.0 * 10.8)  # Wood Handbook, Eq. (13-3) for 1 % at 10 %
    # fitted at 8 or 12 %, it comes to 4 to 9 %: from 8 % less to 1 % more
    assert seasons.board_across[2] - seasons.board_across[1] == pytest.approx(300.0 * share * 9.0, rel=0.01)
    assert "zebrano of mine" not in seasons.unknown
    page = safety.data(replace(result, job=replace(result.job, board=job.board), layout=layout), Style("mm", "a4"))
    assert "zebrano of mine" in str(page["woods"])


def test_figures_of_the_makers_own_go_before_those_of_the_table() -> None:
    table = find("white oak")
    know(own_species((OwnWood("white oak", "my own test", stiffness=9.0),)))
    mine = find("oak_white")
    assert (mine.id, mine.density) == (table.id, table.density)
    assert mine.stiffness is not None
    assert (mine.stiffness.value, find("Quercus alba").stiffness) == (9.0, mine.stiffness)


def _id_of(name: str) -> str:
    return find(name).id


def test_the_second_process_knows_them_too() -> None:
    with Mate() as mate:
        mate.tell(know, own_species((OwnWood("bog oak", "measured", density=700.0),)))
        assert mate.ask(_id_of, "bog oak")() == "own_bog_oak"
