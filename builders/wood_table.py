"""Make the derived columns of the table of woods again from the published ones, and show or mend what differs.

    python builders/wood_table.py            show what differs, exit status 1 if anything does
    python builders/wood_table.py --write    write the table with the columns made again

Published columns are entered by hand from the publications in sources.csv; each row names its own. Derived are:
density at 12 % moisture, where it was computed from a specific gravity; the two coefficients of change, made from
shrinkage, and those coefficients in use whose origin is "derived".
"""

import csv
import sys
from pathlib import Path

TABLE = Path(__file__).parent.parent / "src" / "purfle" / "wood" / "data" / "wood.csv"
Row = dict[str, str]


def density_12(row: Row) -> str:
    """Density (kg/m3) of wood and water at 12 % moisture, from specific gravity.

    Source: rho(M) = 1000 * G_M * (1 + M/100); G_12 = G_b / (1 - S_V/100 * 18/30) from green-volume gravity G_b.
    """
    gravity = float(row["sg"])
    if row["sg_volume_basis"] == "green":
        gravity /= 1 - float(row["shrink_V_pct"]) / 100 * 18 / 30
    return f"{1000 * gravity * 1.12:.0f}"


def coefficient(shrinkage: str) -> str:
    """Coefficient of change per 1 % moisture at 10 %, from total shrinkage. Source: Wood Handbook, Eq. (13-3)."""
    s = float(shrinkage)
    return f"{s / (3000 - 20 * s):.5f}"


def made_again(row: Row) -> Row:
    """The row with its derived columns made again."""
    made = dict(row)
    if row["density_source"].startswith("computed"):
        made["density_12_kg_m3"] = density_12(row)
    for way in ("R", "T"):
        shrinkage = row[f"shrink_{way}_pct"]
        made[f"C_{way}_derived"] = coefficient(shrinkage) if shrinkage else ""
        if row[f"C_{way}_origin"] == "derived":
            made[f"C_{way}"] = made[f"C_{way}_derived"]
    return made


def main(arguments: list[str]) -> int:
    """Compare, and write if asked to."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    again = [made_again(row) for row in rows]
    differences = 0
    for row, made in zip(rows, again, strict=True):
        for column in row:
            if row[column] != made[column]:
                differences += 1
                print(f"{row['id']}, {column}: {row[column]} in the table, {made[column]} made again")
    if "--write" in arguments:
        with TABLE.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(again)
    print(f"{len(rows)} woods, {differences} differences")
    return 1 if differences and "--write" not in arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
