"""The derived columns of the table of woods are what the builder makes of the published ones."""

import runpy
from pathlib import Path

BUILDER = Path(__file__).parents[2] / "builders" / "wood_table.py"


def test_the_table_is_what_its_builder_makes() -> None:
    main = runpy.run_path(str(BUILDER))["main"]
    assert main([]) == 0


def test_the_builder_sees_a_figure_that_was_changed() -> None:
    builder = runpy.run_path(str(BUILDER))
    row = {"sg": "0.50", "sg_volume_basis": "12", "density_source": "computed 1000*G12*1.12", "density_12_kg_m3": "500"}
    shrinkage = {"shrink_R_pct": "3.7", "shrink_T_pct": "7.1", "shrink_V_pct": "11.5"}
    wrong = {"C_R": "0.002", "C_R_origin": "derived", "C_T": "0.00248", "C_T_origin": "table"}
    made = builder["made_again"]({**row, **shrinkage, **wrong})
    assert (made["density_12_kg_m3"], made["C_R"], made["C_T"]) == ("560", "0.00126", "0.00248")
