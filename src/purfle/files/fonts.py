"""Fonts: found by name among those that are installed, or by file; and their letters as outlines at true size.

Where fonts are looked for, in this order: the job folder, font packages that are installed beside Purfle (one comes
with it), the folders of the system. A name is that of a family ("Source Serif Pro") or of one font of it.
What is slow to load is imported where it is used: most jobs have no lettering.
"""

import difflib
import io
import os
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import entry_points
from pathlib import Path

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTCollection, TTFont, TTLibError, getTableClass

from purfle.errors import FontError
from purfle.files.svg_path import FlatPen, filled
from purfle.geometry.pose import Polyline
from purfle.model.pieces import Region
from purfle.model.ready import Letter
from purfle.tolerances import FLAT

BUNDLED = "Source Serif Pro"
"""The open font that is installed with Purfle."""
ENDINGS = (".otf", ".ttf", ".ttc", ".otc", ".woff", ".woff2")
PACKAGES = ("fonts_otf", "fonts_ttf")
"""Entry points under which packages with fonts announce their files."""
REGULAR = 400
NEAR_ENOUGH = 0.5
"""Likeness (0 to 1) from which a known name is offered for an unknown one."""
MOST_NAMES = 6
LARGEST_FONT = 100_000_000
"""Bytes; a larger file is no font."""
FAMILY, STYLE, FULL, POSTSCRIPT, TYPOGRAPHIC_FAMILY = 1, 2, 4, 6, 16
"""Name numbers. Source: OpenType, table name."""
ITALIC_BITS = 0x201
"""Bits 0 (italic) and 9 (oblique) of fsSelection. Source: OpenType, table OS/2."""
BROKEN = (TTLibError, OSError, KeyError, ValueError, IndexError, AssertionError, EOFError, AttributeError, ImportError)
"""What a damaged or foreign file may raise while it is read."""


@dataclass(frozen=True, slots=True)
class FontFace:
    """One font in a file: its names as people write them, and what it looks like.

    `weights`: least and largest weight; equal but for a variable font. `weight`: the one asked for or usual.
    """

    file: Path
    number: int
    family: str
    names: frozenset[str]
    weights: tuple[int, int]
    weight: int
    italic: bool


def find_font(name: str, weight: int | None = None, italic: bool = False, folder: Path | None = None) -> FontFace:
    """The font of a name, or of a file in `folder`, in a weight (100 to 900; None: the usual one) and a slant.

    Raises: FontError where there is none, naming those that are near; or none of that weight or slant.
    """
    if name.lower().endswith(ENDINGS):
        return _styled(_in_file(name, folder), name, weight, italic)
    known: list[FontFace] = []
    for source in (_beside(folder), _packaged(), _system()):
        named = [face for face in source if name.casefold() in face.names]
        if named:
            return _styled(named, name, weight, italic)
        known += source
    families = sorted({face.family for face in known})
    near = difflib.get_close_matches(name, families, MOST_NAMES, NEAR_ENOUGH)
    near += [one for one in families if name.casefold() in one.casefold() and one not in near]
    offered = ", ".join(near[:MOST_NAMES] or families[:MOST_NAMES])
    mend = f"Use one of those that are there ({offered}), or put the font file into the job folder and give its name."
    raise FontError(f'There is no font "{name}"', "font", mend)


def letters_of(face: FontFace, text: str, height: float, kerning: bool = True) -> tuple[Letter, ...]:
    """The letters of a text in a font so that its capital H is `height` mm high, with the kerning of the font.

    Raises: FontError where the font lacks a letter (all of them named), has no capital H, or cannot be read.
    """
    return _letters(face, text, lambda font: height / cap_height(font, face), kerning)


def letters_at_size(
    face: FontFace, text: str, size: float, kerning: bool = True, tolerance: float = FLAT
) -> tuple[Letter, ...]:
    """As `letters_of`, with the size of the font stated as drawings do: the height of its em square.

    `tolerance`: of flattening, in the unit of the size.
    """
    return _letters(face, text, lambda font: size / float(font["head"].unitsPerEm), kerning, tolerance)


def _letters(
    face: FontFace, text: str, scale_of: Callable[[TTFont], float], kerning: bool, tolerance: float = FLAT
) -> tuple[Letter, ...]:
    from purfle.files.kerning import kerning_of

    wanted = unicodedata.normalize("NFC", text)
    try:
        font = _opened(face)
        missing = sorted({sign for sign in wanted if ord(sign) not in font.getBestCmap()})
        if missing:
            signs = ", ".join(f'"{sign}" ({unicodedata.name(sign, "no name").lower()})' for sign in missing)
            raise FontError(f"{face.family} has no {signs}", "text", "Use another font, or other letters.")
        part = _part(font, wanted, face)
        scale = scale_of(part)
        glyphs = [part.getBestCmap()[ord(sign)] for sign in wanted]
        between = [*(kerning_of(part, glyphs, wanted) if kerning else [0] * (len(glyphs) - 1)), 0]
        drawn = {glyph: _outline(part, glyph, scale, tolerance) for glyph in dict.fromkeys(glyphs)}
        return tuple(
            Letter(sign, drawn[glyph], part["hmtx"][glyph][0] * scale, kern * scale)
            for sign, glyph, kern in zip(wanted, glyphs, between, strict=True)
        )
    except BROKEN as refusal:
        raise FontError(f"The font {face.file.name} cannot be read", "font", f"Use another one ({refusal}).") from None


def cap_height(font: TTFont, face: FontFace) -> float:
    """The height of the capital H above the base line, in units of the font; without one, the stated cap height."""
    glyph = font.getBestCmap().get(ord("H"))
    if glyph is not None:
        top = float(_outline(font, glyph, 1.0).bounds[3])
        if top > 0.0:
            return top
    stated = float(getattr(font["OS/2"], "sCapHeight", 0))
    if stated > 0.0:
        return stated
    raise FontError(f"{face.family} has no capital H to measure its height by", "font", "Use another font.")


def _outline(font: TTFont, glyph: str, scale: float, tolerance: float = FLAT) -> Region:
    """The outline of one glyph, `scale` times as large as in the font, flattened within `tolerance`."""
    glyphs = font.getGlyphSet()
    record, pen = DecomposingRecordingPen(glyphs), FlatPen(tolerance / scale)
    glyphs[glyph].draw(record)
    record.replay(pen)
    rings: list[Polyline] = [np.array(contour) * scale for contour in pen.contours if len(contour) > 2]
    return filled(rings, "nonzero")


def _part(font: TTFont, text: str, face: FontFace) -> TTFont:
    """The part of a font that a text needs, at one weight."""
    from fontTools import subset
    from fontTools.varLib import instancer

    options = subset.Options(layout_features=["kern"], hinting=False, notdef_outline=True, legacy_kern=True)
    options.name_IDs = ["*"]
    options.drop_tables = [*options.drop_tables, *_unknown(font, options.no_subset_tables)]
    cutter = subset.Subsetter(options)
    cutter.populate(text=text + "H")
    cutter.subset(font)
    if "fvar" not in font:
        return font
    axes = {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes}
    if "wght" in axes:
        axes["wght"] = face.weight
    return instancer.instantiateVariableFont(font, axes, inplace=True)


def _unknown(font: TTFont, kept: list[str]) -> list[str]:
    """Tables of a font that nobody knows how to take a part of, such as FFTM: dropped, and nothing is said of it."""
    tags: list[str] = font.keys()
    return [tag for tag in tags if tag.strip() not in kept and not hasattr(getTableClass(tag), "subset_glyphs")]


def _opened(face: FontFace) -> TTFont:
    """The font, read whole, so that no file stays open."""
    data = io.BytesIO(face.file.read_bytes())
    return TTFont(data, fontNumber=face.number if face.file.suffix.lower() in (".ttc", ".otc") else -1)


def _in_file(name: str, folder: Path | None) -> list[FontFace]:
    """All fonts in a file of the job folder."""
    file = (folder or Path()) / name
    if "\0" in name or not file.is_file() or not file.resolve().is_relative_to((folder or Path()).resolve()):
        mend = "Copy the font file into the job folder and give its name alone."
        raise FontError(f'There is no font file "{name}" in the job folder', "font", mend)
    faces = _faces(file)
    if not faces:
        raise FontError(f'"{name}" is not a font that can be read', "font", "Use an .otf or .ttf file.")
    return list(faces)


def _styled(faces: Sequence[FontFace], name: str, weight: int | None, italic: bool) -> FontFace:
    """The one of several fonts with this weight and slant."""
    slanted = [face for face in faces if face.italic == italic]
    if not slanted:
        mend = "Leave italic out." if italic else "Add italic = true, or use another font."
        raise FontError(f"{name} has no {'italic' if italic else 'upright'} letters", "font", mend)
    wanted = REGULAR if weight is None else weight
    best = min(slanted, key=lambda face: (_off(face, wanted), str(face.file), face.number))
    if weight is not None and _off(best, weight):
        there = ", ".join(sorted({_range(face) for face in slanted}))
        raise FontError(f"{name} has no weight {weight}", "font", f"Its weights are {there}.")
    chosen = min(max(wanted, best.weights[0]), best.weights[1])
    return FontFace(best.file, best.number, best.family, best.names, best.weights, chosen, best.italic)


def _off(face: FontFace, weight: int) -> int:
    return max(face.weights[0] - weight, weight - face.weights[1], 0)


def _range(face: FontFace) -> str:
    least, most = face.weights
    return str(least) if least == most else f"{least} to {most}"


@cache
def _packaged() -> tuple[FontFace, ...]:
    """Fonts of packages that are installed in this Python."""
    files: set[Path] = set()
    for group in PACKAGES:
        for entry in entry_points(group=group):
            try:
                files |= {Path(file) for file in entry.load().values()}
            except Exception:  # a package of somebody else that does not load has no fonts for us
                continue
    return tuple(face for file in sorted(files) for face in _faces(file))


@cache
def _system() -> tuple[FontFace, ...]:
    """Fonts of the system and of the person."""
    home = Path.home()
    if sys.platform == "darwin":
        places = [home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    elif sys.platform == "win32":
        local = Path(os.environ.get("LOCALAPPDATA", home / "AppData/Local"))
        places = [local / "Microsoft/Windows/Fonts", Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts"]
    else:
        shared = os.environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
        own = Path(os.environ.get("XDG_DATA_HOME") or home / ".local/share")
        places = [own / "fonts", home / ".fonts", *(Path(place) / "fonts" for place in shared.split(":"))]
    return _under(places)


def _beside(folder: Path | None) -> tuple[FontFace, ...]:
    """Fonts that lie in the job folder itself."""
    files = sorted(folder.iterdir()) if folder and folder.is_dir() else []
    return tuple(face for file in files if file.name.lower().endswith(ENDINGS) for face in _faces(file))


def _under(folders: Iterable[Path]) -> tuple[FontFace, ...]:
    """Every font in folders and below them, by folder and file name."""
    return tuple(face for folder in folders for file in _font_files(folder) for face in _faces(file))


def _font_files(folder: Path) -> Iterator[Path]:
    for place, inner, files in os.walk(folder):
        inner.sort()
        yield from (Path(place) / file for file in sorted(files) if file.lower().endswith(ENDINGS))


@cache
def _faces(file: Path) -> tuple[FontFace, ...]:
    """The fonts in a file; none where it cannot be read."""
    try:
        if file.stat().st_size > LARGEST_FONT:
            return ()
        if file.suffix.lower() in (".ttc", ".otc"):
            with TTCollection(file, lazy=True) as several:
                return tuple(_face(font, file, number) for number, font in enumerate(several.fonts))
        with TTFont(file, lazy=True) as font:
            return (_face(font, file, 0),)
    except BROKEN:
        return ()


def _face(font: TTFont, file: Path, number: int) -> FontFace:
    names = {key: font["name"].getDebugName(key) for key in (FAMILY, STYLE, FULL, POSTSCRIPT, TYPOGRAPHIC_FAMILY)}
    family = names[TYPOGRAPHIC_FAMILY] or names[FAMILY] or file.stem
    known = {names[key].casefold() for key in (FAMILY, FULL, POSTSCRIPT) if names[key]} | {family.casefold()}
    weight = int(font["OS/2"].usWeightClass)
    weights = (weight, weight)
    for axis in font["fvar"].axes if "fvar" in font else ():
        if axis.axisTag == "wght":
            weights = (int(axis.minValue), int(axis.maxValue))
    return FontFace(
        file, number, family, frozenset(known), weights, weight, bool(font["OS/2"].fsSelection & ITALIC_BITS)
    )
