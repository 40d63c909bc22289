"""Write src/purfle/files/outline_frame.dxf: all of an outline file but what differs from one set-up to the next.

An R2000 drawing needs three thousand lines of settings and tables around its outlines, always the same. ezdxf knows
them; to load it takes longer than to write all outlines of a job. So they are written once, here, with a word in
angle brackets wherever something is put in later (`purfle.files.outline_dxf`). Run it after a change of ezdxf; a test
holds the frame to what that writes.

    python builders/dxf_frame.py
"""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import ezdxf
from ezdxf.filemanagement import new as new_drawing

FRAME = Path(__file__).resolve().parent.parent / "src" / "purfle" / "files" / "outline_frame.dxf"
MILLIMETRES = 4
APP_ID, STOCK_LAYER, LAYER = "PURFLE", "STOCK", "SET-UP-0"
EXTENTS = {"left": 1111.25, "bottom": 2222.25, "right": 3333.25, "top": 4444.25}
"""Figures that stand nowhere else in the file."""


def frame() -> str:
    """The frame with `<left>`, `<bottom>`, `<right>`, `<top>`, `<layer>`, `<outlines>`, `<next handle>` in it.

    Its first line is the handle of the first outline. `<handle 0>` and so on follow on those of the outlines. To be
    called without dates.
    """
    drawing = new_drawing("R2000", units=MILLIMETRES)
    drawing.appids.new(APP_ID)
    drawing.layers.add(LAYER, color=7)
    drawing.layers.add(STOCK_LAYER, color=8)
    low, high = [(EXTENTS[x], EXTENTS[y], 0.0) for x, y in (("left", "bottom"), ("right", "top"))]
    drawing.header["$EXTMIN"], drawing.header["$EXTMAX"] = low, high
    drawing.modelspace().reset_extents(low, high)
    first = int(str(drawing.entitydb.handles), 16)
    stream = io.StringIO()
    drawing.write(stream)
    marks = {f"{value}": f"<{name}>" for name, value in EXTENTS.items()} | {LAYER: "<layer>"}
    text = re.sub(r"(?<=\n)\S+(?=\n)", lambda line: marks.get(line[0], line[0]), stream.getvalue())
    text = re.sub(r"(?<=\$HANDSEED\n  5\n)\w+", "<next handle>", text)
    later = {f"{first + number:X}": f"<handle {number}>" for number in range(8)}
    # group 5 is an entity's own handle, groups 330 to 369 name the handle of another
    text = re.sub(r"(?<=\n)(  5|3[3-6]\d)\n(\w+)(?=\n)", lambda pair: f"{pair[1]}\n{later.get(pair[2], pair[2])}", text)
    return f"{first:X}\n" + text.replace("  2\nENTITIES\n", "  2\nENTITIES\n<outlines>")


@contextmanager
def without_dates() -> Iterator[None]:
    """Within: ezdxf writes no clock time, no random identifier and no version of its own."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


if __name__ == "__main__":
    with without_dates():
        text = frame()
    FRAME.write_text(text, encoding="ascii", newline="\n")
    print(f"{FRAME.name}: {len(text.splitlines())} lines")
