"""Patterns at true size put on few pages: each into the highest place that is still free, recesses before parts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from purfle.sheets.pattern_outlines import Pattern
from purfle.sheets.rooms import Place

BETWEEN = 6.0
"""Paper between two patterns beside each other; below each one its own height has some."""

Free = tuple[float, float, float, float]
"""A free place of a page: left, top, right and lower side."""


@dataclass
class PatternPage:
    """A page being filled. `free`: the largest places that are free, which overlap each other."""

    free: list[Free]
    placed: list[tuple[Pattern, Place]] = field(default_factory=list)
    used: float = 0.0

    def put(self, pattern: Pattern) -> bool:
        """Puts a pattern into the highest free place, and there as far left as it can be; False if none has room."""
        fitting = [
            (top, left)
            for left, top, right, low in self.free
            if left + pattern.wide <= right and top + pattern.high <= low
        ]
        if not fitting:
            return False
        top, left = min(fitting)
        self.placed.append((pattern, (left, top)))
        self.used = max(self.used, top + pattern.high)
        self._take((left, top, left + pattern.wide + BETWEEN, top + pattern.high))
        return True

    def _take(self, taken: Free) -> None:
        """Cuts a place out of those that are free, and drops those that lie inside others."""
        left, top, right, low = taken
        cut: list[Free] = []
        for place in self.free:
            x0, y0, x1, y1 = place
            if right <= x0 or x1 <= left or low <= y0 or y1 <= top:
                cut.append(place)
                continue
            cut += [(x0, y0, left, y1)] if left > x0 else []
            cut += [(right, y0, x1, y1)] if right < x1 else []
            cut += [(x0, y0, x1, top)] if top > y0 else []
            cut += [(x0, low, x1, y1)] if low < y1 else []
        free = list(dict.fromkeys(cut))
        self.free = [one for one in free if not any(other != one and _inside(one, other) for other in free)]


def _inside(one: Free, other: Free) -> bool:
    return other[0] <= one[0] and other[1] <= one[1] and one[2] <= other[2] and one[3] <= other[3]


def packed(patterns: Sequence[Pattern], room: Place) -> list[PatternPage]:
    """The patterns on few pages of a size: of several orders the one that takes least paper."""
    orders: tuple[Callable[[Pattern], float], ...] = (
        lambda p: -p.high,
        lambda p: -p.wide,
        lambda p: -p.wide * p.high,
    )
    filled = [_filled(patterns, order, room) for order in orders]
    return min(filled, key=lambda made: (len(made), made[-1].used if made else 0.0))


def _filled(patterns: Sequence[Pattern], order: Callable[[Pattern], float], room: Place) -> list[PatternPage]:
    """Pages filled in an order, recesses first, each pattern on the first page with room for it."""
    pages: list[PatternPage] = []
    for pattern in sorted(patterns, key=lambda p: (bool(p.label), order(p))):
        if not any(page.put(pattern) for page in pages):
            pages.append(PatternPage([(0.0, 0.0, room[0], room[1])]))
            is_put = pages[-1].put(pattern)
            assert is_put, "only patterns that go on a page are packed"
    return pages
