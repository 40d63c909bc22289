"""The cascade of an SVG: presentation attributes, style sheets, style attributes, inheritance; and its units.

Source: SVG 1.1 chapter 6 (styling) and 7 (units); CSS Values 3 (absolute lengths); CSS Selectors 3 (specificity).
"""

import math
import re
from collections.abc import Iterator, Mapping

import cssselect2
import numpy as np
import tinycss2
from lxml import etree
from numpy.typing import NDArray
from tinycss2 import color3

from purfle.errors import DrawingError
from purfle.model.artwork import Colour

Matrix = NDArray[np.float64]
INHERITED = {
    "fill": "#000", "stroke": "none", "stroke-width": "1", "stroke-linecap": "butt", "stroke-linejoin": "miter",
    "stroke-miterlimit": "4", "stroke-dasharray": "none", "stroke-dashoffset": "0", "fill-rule": "nonzero",
    "clip-rule": "nonzero", "visibility": "visible", "color": "#000", "fill-opacity": "1", "stroke-opacity": "1",
    "font-size": "16", "font-family": "serif", "font-weight": "400", "font-style": "normal", "text-anchor": "start",
    "letter-spacing": "0", "marker-start": "none", "marker-mid": "none", "marker-end": "none",
}  # fmt: skip
OWN = ("display", "clip-path", "mask", "filter", "opacity", "transform")
PX = {
    "": 1.0, "px": 1.0, "in": 96.0, "cm": 96 / 2.54, "mm": 96 / 25.4, "q": 96 / 101.6, "pt": 96 / 72, "pc": 16.0,
    "em": 16.0, "rem": 16.0, "ex": 8.0,
}  # fmt: skip
STYLE = "{http://www.w3.org/2000/svg}style"
MOST_MATCHES = 3_000_000
"""Rules times elements that are looked at: about ten seconds."""
NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
LENGTH = re.compile(rf"\s*({NUMBER.pattern})\s*(%|[a-zA-Z]*)\s*")
TURN = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^)]*)\)")


def numbers(text: str | None) -> list[float]:
    """Every number in a text."""
    return [float(number) for number in NUMBER.findall(text or "")]


def length_px(text: str | None, whole: float, where: str, default: float = 0.0) -> float:
    """An SVG length in px; a percentage is taken of `whole`.

    >>> length_px("1in", 0, ""), length_px("50%", 80, "")
    (96.0, 40.0)
    """
    if text is None or text.strip() in ("", "auto"):
        return default
    match = LENGTH.fullmatch(text)
    unit = match[2].lower() if match else ""
    if not match or (unit != "%" and unit not in PX):
        raise DrawingError(f"“{text}” is not a length", where, "Give a number with mm, cm, in, pt, px or %.")
    value = float(match[1]) * (whole / 100 if unit == "%" else PX[unit])
    if not math.isfinite(value) or abs(value) > 1e7:
        raise DrawingError(f"The length “{text}” is too large", where, "Draw it at the size it is to have.")
    return value


def transform_of(text: str | None) -> Matrix:
    """The 2 x 3 matrix of a transform attribute."""
    total = np.eye(3)
    for kind, arguments in TURN.findall(text or ""):
        total = total @ _one_transform(kind, numbers(arguments))
    return total[:2]


def _one_transform(kind: str, v: list[float]) -> Matrix:
    v = v + [0.0] * (6 - len(v)) if kind == "matrix" or not v else v
    if kind == "matrix":
        return np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]], [0, 0, 1]])
    if kind == "translate":
        return np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) > 1 else 0], [0, 0, 1]])
    if kind == "scale":
        return np.diag([v[0], v[1] if len(v) > 1 else v[0], 1.0])
    angle = math.radians(v[0])
    if kind == "rotate":
        cos, sin = math.cos(angle), math.sin(angle)
        x, y = (v[1], v[2]) if len(v) > 2 else (0.0, 0.0)
        return np.array([[cos, -sin, x - cos * x + sin * y], [sin, cos, y - sin * x - cos * y], [0, 0, 1]])
    tan = math.tan(angle)
    return np.array([[1, tan, 0], [0, 1, 0], [0, 0, 1]] if kind == "skewX" else [[1, 0, 0], [tan, 1, 0], [0, 0, 1]])


def declarations(text: str | None) -> Iterator[tuple[str, str, bool]]:
    """Each declaration of a style text as (name, value, important)."""
    if not text:
        return
    for item in tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True):
        if item.type == "declaration":
            yield item.lower_name, tinycss2.serialize(item.value).strip(), item.important


def style_rules(root: "etree._Element") -> dict["etree._Element", dict[str, tuple[str, bool]]]:
    """What the drawing's style sheets say of each element: property -> (value, important), last and strongest wins."""
    try:
        return _rules_of("\n".join("".join(e.itertext()) for e in root.iter(STYLE)), root)
    except RecursionError:
        what = "The style sheet nests deeper than is read"
        raise DrawingError(what, "<style> of the svg", "Save it with presentation attributes instead.") from None


def at_rules(root: "etree._Element") -> Iterator[tuple["etree._Element", str]]:
    """Each rule of a style sheet that begins with @ and would change what is painted, with its element."""
    for element in root.iter(STYLE):
        for rule in tinycss2.parse_stylesheet("".join(element.itertext()), skip_comments=True, skip_whitespace=True):
            if rule.type == "at-rule" and rule.lower_at_keyword not in ("font-face", "charset", "namespace"):
                yield element, rule.lower_at_keyword


def _rules_of(text: str, root: "etree._Element") -> dict["etree._Element", dict[str, tuple[str, bool]]]:
    rules = []
    for order, rule in enumerate(tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)):
        if rule.type != "qualified-rule":
            continue
        said = list(declarations(tinycss2.serialize(rule.content)))
        try:
            rules += [(s.specificity, order, s, said) for s in cssselect2.compile_selector_list(rule.prelude)]
        except cssselect2.SelectorError:
            continue
    if len(rules) * sum(1 for _ in root.iter()) > MOST_MATCHES:
        what = f"The style sheet has {len(rules)} rules for more elements than can be looked through"
        raise DrawingError(what, "<style> of the svg", "Save it with presentation attributes instead of a style sheet.")
    rules.sort(key=lambda entry: entry[:2])
    return _matched(root, rules) if rules else {}


def _matched(root: "etree._Element", rules: list) -> dict["etree._Element", dict[str, tuple[str, bool]]]:  # type: ignore[type-arg]
    found: dict[etree._Element, dict[str, tuple[str, bool]]] = {}
    for wrapper in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
        for _, _, selector, said in rules:
            if not selector.test(wrapper):
                continue
            own = found.setdefault(wrapper.etree_element, {})
            for name, value, important in said:
                if important or not own.get(name, ("", False))[1]:
                    own[name] = (value, important)
    return found


def own_style(element: "etree._Element", sheet: Mapping[str, tuple[str, bool]]) -> dict[str, str]:
    """What is said of one element itself: attributes, then style sheets, then its style attribute; !important last."""
    style = {name: element.get(name) for name in (*INHERITED, *OWN) if element.get(name) is not None}
    style.update({name: value for name, (value, _) in sheet.items()})
    style.update({name: value for name, value, _ in declarations(element.get("style"))})
    style.update({name: value for name, (value, important) in sheet.items() if important})
    return {name: value.strip() for name, value in style.items() if value is not None}


def inherit(parent: Mapping[str, str], own: Mapping[str, str]) -> dict[str, str]:
    """The computed style of an element from its parent's and its own."""
    style = dict(parent)
    for name, value in own.items():
        if name in INHERITED and value != "inherit":
            style[name] = value
    return style


def colour_of(paint: str, current: str) -> Colour | None:
    """The sRGB colour of a paint, None for none.

    Raises: ValueError for what is no plain colour (a gradient, a pattern).
    """
    text = paint.strip()
    if text.lower() in ("none", "transparent", ""):
        return None
    if text.lower() == "currentcolor":
        text = current
    parsed = color3.parse_color(text)
    if parsed is None or isinstance(parsed, str):
        raise ValueError(text)
    if parsed.alpha == 0:
        return None
    red, green, blue = (round(255 * channel) for channel in parsed[:3])
    return red, green, blue
