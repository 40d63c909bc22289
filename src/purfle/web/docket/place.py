"""Sentence 2: where the design stands, measured to its middle from both datum edges."""

from purfle.units import figure, number
from purfle.web.docket.wording import (
    Part,
    Path,
    Seen,
    Sentence,
    action,
    length_field,
    number_field,
    path_of_artwork,
    row,
    text,
)

BRING = action("Bring another picture or drawing", "bring")


def sentence(seen: Seen) -> Sentence:
    """The middle of the design from edge B and from edge A."""
    count = len(seen.job.artworks)
    boxes = [one["box"] for one in seen.pieces if one["kind"] in ("picture", "plug", "area")]
    if count > 1:
        return Sentence("place", [text(f"{count} artworks, each where the job file says.")])
    if not boxes:
        return Sentence("place", [text("The design is being read. "), BRING], waits=True)
    path = path_of_artwork(seen)
    left, low = min(one[0] for one in boxes), min(one[1] for one in boxes)
    right, high = max(one[2] for one in boxes), max(one[3] for one in boxes)
    parts = [
        text("The design stands "),
        _middle(path, "x", "from the left edge B to its middle", (left + right) / 2, seen),
    ]
    parts += [
        text(" from the left, "),
        _middle(path, "y", "from the front edge A to its middle", (low + high) / 2, seen),
    ]
    parts += [text(" from the front, to its middle. "), BRING, text(".")]
    turned = number_field([*path, "angle"], "turned by, counter-clockwise", seen.job.artworks[0].angle, "°")
    size = f"{number(right - left, seen.job.unit)} × {figure(high - low, seen.job.unit)}"
    return Sentence("place", parts, [row("Turned", turned), row("Takes up", text(size))])


def _middle(path: Path, axis: str, label: str, mm: float, seen: Seen) -> Part:
    """A place of the middle, which is written into whichever keys of the job file say it."""
    made = length_field([*path, f"middle_{axis}"], label, mm, seen)
    return {"field": {**made["field"], "place": axis, "of": list(path)}}
