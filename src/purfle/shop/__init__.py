"""Cutters, machine and offcuts of this maker: load and check.

Takes the path of a shop file (TOML).
Promises:
- lengths are understood as people write them, with their unit; bare numbers only where the file names its unit;
- every fault of the file is told at once, each with its place and how to mend it;
- each offcut lies with the lower left corner of its bounds at (0, 0), its knots moved along.
Refuses: unknown keys (the nearest known one is named), wrong types, sizes that cannot be, names given twice.
"""

from purfle.shop.loading import cutter_named, first_shop_text, load_shop, read_shop, v_cutter_named

__all__ = ["cutter_named", "first_shop_text", "load_shop", "read_shop", "v_cutter_named"]
