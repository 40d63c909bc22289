"""Sentence 1: the board, and what is let into it."""

from purfle.model.job import PictureRule
from purfle.web.docket.wording import (
    Part,
    Seen,
    Sentence,
    capital,
    counted,
    length_field,
    named,
    number_field,
    row,
    text,
    without_unit,
    words_field,
)


def sentence(seen: Seen) -> Sentence:
    """Wood and size of the board; how many woods and pieces; how high the design is."""
    board = seen.job.board
    long = length_field(["board", "length"], "length of the board, along edge A", board.length, seen)
    wide = length_field(["board", "width"], "width of the board, along edge B", board.width, seen)
    thick = length_field(["board", "thickness"], "thickness of the board", board.thickness, seen)
    parts = [words_field(["board", "wood"], "wood of the board", capital(board.wood)), text(", ")]
    parts += [without_unit(long, seen), text(" × "), without_unit(wide, seen), text(" × "), thick, text(". ")]
    return Sentence("woods", [*parts, *_let_in(seen)], _more(seen))


def _let_in(seen: Seen) -> list[Part]:
    """Woods, pieces and height of what is let in."""
    inserts = [one for one in seen.pieces if one["kind"] != "key"]
    woods = {one["wood"] for one in inserts}
    told = [text(f"{capital(counted(len(woods), 'wood'))}, {counted(len(inserts), 'piece')}")] if inserts else []
    alone = seen.job.artworks[0] if len(seen.job.artworks) == 1 else None
    if isinstance(alone, PictureRule) and alone.height:
        high = length_field(["picture", "height"], "height of the design", alone.height, seen)
        return [*told, text(", " if told else "The design is "), high, text(" high.")]
    return [*told, text(".")] if told else []


def _more(seen: Seen) -> list[Part]:
    """Each wood with its pieces; the fibres of the board, the least wood left."""
    found: list[Part] = []
    inserts = [one for one in seen.pieces if one["kind"] != "key"]
    for wood in dict.fromkeys(one["wood"] for one in inserts):
        names = [f"{one['number']} {one['name']}".strip() for one in inserts if one["wood"] == wood]
        found.append(row(capital(named(seen, wood)), text(", ".join(names))))
    fibres = number_field(["board", "grain"], "direction of the fibres", seen.job.board.grain, "°")
    found.append(row("Fibres", fibres, text(" from edge A")))
    least = length_field(["board", "least_left"], "least wood left under a recess", seen.job.least_left, seen)
    return [*found, row("Wood left", text("at least "), least, text(" under every recess"))]
