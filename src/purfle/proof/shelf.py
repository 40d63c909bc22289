"""Taking keys out of a JSON object one by one, each checked for its type, all faults collected."""

import math
from collections.abc import Sequence
from typing import Any

import shapely
from shapely import Polygon

from purfle.errors import Fault

CARD = "assembly.json"
"""Name of the assembly card in the folder."""
MEND = "write the files again from the job; do not cut with these"
"""What mends a file that is damaged."""
FURTHEST = 1e5
"""No length or place in a shop is beyond 100 m; more is a damaged file."""


class Shelf:
    """One JSON object. What is wrong with it goes to `faults`; a stand-in value lets the reading go on."""

    def __init__(self, keys: dict[str, Any], place: str, faults: list[Fault]) -> None:
        self._keys = dict(keys)
        self._place = place
        self._faults = faults

    def fault(self, key: str, what: str) -> None:
        """Put down one fault at `key`."""
        where = f"{self._place}.{key}" if self._place and key else self._place or key
        self._faults.append(Fault(what, f"{CARD}, key {where}" if where else CARD, MEND))

    def _take(self, key: str) -> Any:
        if key not in self._keys:
            self.fault(key, f"the key '{key}' is missing")
            return None
        return self._keys.pop(key)

    def _wrong(self, key: str, value: Any, wanted: str) -> None:
        if value is not None:
            self.fault(key, f"{str(value)[:40]!r} is not {wanted}")

    def number(self, key: str, above: float = -math.inf, at_least: float = -math.inf) -> float:
        """A finite number within bounds."""
        value = self._take(key)
        if not _is_number(value):
            self._wrong(key, value, "a number")
            return 1.0
        if not (value > above and value >= at_least):
            self.fault(key, f"{value} is too small")
        return float(value)

    def maybe(self, key: str) -> "Shelf | None":
        """An object, or null where there is none."""
        if self._keys.get(key, 0) is None:
            del self._keys[key]
            return None
        return self.shelf(key)

    def numbers(self, key: str, count: int | None = None) -> tuple[float, ...]:
        """A list of numbers, of `count` of them if given."""
        value = self._take(key)
        if not isinstance(value, list) or not all(_is_number(v) for v in value) or count not in (None, len(value)):
            self._wrong(key, value, f"a list of {count or ''} numbers".replace("  ", " "))
            return (1.0,) * (count or 0)
        return tuple(float(v) for v in value)

    def whole(self, key: str) -> int:
        """A whole number."""
        value = self._take(key)
        if not isinstance(value, int) or isinstance(value, bool):
            self._wrong(key, value, "a whole number")
            return 1
        return value

    def text(self, key: str) -> str:
        """A text."""
        value = self._take(key)
        if not isinstance(value, str):
            self._wrong(key, value, "a text")
            return ""
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self._take(key)
        if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
            self._wrong(key, value, "a list of texts")
            return ()
        return tuple(value)

    def choice(self, key: str, choices: Sequence[str]) -> str:
        """One of a few words."""
        value = self._take(key)
        if value not in choices:
            self._wrong(key, value, " or ".join(choices))
            return choices[0]
        return str(value)

    def claim(self, key: str, missing: bool | None = None) -> bool:
        """True or false; `missing` stands in for a key that may be left out."""
        if missing is not None and key not in self._keys:
            return missing
        value = self._take(key)
        if not isinstance(value, bool):
            self._wrong(key, value, "true or false")
            return False
        return value

    def ring(self, key: str) -> Polygon:
        """A closed outline from a list of points."""
        value = self._take(key)
        points = value if isinstance(value, list) else []
        if len(points) < 3 or not all(
            isinstance(p, list) and len(p) == 2 and all(_is_number(v) for v in p) for p in points
        ):
            self._wrong(key, value, "a list of three points or more")
            return Polygon([(0, 0), (1, 0), (1, 1)])
        ring = Polygon(points)
        if not ring.is_valid or ring.area <= 0:
            self.fault(key, f"the outline is not closed and simple: {shapely.is_valid_reason(ring)}")
        return ring

    def shelf(self, key: str) -> "Shelf":
        """The object below `key`."""
        value = self._take(key)
        if not isinstance(value, dict):
            self._wrong(key, value, "a group of keys")
            # the keys of a group that is not there are no faults of their own
            return Shelf({}, f"{self._place}.{key}".strip("."), [])
        return Shelf(value, f"{self._place}.{key}".strip("."), self._faults)

    def shelves(self, key: str) -> list["Shelf"]:
        """The objects of the list below `key`."""
        value = self._take(key)
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self._wrong(key, value, "a list of groups")
            return []
        place = f"{self._place}.{key}".strip(".")
        return [Shelf(v, f"{place}[{index}]", self._faults) for index, v in enumerate(value)]

    def ignored(self, key: str) -> None:
        """A key that may be there and that the proof does not use."""
        self._keys.pop(key, None)

    def nothing_else(self) -> None:
        """Every key that nobody asked for is a fault."""
        for key in self._keys:
            self.fault(key, f"the key '{key}' is unknown")


def _is_number(value: Any) -> bool:
    return (
        isinstance(value, (int, float))
        and not isinstance(value, bool)
        and math.isfinite(value)
        and abs(value) < FURTHEST
    )
