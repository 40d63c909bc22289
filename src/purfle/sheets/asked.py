"""How much smaller an inlay comes out than it was asked for, where the cutter rounds its tips."""

from purfle.model.board import Inlay
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets.features import finished_size
from purfle.sheets.lettering import Run, bold, capital
from purfle.sheets.style import Style
from purfle.tolerances import AS_ASKED


def smaller_words(result: JobResult, inlay: Inlay, style: Style) -> list[Run]:
    """'118 high was asked for: it comes out 0.2 smaller, since the cutter rounds its tips. '; nothing if as asked.

    Height alone is asked for of a picture, and it is told where the picture is not turned; of a key both its sides.
    """
    long, short = finished_size(inlay)
    told: list[Run] = []
    for asked, is_now, words in _asked(result, inlay, (long, short)):
        if asked - is_now > AS_ASKED:
            is_seen = style.length(asked) != style.length(is_now)
            figure = style.length(asked) if is_seen else style.true(asked)
            told += [f"{figure} {words} was asked for: it comes out ", bold(style.true(asked - is_now))]
            told.append(" smaller, since the cutter rounds its tips. ")
    return told


def _asked(result: JobResult, inlay: Inlay, size: tuple[float, float]) -> list[tuple[float, float, str]]:
    """What was asked for, what it is, and in which direction."""
    picture = result.job.picture
    orders = [one for one in result.layout.inlays if one.into and one.fit.walls is not None]
    is_whole = not inlay.into and not orders
    if inlay.kind == "picture" and is_whole and picture and picture.angle % 180.0 == 0.0:
        return [(picture.height, size[1], "high")]
    for key in result.job.keys:
        if inlay.kind == "key" and key.name == inlay.name:
            asked = sorted((key.length, max(key.end_width, key.waist_width)), reverse=True)
            return [(asked[0], size[0], "long"), (asked[1], size[1], "wide")]
    return []


def all_smaller_words(result: JobResult, face: Face, style: Style) -> list[Run]:
    """The same of every inlay of a face, each by its name."""
    runs: list[Run] = []
    for inlay in (i for i in result.layout.inlays if i.face == face):
        smaller = smaller_words(result, inlay, style)
        runs += [f"{capital(inlay.name)}: ", *smaller] if smaller else []
    return runs
