"""Reading a table that a person typed: forgiving in notation, strict in meaning, every fault kept with its line."""

import difflib
import math
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from purfle.errors import Fault, LengthError
from purfle.toml_lines import lines_of
from purfle.units import LengthUnit, show, signed_length

Word = TypeVar("Word", bound=str)
Default = TypeVar("Default")

NEAR_ENOUGH = 0.55
"""Likeness (0 to 1) from which a known key is suggested for an unknown one; below it all known keys are listed."""
LONGEST_FILE = 1_000_000
"""No maker types a longer file than this many bytes."""
LONGEST_WORDS = 120
"""No name takes more signs than this."""


Limits = tuple[float, float]
MORE_THAN_NOTHING: Limits = (0.001, math.inf)
"""Least and largest length (mm) where nothing else is said: no length of a job is finer than a micrometre."""


class Missing:
    """Stands for a value that has no default: the key has to be there."""


REQUIRED = Missing()


@dataclass
class Source:
    """The file being read: its name for messages, its text for line numbers, the faults found so far."""

    name: str
    text: str
    faults: list[Fault] = field(default_factory=list)
    unit: LengthUnit | None = None

    def fault(self, what: str, path: str, mend: str) -> None:
        """Keep one fault; `path` is the dotted key, whose line is looked up."""
        line = self.line_of(path)
        place = f"{self.name}, line {line}, {path}" if line else f"{self.name}, {path}" if path else self.name
        self.faults.append(Fault(what, place, mend))

    def line_of(self, path: str) -> int | None:
        """The line (from 1) on which a dotted key or table stands; of its table, if the key itself is not there."""
        lines = lines_of(self.text)
        return lines.get(path) or lines.get(path.rpartition(".")[0])


@dataclass
class Table:
    """One table of the file. Each question notes its key, so that `close` can tell what nobody asked for."""

    source: Source
    path: str
    values: dict[str, Any]
    asked: list[str] = field(default_factory=list)

    def has(self, key: str) -> bool:
        """The key is there."""
        self.asked.append(key)
        return key in self.values

    def fault(self, what: str, key: str, mend: str) -> None:
        """Keep a fault of one key of this table."""
        self.source.fault(what, self._path(key), mend)

    def text(self, key: str, default: str | Missing = REQUIRED) -> str:
        """A few words on one line, not empty."""
        value = self._value(key, default)
        if not isinstance(value, str):
            self._wrong_type(key, value, "words in quotes")
            return ""
        words = " ".join(value.split())
        printable = all(sign.isprintable() for sign in words)
        if self.has(key) and (not words or not printable or len(words) > LONGEST_WORDS):
            self.fault(
                f"{key} has to be 1 to {LONGEST_WORDS} printable signs", key, f'Write, for instance, {key} = "..."'
            )
        return words

    def choice(self, key: str, words: tuple[Word, ...], default: Word | Missing = REQUIRED) -> Word:
        """One of the known words; the nearest one is suggested for another."""
        value = self._value(key, default, " or ".join(f'"{word}"' for word in words))
        known = {word.casefold(): word for word in words}
        if isinstance(value, str) and value.strip().casefold() in known:
            return known[value.strip().casefold()]
        if value is not REQUIRED:
            near = nearest(words, value)
            others = f" (known are {', '.join(words)})" if near in words and len(words) > 1 else ""
            self.fault(f"{key} cannot be {_said(value)}", key, f"Use {near}{others}.")
        return words[0]

    def yes(self, key: str, default: bool) -> bool:
        """True or false."""
        value = self._value(key, default)
        if not isinstance(value, bool):
            self._wrong_type(key, value, "true or false")
            return default
        return value

    def length(self, key: str, default: float | Missing = REQUIRED, limits: Limits = MORE_THAN_NOTHING) -> float:
        """A length in mm, within the limits (mm) given."""
        value = self._value(key, default)
        if isinstance(value, Missing):
            return limits[0]
        if not self.has(key):
            return float(value)
        found = self.as_length(value, key)
        if found is not None and not limits[0] <= found <= limits[1]:
            unit: LengthUnit = "mm" if self.source.unit in (None, "mm") else "inch-decimal"
            wanted = " to ".join(show(limit, unit) for limit in limits if math.isfinite(limit))
            if limits[0] == MORE_THAN_NOTHING[0]:
                most = f", {show(limits[1], unit)} at most" if math.isfinite(limits[1]) else ""
                wanted = f"a length of more than nothing{most}"
            self.fault(f"{key} cannot be {_said(value)}", key, f"Use {wanted}.")
        return limits[0] if found is None else found

    def as_length(self, value: object, key: str) -> float | None:
        """A value of this table as a signed length in mm; None, and a fault, if it is none."""
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not number and not isinstance(value, str):
            self._wrong_type(key, value, f'a length in quotes, such as {key} = "89 mm" or {key} = "3 1/2 in"')
            return None
        try:
            return signed_length(str(value), self.source.unit, key)
        except LengthError as refusal:
            self.fault(refusal.what, key, refusal.mend)
            return None

    def number(self, key: str, default: float, least: float, most: float) -> float:
        """A plain number within limits: an angle in degrees, a share, a count."""
        value = self._value(key, default)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._wrong_type(key, value, f"a number, such as {key} = {default:g}")
            return default
        if not least <= value <= most:
            self.fault(f"{key} cannot be {_said(value)}", key, f"Use {least:g} to {most:g}.")
            return default
        return float(value)

    def table(self, key: str, required: bool = False) -> "Table":
        """A table below this one; empty if it is not there."""
        value = self._value(key, REQUIRED if required else {})
        if not isinstance(value, dict):
            self._wrong_type(key, value, f"a table that starts with [{self._path(key)}]")
            value = {}
        return Table(self.source, self._path(key), value)

    def tables(self, key: str) -> list["Table"]:
        """The repeated tables `[[key]]`, in their order."""
        value = self._value(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            self._wrong_type(key, value, f"a repeated table: each one starts with [[{self._path(key)}]]")
            return []
        return [Table(self.source, f"{self._path(key)}[{i + 1}]", entry) for i, entry in enumerate(value)]

    def keys(self) -> list[str]:
        """Every key that is there, for a table whose keys are the maker's own words."""
        self.asked += self.values
        return list(self.values)

    def close(self) -> None:
        """Refuse every key that nobody asked for, and suggest the nearest known one."""
        for key in self.values:
            if key not in self.asked:
                known = tuple(dict.fromkeys(self.asked))
                self.fault(f"{key} is not known here", key, f"Use {nearest(known, key)}, or take it out.")

    def _path(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def _value(self, key: str, default: Any, sample: str = "...") -> Any:
        if self.has(key):
            return self.values[key]
        if isinstance(default, Missing):
            where = f" in [{self.path}]" if self.path else ""
            mend = f"Add a line {key} = {sample}" if self.path else f"Add [{key}]."
            self.fault(f"{key} is missing{where}", key, mend)
        return default

    def _wrong_type(self, key: str, value: object, wanted: str) -> None:
        if not isinstance(value, Missing):
            self.fault(f"{key} cannot be {_said(value)}", key, f"Write {wanted}.")


def read_toml(data: bytes, name: str) -> Table:
    """The whole file as its top table; faults of notation are already in its source.

    Never raises: a file that is no TOML gives an empty table and one fault.
    """
    source = Source(name, "")
    if len(data) > LONGEST_FILE:
        source.fault(
            f"{name} is larger than {LONGEST_FILE // 1000} kB", "", "A job file is a page of text: check the file."
        )
        return Table(source, "", {})
    try:
        source.text = data.decode("utf-8-sig").replace("\r\n", "\n")
        return Table(source, "", tomllib.loads(source.text))
    except UnicodeDecodeError as refusal:
        line = data[: refusal.start].count(b"\n") + 1
        source.faults.append(Fault(f"{name} is not UTF-8 text", f"{name}, line {line}", "Save it as UTF-8."))
    except tomllib.TOMLDecodeError as refusal:
        what, _, place = str(refusal).rpartition(" (at ")
        where = f"{name}, {place.rstrip(')')}" if what else name
        mend = 'Words stand in quotes, one key = "value" a line; [table] starts a table.'
        if what == "Cannot overwrite a value" and (key := _key_on(source.text, place)):
            what, mend = f"{key} stands twice in its table", f"Take one of the lines of {key} out."
            source.faults.append(Fault(what, where, mend))
            return Table(source, "", {})
        if comma := _decimal_comma(source.text, place):
            mend = f'A number with a comma stands in quotes, such as "{comma} mm"; or write {comma.replace(",", ".")}.'
        source.faults.append(Fault(f"{name} is not TOML: {_lowered(what or str(refusal))}", where, mend))
    except RecursionError:
        source.faults.append(
            Fault(f"{name} nests tables or lists too deep", name, "Write it flat, as in the examples.")
        )
    return Table(source, "", {})


def _decimal_comma(text: str, place: str) -> str:
    """A number with a comma that stands without quotes on the line named in a place; empty if there is none."""
    found = re.search(r"=\s*(-?\d+,\d+)", _line_at(text, place))
    return found[1] if found else ""


def _key_on(text: str, place: str) -> str:
    """The key that the line named in a place gives a value to; empty if there is none."""
    found = re.match(r"\s*([^=#]+?)\s*=", _line_at(text, place))
    return found[1] if found else ""


def _line_at(text: str, place: str) -> str:
    line = re.match(r"line (\d+)", place)
    lines = text.split("\n")
    return lines[int(line[1]) - 1] if line and int(line[1]) <= len(lines) else ""


def _said(value: object) -> str:
    """A value as the message shows it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return "a repeated table"
    shown = f'"{value}"' if isinstance(value, str) else str(value)
    return shown if len(shown) <= 60 else shown[:57] + "..."


def nearest(words: Sequence[str], value: object) -> str:
    """The known words, the nearest one to what was written alone if it is near."""
    near = difflib.get_close_matches(str(value).casefold(), words, n=1, cutoff=NEAR_ENOUGH)
    return near[0] if near else " or ".join([", ".join(words[:-1]), *words[-1:]] if len(words) > 1 else words)


def _lowered(words: str) -> str:
    return words[:1].lower() + words[1:]
