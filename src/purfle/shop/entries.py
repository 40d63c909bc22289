"""One table of the shop file, read key by key; whatever is wrong is noted with its place and reading goes on."""

import difflib
import math
from dataclasses import dataclass, field
from typing import Literal

from purfle.errors import Fault, LengthError
from purfle.units import LengthUnit, signed_length

Point = tuple[float, float]
NOTHING = object()
"""Stands for 'no value given' where None would be an answer."""


@dataclass(slots=True)
class Notes:
    """What is noted while one file is read: its name, the unit of bare numbers, its lines by key, and every fault."""

    file: str
    bare: LengthUnit | None = None
    faults: list[Fault] = field(default_factory=list)
    lines: dict[str, int] = field(default_factory=dict)

    def fault(self, what: str, where: str, mend: str, path: str = "") -> None:
        """Note one fault; its place begins with the name of the file, and the line of `path` or of its table."""
        line = self.lines.get(path) or self.lines.get(path.rpartition(".")[0])
        place = f"{self.file}, line {line}, {where}" if line else f"{self.file}, {where}"
        self.faults.append(Fault(what, place, mend))


@dataclass(slots=True)
class Entry:
    """One table: its values, its place in words, and the keys that were asked for."""

    values: dict[str, object]
    place: str
    notes: Notes
    asked: set[str] = field(default_factory=set)
    path: str = ""
    """The table as its line is looked up by: `cutter[1]`."""

    def where(self, key: str) -> str:
        """The place of a key, in words."""
        return f"{self.place}, key '{key}'" if self.place else f"key '{key}'"

    def fault(self, key: str, what: str, mend: str) -> None:
        """Note a fault of one key."""
        self.notes.fault(what, self.where(key), mend, f"{self.path}.{key}" if self.path else key)

    def get(self, key: str, needed: bool) -> object:
        """The value as it stands in the file, or NOTHING; a needed one that is missing is a fault."""
        self.asked.add(key)
        value = self.values.get(key, NOTHING)
        if value is NOTHING and needed and not self._misspelt(key):
            self.fault(key, f"'{key}' is missing", f"add {key} = ...")
        return value

    def has(self, key: str) -> bool:
        """True if the key stands in the file; it counts as asked for."""
        return self.get(key, needed=False) is not NOTHING

    def _misspelt(self, key: str) -> bool:
        """True if an unknown key was surely meant for this one: then that fault is told, not both."""
        others = [other for other in self.values if other not in self.asked]
        return bool(difflib.get_close_matches(key, others, n=1, cutoff=0.75))

    def text(self, key: str, needed: bool = True, choice: tuple[str, ...] = ()) -> str:
        """A text; one of `choice` if that is given. Empty if it was not given or is wrong."""
        value = self.get(key, needed)
        if value is NOTHING:
            return ""
        if not isinstance(value, str):
            self.fault(key, f"{value!r} is not a text", f'write {key} = "..."')
            return ""
        if choice and value.strip().casefold() not in choice:
            near = difflib.get_close_matches(value, choice, n=1)
            hint = f", perhaps '{near[0]}'" if near else ""
            self.fault(key, f"'{value}' is not understood", f"write one of {', '.join(choice)}{hint}")
            return ""
        if needed and not value.strip():
            self.fault(key, f"'{key}' is empty", f'write {key} = "..."')
        return value.strip()

    def number(self, key: str, between: tuple[float, float], default: float | None = None) -> float:
        """A plain number within limits. Without a default it is needed."""
        value = self.get(key, default is None)
        if value is NOTHING:
            return default or 0.0
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            self.fault(key, f"{value!r} is not a number", f"write {key} = a number without a unit")
            return between[0]
        return self._within(key, float(value), between, "")

    def whole(self, key: str, between: tuple[int, int]) -> int:
        """A whole number within limits."""
        value = self.number(key, between)
        if value != int(value):
            self.fault(key, f"{value:g} is not a whole number", f"write {key} = a whole number")
        return int(value)

    def length(self, key: str, between: tuple[float, float], default: float | None = None, per: str = "") -> float:
        """A length in mm within limits (also in mm). `per` is what may follow it in a rate, such as "/min"."""
        value = self.get(key, default is None)
        if value is NOTHING:
            return default or 0.0
        mm = self.as_mm(value, key, per)
        return between[0] if mm is None else self._within(key, mm, between, f" mm{per}")

    def as_mm(self, value: object, key: str, per: str = "") -> float | None:
        """One value of a key as mm; None, and a fault, if it is no length."""
        text = repr(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
        if not isinstance(text, str):
            self.fault(key, f"{value!r} is not a length", 'write it with its unit, such as "89 mm" or "3 1/2 in"')
            return None
        bare = text.replace(" ", "").removesuffix(per) if per else text
        try:
            return signed_length(bare if text.replace(" ", "").endswith(per) and per else text, self.notes.bare)
        except LengthError as error:
            mend = error.mend
            if self.notes.bare is None:
                mend += ' Or put units = "mm" at the top of the file for numbers without a unit.'
            self.fault(key, error.what, mend)
            return None

    def _within(self, key: str, value: float, between: tuple[float, float], unit: str) -> float:
        low, high = between
        if low <= value <= high:
            return value
        self.fault(key, f"{value:g}{unit} cannot be right", f"give {low:g} to {high:g}{unit}")
        return low

    def point(self, value: object, key: str) -> Point | None:
        """Two lengths in a list."""
        if not isinstance(value, list) or len(value) != 2:
            self.fault(key, f"{_short(value)} is not a point", "write [x, y]")
            return None
        x, y = (self.as_mm(one, key) for one in value)
        return None if x is None or y is None else (x, y)

    def tables(self, key: str, kind: Literal["one", "several"]) -> list["Entry"]:
        """The tables under a key: [key] or [[key]]."""
        value = self.get(key, needed=True)
        if value is NOTHING:
            return []
        given = [value] if kind == "one" else value
        if not isinstance(given, list) or not all(isinstance(one, dict) for one in given):
            heading = f"[{key}]" if kind == "one" else f"[[{key}]]"
            self.fault(key, f"'{key}' is not a table", f"write it under a heading {heading}")
            return []
        return [
            Entry(one, _place(key, one, number, kind), self.notes, path=key if kind == "one" else f"{key}[{number}]")
            for number, one in enumerate(given, 1)
        ]

    def unknown_keys(self) -> None:
        """Note every key that nobody asked for, with the nearest one that is understood."""
        for key in self.values:
            if key not in self.asked:
                near = difflib.get_close_matches(key, sorted(self.asked), n=1)
                mend = f"write '{near[0]}'" if near else f"understood here: {', '.join(sorted(self.asked))}"
                self.fault(key, f"'{_short(key)}' is not understood", mend)


def _place(key: str, values: dict[str, object], number: int, kind: str) -> str:
    if kind == "one":
        return f"[{key}]"
    name = values.get("name")
    return f"[[{key}]] {number}" + (f" ({_short(name)})" if isinstance(name, str) else "")


def _short(value: object) -> str:
    """A value as a message shows it."""
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= 40 else text[:40] + "..."
