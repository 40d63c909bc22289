"""Kerning of a font: how much nearer or further two letters stand than their own widths say.

Source: OpenType 1.9, tables GPOS (lookup types 2 and 9, feature kern) and kern.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from fontTools import unicodedata
from fontTools.ttLib import TTFont

PAIRS, EXTENSION = 2, 9
"""Types of GPOS lookups."""


def kerning_of(font: TTFont, glyphs: Sequence[str], text: str) -> list[int]:
    """What is added after each glyph but the last, in units of the font; `text` tells its script."""
    pairs = list(pairwise(glyphs))
    lookups = _lookups(font, text)
    if lookups:
        return [sum(_of_lookup(lookup, *pair) for lookup in lookups) for pair in pairs]
    tables = (
        [table.kernTable for table in font["kern"].kernTables if hasattr(table, "kernTable")] if "kern" in font else []
    )
    return [sum(table.get(pair, 0) for table in tables) for pair in pairs]


def _lookups(font: TTFont, text: str) -> list[list[Any]]:
    """The subtables of the lookups that kern text of this script, in their order."""
    gpos = font["GPOS"].table if "GPOS" in font else None
    if gpos is None or gpos.ScriptList is None or gpos.FeatureList is None:
        return []
    scripts = {record.ScriptTag: record.Script for record in gpos.ScriptList.ScriptRecord}
    wanted = [
        tag for sign in text for tag in unicodedata.ot_tags_from_script(unicodedata.script(sign)) if sign.isalpha()
    ]
    found = next((scripts[tag] for tag in (*wanted, "DFLT", "latn") if tag in scripts), None)
    if found is None or found.DefaultLangSys is None:
        return []
    records = [gpos.FeatureList.FeatureRecord[number] for number in found.DefaultLangSys.FeatureIndex]
    numbers = sorted({n for record in records if record.FeatureTag == "kern" for n in record.Feature.LookupListIndex})
    chosen = [[_plain(table) for table in gpos.LookupList.Lookup[number].SubTable] for number in numbers]
    return [[table for table in tables if table.LookupType == PAIRS] for tables in chosen]


def _plain(subtable: Any) -> Any:
    return subtable.ExtSubTable if subtable.LookupType == EXTENSION else subtable


def _of_lookup(subtables: list[Any], left: str, right: str) -> int:
    """The first subtable that knows the pair decides."""
    for table in subtables:
        if left not in table.Coverage.glyphs:
            continue
        if table.Format == 1:
            records = table.PairSet[table.Coverage.glyphs.index(left)].PairValueRecord
            record = next((one for one in records if one.SecondGlyph == right), None)
            if record is None:
                continue
        else:
            first = table.ClassDef1.classDefs.get(left, 0)
            record = table.Class1Record[first].Class2Record[table.ClassDef2.classDefs.get(right, 0)]
        return int(getattr(record.Value1, "XAdvance", 0) or 0) if record.Value1 is not None else 0
    return 0
