"""An SVG outline file, read by its published rules alone, and only as much of them as the assembly card allows.

Source: SVG 1.1 (W3C), chapters 7 (units, viewBox, transform) and 8 (paths); F.6 for arcs.
"""

import math
import re

from lxml import etree
from shapely import box
from shapely.geometry.base import BaseGeometry

from purfle.errors import Fault, ProgramError
from purfle.proof.outlines import Outlines, Refused, Ring, angle_of, bend, near, off_stock, regions
from purfle.proof.shelf import MEND
from purfle.tolerances import SAME_SHARE, SIDE_AS_CUT

_SVG = "{http://www.w3.org/2000/svg}"
_SILENT = {f"{_SVG}{name}" for name in ("title", "desc", "metadata")}
_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)"
_LENGTH = re.compile(rf"({_NUMBER})mm")
_MATRIX = re.compile(rf"matrix\(\s*1[ ,]+0[ ,]+0[ ,]+-1[ ,]+({_NUMBER})[ ,]+({_NUMBER})\s*\)")
_TOKEN = re.compile(rf"[\s,]*([MLAZ]|{_NUMBER}(?![\d.]))[\s,]*")
_COMMAND = re.compile(r"([MLAZ])([^MLAZ]*)")
_COUNT = {"M": 2, "L": 2, "A": 7, "Z": 0}
_KINDS = {"recess": "recess", "parts": "part"}


def read_svg(file: str, data: bytes, number: int, what: str = "set-up") -> Outlines:
    """The outlines of set-up (or template) `number`, or a ProgramError with every fault of the file."""
    root = _root(file, data)
    faults: list[Fault] = []
    _true_size(root, file, faults)
    group = _only_group(root, f"{what}-{number}", file, faults)
    rings: dict[str, list[Ring]] = {}
    kinds: dict[str, str] = {}
    stock: dict[str, list[Ring]] = {}
    for child in group if group is not None else ():
        name = child.get("id")
        if child.tag in _SILENT:
            continue
        if child.tag != f"{_SVG}g" or name not in (*_KINDS, "stock"):
            faults.append(
                Fault(f"'{name or child.tag}' does not belong here", f"{file}, line {child.sourceline}", MEND)
            )
            continue
        for path_id, found in _paths(child, file, faults):
            if path_id in rings or (name == "stock" and stock):
                faults.append(Fault(f"the line '{path_id}' stands twice", file, MEND))
            elif name == "stock":
                stock["stock"] = found
            else:
                rings[path_id] = found
                kinds[path_id] = _KINDS[name]
    if not stock:
        faults.append(Fault("the outline of the stock is missing", file, MEND))
    lines, wood = regions(rings, file, faults), regions(stock, file, faults)
    if "stock" in wood:
        faults += off_stock(lines, wood["stock"], file)
        faults += [] if faults or group is None else _off_page(root, group, wood["stock"], file)
    if faults:
        raise ProgramError.of(faults)
    return Outlines(file, lines, kinds, wood["stock"])


def _root(file: str, data: bytes) -> etree._Element:
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True)
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise ProgramError(f"the file is not an SVG drawing: {error}", file, MEND) from None
    if root.tag != f"{_SVG}svg" or root.getroottree().docinfo.doctype:
        raise ProgramError("the file is not a plain SVG drawing", file, MEND)
    return root


def _true_size(root: etree._Element, file: str, faults: list[Fault]) -> None:
    """One unit of the drawing must be one mm on the page, both ways."""
    box = re.fullmatch(rf"\s*{_NUMBER}[ ,]+{_NUMBER}[ ,]+({_NUMBER})[ ,]+({_NUMBER})\s*", root.get("viewBox", ""))
    for index, key in enumerate(("width", "height"), 1):
        size = _LENGTH.fullmatch(root.get(key, ""))
        if size is None:
            faults.append(Fault(f"the {key} of the drawing is not in mm", f"{file}, {key}", MEND))
        elif box is None:
            faults.append(Fault("the drawing has no viewBox", f"{file}, viewBox", MEND))
        elif not (float(size[1]) > 0 and float(box[index]) > 0):
            faults.append(Fault(f"the {key} of the drawing is not above 0", f"{file}, {key} and viewBox", MEND))
        elif not math.isclose(float(size[1]), float(box[index]), rel_tol=SAME_SHARE):
            scale = float(size[1]) / float(box[index])
            what = f"the drawing is not at true size: its {key} is shown at {scale:.6g} times"
            faults.append(Fault(what, f"{file}, {key} and viewBox", MEND))


def _off_page(root: etree._Element, group: etree._Element, stock: BaseGeometry, file: str) -> list[Fault]:
    """The stock must lie on the page: what is shown elsewhere is not found, or is placed by eye."""
    x, y, width, height = (float(value) for value in re.findall(_NUMBER, root.get("viewBox", "")))
    matrix = _MATRIX.fullmatch(group.get("transform", "").strip())
    assert matrix is not None
    left, low, right, high = stock.bounds
    across, down = float(matrix[1]), float(matrix[2])
    page = box(x, y, x + width, y + height).buffer(SIDE_AS_CUT)
    if page.contains(box(left + across, down - high, right + across, down - low)):
        return []
    return [Fault("the stock does not lie on the page of the drawing", f"{file}, viewBox and transform", MEND)]


def _only_group(root: etree._Element, name: str, file: str, faults: list[Fault]) -> etree._Element | None:
    """The one group of the set-up. Its matrix turns y up; any other would mirror or resize the lines."""
    group = None
    for child in root:
        if child.tag in _SILENT:
            continue
        if child.tag == f"{_SVG}g" and child.get("id") == name and group is None:
            group = child
        else:
            what = f"'{child.get('id') or child.tag}' does not belong here"
            faults.append(Fault(what, f"{file}, line {child.sourceline}", MEND))
    if group is None:
        faults.append(Fault(f"the group '{name}' is missing", file, MEND))
    elif not _MATRIX.fullmatch(group.get("transform", "").strip()):
        what = f"the group '{name}' does not stand upright at true size: {group.get('transform')!r}"
        faults.append(Fault(what, f"{file}, line {group.sourceline}", MEND))
    return group


def _paths(group: etree._Element, file: str, faults: list[Fault]) -> list[tuple[str, list[Ring]]]:
    found = []
    for path in group:
        if path.tag in _SILENT:
            continue
        where = f"{file}, line {path.sourceline}"
        if path.tag != f"{_SVG}path" or path.get("transform") or group.get("transform"):
            faults.append(Fault("only paths without a place of their own may stand here", where, MEND))
            continue
        try:
            rings = _rings(path.get("d", ""))
            if len(rings) > 1 and "evenodd" not in (path.get("fill-rule"), *_inherited(path, "fill-rule")):
                raise Refused("it has holes, and no even-odd rule that keeps them open")
            found.append((path.get("id", ""), rings))
        except Refused as refused:
            faults.append(Fault(f"the line '{path.get('id')}' cannot be used: {refused}", where, MEND))
    return found


def _inherited(path: etree._Element, key: str) -> list[str | None]:
    return [group.get(key) for group in path.iterancestors()]


def _rings(d: str) -> list[Ring]:
    """The rings of a path; each begins with M and ends with Z."""
    if _TOKEN.sub("", d):
        raise Refused("its path holds something else than M, L, A, Z and numbers")
    rings: list[Ring] = []
    ring: Ring = []
    for letter, digits in _COMMAND.findall(d):
        values = [near(float(value)) for value in re.findall(_NUMBER, digits)]
        step = _COUNT[letter]
        if (letter == "M") == bool(ring):
            raise Refused("a ring is left open" if ring else "a ring does not begin with M")
        if step and (not values or len(values) % step or (letter == "M" and len(values) != 2)):
            raise Refused(f"{letter} has {len(values)} numbers")
        for index in range(0, len(values), step or 1):
            _draw(ring, letter, values[index : index + step])
        if letter == "Z":
            rings.append(ring)
            ring = []
    if ring or not rings:
        raise Refused("a ring is left open" if ring else "it is empty")
    return rings


def _draw(ring: Ring, letter: str, values: list[float]) -> None:
    if letter != "A":
        ring.append((values[0], values[1]))
        return
    rx, ry, _, large, left, x, y = values
    if rx <= 0 or not math.isclose(rx, ry, rel_tol=SAME_SHARE) or large not in (0, 1) or left not in (0, 1):
        raise Refused("an arc is not part of a circle")
    angle = angle_of(math.hypot(x - ring[-1][0], y - ring[-1][1]), rx, large == 1)
    if angle is None:
        raise Refused(f"an arc's radius of {rx} mm is too small for its ends")
    bend(ring, (x, y), angle if left == 1 else -angle)
