"""A DXF outline file, read group by group, and only as much of the format as the assembly card allows.

Source: the published DXF group code reference, R2000 (AC1015): light polyline,
extended data, header variables; from memory.
"""

import itertools
import math
from collections.abc import Iterator

from purfle.errors import Fault, ProgramError
from purfle.proof.outlines import Outlines, Refused, Ring, bend, near, off_stock, regions
from purfle.proof.shelf import MEND
from purfle.tolerances import SAME_SHARE

_MILLIMETRES = "4"
_R2000 = "AC1015"
_PLAIN = {38: 0.0, 39: 0.0, 40: 0.0, 41: 0.0, 43: 0.0, 210: 0.0, 220: 0.0, 230: 1.0}
"""Groups that would lift, thicken, widen or turn a polyline: only these values leave it alone."""


Tag = tuple[int, str]


def read_dxf(file: str, data: bytes, number: int, what: str = "set-up") -> Outlines:
    """The outlines of set-up (or template) `number`, or a ProgramError with every fault of the file."""
    sections = _sections(file, _tags(file, data))
    faults: list[Fault] = []
    _header(sections.get("HEADER", []), file, faults)
    lines: dict[str, list[Ring]] = {}
    stock: dict[str, list[Ring]] = {}
    for index, entity in enumerate(_entities(sections.get("ENTITIES", [])), 1):
        where = f"{file}, entity {index} ({entity[0][1]})"
        try:
            layer, name, ring = _polyline(entity)
        except Refused as refused:
            faults.append(Fault(str(refused), where, MEND))
            continue
        if layer == "STOCK":
            stock.setdefault("stock", []).append(ring)
        elif layer == f"{what.upper()}-{number}" and name:
            lines.setdefault(name, []).append(ring)
        else:
            strange = f"a line on layer '{layer}' with the name '{name}' does not belong to {what} {number}"
            faults.append(Fault(strange, where, MEND))
    if not stock:
        faults.append(Fault("the outline of the stock is missing", file, MEND))
    found, wood = regions(lines, file, faults), regions(stock, file, faults)
    if "stock" in wood:
        faults += off_stock(found, wood["stock"], file)
    if faults:
        raise ProgramError.of(faults)
    return Outlines(file, found, {}, wood["stock"])


def _tags(file: str, data: bytes) -> list[Tag]:
    """Pairs of group code and value."""
    try:
        # R2000 files are in the code page of their header; names that matter are plain
        text = data.decode("cp1252").splitlines()
        if len(text) % 2:
            raise ValueError("the last group has no value")
        return [(int(code), value.strip()) for code, value in zip(text[::2], text[1::2], strict=True)]
    except ValueError as error:
        raise ProgramError(f"the file is not a DXF drawing: {error}", file, MEND) from None


def _sections(file: str, tags: list[Tag]) -> dict[str, list[Tag]]:
    """The tags of each section by its name; the file must end with EOF."""
    if not tags or tags[-1] != (0, "EOF"):
        raise ProgramError("the DXF drawing has no end", file, MEND)
    sections: dict[str, list[Tag]] = {}
    name = ""
    for index, tag in enumerate(tags[:-1]):
        if tag == (0, "SECTION"):
            if name or index + 1 >= len(tags) or tags[index + 1][0] != 2:
                raise ProgramError("a section of the DXF drawing has no name or no end", file, MEND)
            name = tags[index + 1][1]
            sections[name] = []
        elif tag == (0, "ENDSEC"):
            name = ""
        elif name:
            sections[name].append(tag)
    return sections


def _header(tags: list[Tag], file: str, faults: list[Fault]) -> None:
    found = {tag[1]: after[1] for tag, after in itertools.pairwise(tags) if tag[0] == 9}
    if found.get("$INSUNITS") != _MILLIMETRES:
        what = f"the drawing is not in mm ($INSUNITS is {found.get('$INSUNITS', 'missing')})"
        faults.append(Fault(what, f"{file}, header", MEND))
    if found.get("$ACADVER") != _R2000:
        faults.append(Fault(f"the drawing is not of R2000 ({found.get('$ACADVER')})", f"{file}, header", MEND))


def _entities(tags: list[Tag]) -> Iterator[list[Tag]]:
    begins = [index for index, tag in enumerate(tags) if tag[0] == 0]
    for begin, end in itertools.pairwise([*begins, len(tags)]):
        yield tags[begin:end]


def _polyline(entity: list[Tag]) -> tuple[str, str, Ring]:
    """Layer, name and ring of one closed polyline."""
    if entity[0][1] != "LWPOLYLINE":
        raise Refused("only closed light polylines may stand here")
    extended = next((i for i, tag in enumerate(entity) if tag[0] == 1001), len(entity))
    layer, closed, count = "", False, -1
    corners: list[list[float]] = []
    for code, value in entity[1:extended]:
        if code in _PLAIN and not math.isclose(_number(value), _PLAIN[code], abs_tol=SAME_SHARE):
            raise Refused(f"the polyline is lifted, widened or turned over (group {code})")
        if code == 8:
            layer = value
        elif code == 70:
            closed = int(_number(value)) & 1 == 1
        elif code == 90:
            count = int(_number(value))
        elif code == 10:
            corners.append([near(_number(value)), math.nan, 0.0])
        elif code in (20, 42):
            if not corners:
                raise Refused("a corner of the polyline has no x")
            corners[-1][1 if code == 20 else 2] = near(_number(value))
    if not closed or count != len(corners) or count < 2 or any(math.isnan(c[1]) for c in corners):
        raise Refused("the polyline is open, or its corners are not as many as it says")
    return layer, _name(entity[extended:]), _ring(corners)


def _number(value: str) -> float:
    try:
        number = float(value)
    except ValueError:
        raise Refused(f"'{value}' is not a number") from None
    if not math.isfinite(number):
        raise Refused(f"'{value}' is not a number")
    return number


def _name(tags: list[Tag]) -> str:
    """The line's id from the extended data of the application PURFLE."""
    names = [after[1] for tag, after in itertools.pairwise(tags) if tag == (1001, "PURFLE") and after[0] == 1000]
    if len(names) > 1:
        raise Refused("the polyline has two names")
    return names[0] if names else ""


def _ring(corners: list[list[float]]) -> Ring:
    ring: Ring = [(corners[0][0], corners[0][1])]
    for (_, _, bulge), (x, y, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        bend(ring, (x, y), 4 * math.atan(bulge))
    return ring
