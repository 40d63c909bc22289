"""The bytes of a DXF file -> a parsed document with its unit, or the reason why not. ezdxf parses; budgets come first.

Source: DXF reference, header variable $INSUNITS; sections end with ENDSEC, the file with EOF.
"""

import io
import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager

from ezdxf import recover
from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import dxf_stream_info
from ezdxf.lldxf.tagger import binary_tags_loader

from purfle.errors import DrawingError
from purfle.model.artwork import DrawingUnit
from purfle.model.findings import Finding

MOST_BYTES = 30_000_000
MOST_ENTITIES = 60_000
"""Parts of a file that are parsed: lines, polylines, layers, blocks. About five seconds of parsing."""
UNIT_MM: dict[DrawingUnit, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "ft": 304.8}
"""One unit of a drawing in mm."""
INSUNITS = {
    1: 25.4, 2: 304.8, 3: 1_609_344.0, 4: 1.0, 5: 10.0, 6: 1000.0, 7: 1e6, 8: 25.4e-6, 9: 0.0254, 10: 914.4,
    11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100.0, 15: 10_000.0, 16: 100_000.0, 21: 1200 / 3937 * 1000,
}  # fmt: skip
"""$INSUNITS in mm. Source: DXF reference; 21 is the US survey foot, 1200/3937 m."""
BINARY_START = b"AutoCAD Binary DXF\r\n\x1a\x00"
BINARY_END = b"\x00\x00EOF\x00"
TEXT_START = re.compile(rb"(\xef\xbb\xbf)?(\s*999\r?\n[^\n]*\n)*\s*0\s*\r?\n\s*SECTION\s*\n")
TEXT_END = re.compile(rb"\n\s*0\s*\r?\n\s*EOF\s*\Z")
TEXT_ENTITY = re.compile(rb"\n *0\r?\n *[A-Z]")
BINARY_ENTITY = re.compile(rb"\x00[A-Z][A-Z0-9_]{2,30}\x00")
SAVE_AGAIN = "Save it again as DXF in your drawing program."


def parsed(data: bytes, name: str) -> tuple[Document, tuple[Finding, ...]]:
    """The document of a DXF file, text or binary, and what had to be mended to read it.

    Raises: DrawingError for what is no DXF, ends early, is damaged beyond reading or larger than the budgets.
    """
    refuse_hopeless(data, name)
    with quiet():
        try:
            return strictly(data), ()
        except MemoryError:
            raise
        except Exception:  # the parser's own faults are many; what it cannot read is tried with mending
            return mended(data, name)


def refuse_hopeless(data: bytes, name: str) -> None:
    """Refuse what need not be parsed to be known as unreadable."""
    if len(data) > MOST_BYTES:
        what = f"The drawing has {len(data) / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f}"
        raise DrawingError(what, name, "Save only what is to be let in.")
    binary = data.startswith(BINARY_START)
    if not binary and not TEXT_START.match(data):
        raise DrawingError("The file is not a DXF drawing", name, "Save the drawing as DXF, text or binary.")
    if not (data.endswith(BINARY_END) if binary else TEXT_END.search(data)):
        raise DrawingError("The DXF file ends early: its last lines are missing", name, SAVE_AGAIN)
    count = len((BINARY_ENTITY if binary else TEXT_ENTITY).findall(data))
    if count > MOST_ENTITIES:
        what = f"The drawing has about {count} entities, more than {MOST_ENTITIES}"
        raise DrawingError(what, name, "Join its lines to polylines, and save only what is to be let in.")


def strictly(data: bytes) -> Document:
    """The document, if the file keeps to the format."""
    if data.startswith(BINARY_START):
        return Document.load(binary_tags_loader(data))
    head = io.StringIO(data.decode("utf-8", "ignore"))
    text = data.decode(dxf_stream_info(head).encoding, "surrogateescape")
    return Document.read(io.StringIO(text.removeprefix("\ufeff")))


def mended(data: bytes, name: str) -> tuple[Document, tuple[Finding, ...]]:
    """The document of a damaged text file, with a finding for everything that the parser mended or gave up."""
    try:
        document, audit = recover.read(io.BytesIO(data))
    except MemoryError:
        raise
    except Exception as fault:
        reason = " ".join(str(fault).split())[:120] or type(fault).__name__
        raise DrawingError(f"The DXF file is damaged: {reason}", name, SAVE_AGAIN) from None
    said = [" ".join(entry.message.split())[:120] for entry in (*audit.errors, *audit.fixes)]
    what = f"The DXF file is damaged and was mended: {'; '.join(said[:3]) or 'its tags are out of order'}"
    return document, (Finding("look", what, name, f"{SAVE_AGAIN} Compare what was read with it.", "artwork"),)


@contextmanager
def quiet() -> Iterator[None]:
    """Within: the parser writes nothing to the terminal; what it would say is told as a finding."""
    log = logging.getLogger("ezdxf")
    before, log.disabled = log.disabled, True
    try:
        yield
    finally:
        log.disabled = before


def unit_of(document: Document | None, asked: DrawingUnit | None, name: str) -> tuple[float, tuple[Finding, ...]]:
    """One unit of the drawing in mm, and a finding where the job says otherwise than the file; no document: it is mute.

    Raises: DrawingError, a question, where neither the file nor the job says what a unit is.
    """
    try:
        code = int(document.header.get("$INSUNITS", 0)) if document else 0
    except (TypeError, ValueError):
        code = 0
    own = INSUNITS.get(code)
    if asked is None and own is None:
        what = "The DXF file does not say what one of its units is ($INSUNITS)"
        words = ", ".join(f'"{word}"' for word in UNIT_MM)
        raise DrawingError(
            what,
            name,
            f'Say it: drawing_unit = "mm" in [picture] of the job file, or --drawing-unit mm; one of {words}.',
        )
    if asked is None:
        return own or 1.0, ()
    told = UNIT_MM[asked]
    if own is None or abs(own / told - 1) < UNITS_AGREE:
        return told, ()
    what = f"The DXF file says that its unit is {own:g} mm, the job says {asked}; the job counts"
    return told, (Finding("look", what, name, "Leave drawing_unit out if the file is right.", "artwork"),)


UNITS_AGREE = 1e-3
"""Two units that differ by a smaller share are the same unit (foot and survey foot)."""
