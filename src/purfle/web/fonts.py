"""The two fonts of the page, cut down to the signs that it needs: Source Serif for words, Source Sans for figures."""

import io
from importlib.metadata import entry_points
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FONTS = {
    "text-400": "SourceSerifPro-Regular",
    "text-600": "SourceSerifPro-Semibold",
    "figures-400": "SourceSansPro-Regular",
    "figures-600": "SourceSansPro-Semibold",
}
"""The name that the page asks for, and the file in its package."""
SIGNS = "".join(map(chr, (*range(0x20, 0x7F), *range(0xA0, 0x100)))) + "‐–—‘’“”„†•…′″⁄€×÷−≤≥½¼¾⅛⅜⅝⅞°√²³"


def font_file(name: str) -> bytes:
    """A font of `FONTS` as WOFF with Latin signs and lining, tabular figures; empty where its package is not there."""
    found = _file(FONTS[name])
    if found is None:
        return b""
    wanted = subset.Options()
    wanted.layout_features = ["kern", "liga", "lnum", "tnum", "mark", "ccmp"]
    wanted.hinting, wanted.name_IDs, wanted.flavor = False, [0, 1, 2], "woff"
    font = TTFont(found)
    cut = subset.Subsetter(wanted)
    cut.populate(text=SIGNS)
    cut.subset(font)
    font.flavor = "woff"
    data = io.BytesIO()
    font.save(data)
    return data.getvalue()


def _file(name: str) -> Path | None:
    """Where a font package has put a font file."""
    for group in ("fonts_otf", "fonts_ttf"):
        for entry in entry_points(group=group):
            for file in map(Path, entry.load().values()):
                if file.stem == name:
                    return file
    return None
