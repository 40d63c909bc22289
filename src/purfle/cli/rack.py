"""`purfle rack`: what stands on the rack of a shop."""

import json
from argparse import Namespace
from pathlib import Path
from typing import Any

import shapely

from purfle.errors import FolderError
from purfle.files.job_toml import shop_file
from purfle.model.shop import Offcut, Shop
from purfle.shop import load_shop
from purfle.units import LengthUnit, show


def run(arguments: Namespace) -> int:
    """Every offcut of the shop that serves a job or stands in a file: in lines, or as JSON with its outline."""
    place = Path(arguments.place)
    if not place.exists():
        mend = "Name a job folder, or the shop file itself."
        raise FolderError("There is no job and no shop file here", str(place), mend)
    # a file is the shop file itself, unless it is a job's
    at_hand = shop_file(place.resolve()) if place.is_dir() else place
    if place.is_file() and place.name == "job.toml":
        at_hand = shop_file(place.resolve().parent)
    shop = load_shop(at_hand)
    if arguments.json:
        print(json.dumps(_entry(at_hand, shop), indent=1, ensure_ascii=False))
        return 0
    print(f"{len(shop.offcuts)} offcut{'' if len(shop.offcuts) == 1 else 's'} on the rack, in {at_hand}:")
    for offcut in shop.offcuts:
        print(f"  {_line(offcut, shop.currency, arguments.units)}")
    return 0


def _line(offcut: Offcut, currency: str, unit: LengthUnit) -> str:
    """One offcut in words."""
    _, _, long, wide = offcut.outline.bounds
    size = " x ".join(show(mm, unit, 1) for mm in (long, wide))
    said = [f"{offcut.name}: {offcut.wood}, {size}, {show(offcut.thickness, unit, 2)} thick"]
    if offcut.grain:
        said.append(f"fibres at {offcut.grain:g} degrees")
    if count := len(offcut.defects.geoms):
        said.append(f"{count} defect" + "s" * (count > 1))
    if offcut.price is not None:
        said.append(f"worth {offcut.price:g} {currency}".rstrip())
    if offcut.stands:
        said.append(f"stands: {offcut.stands}")
    return "; ".join(said)


def _entry(file: Path, shop: Shop) -> dict[str, Any]:
    return {"shop": str(file), "currency": shop.currency, "offcuts": [_offcut_entry(one) for one in shop.offcuts]}


def _offcut_entry(offcut: Offcut) -> dict[str, Any]:
    """One offcut with all that the shop file says of it; points in mm, its lower left corner at (0, 0)."""
    return {
        "name": offcut.name,
        "wood": offcut.wood,
        "thickness_mm": offcut.thickness,
        "outline_mm": shapely.get_coordinates(offcut.outline.exterior)[:-1].tolist(),
        "defects_mm": [shapely.get_coordinates(one.exterior)[:-1].tolist() for one in offcut.defects.geoms],
        "area_mm2": float(offcut.outline.area),
        "grain_deg": offcut.grain,
        "rings_deg": offcut.rings,
        "price": offcut.price,
        "stands": offcut.stands,
    }
