"""Figures of the bench as ranges, with where they come from."""

from purfle.model.reckoning import Range
from purfle.wood import Practice, practice, publication


def range_of(figure: Practice) -> Range:
    """Low, typical and high; what is not given is as the typical one."""
    given = figure.typical if isinstance(figure.typical, float) else figure.high or figure.low or 0.0
    return Range(given if figure.low is None else figure.low, given, given if figure.high is None else figure.high)


def figure_of(item: str) -> Range:
    """A figure of the bench by its name, or the beginning of it."""
    return range_of(practice("bench", item))


def source_of(item: str) -> str:
    """Where a figure of the bench comes from."""
    return words_of(practice("bench", item))


def words_of(figure: Practice) -> str:
    """Where a figure comes from, as a sheet says it."""
    return "from memory" if figure.source == "MEM" else publication(figure.source)
