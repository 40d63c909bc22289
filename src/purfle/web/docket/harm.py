"""Sentence 9: which woods harm, and what to put on."""

from purfle.web.docket.wording import Seen, Sentence, capital, listed, named, row, text
from purfle.wood import find as find_wood
from purfle.wood.cautions import REACTIONS, Hazard, hazards_of


def sentence(seen: Seen) -> Sentence:
    """The woods of this job that are known to harm more than others do."""
    woods = list(dict.fromkeys([*(one["wood"] for one in seen.pieces), find_wood(seen.job.board.wood).id]))
    found = {wood: hazards_of(wood) for wood in woods}
    known = [wood for wood in woods if found[wood]]
    names = [named(seen, wood) for wood in known]
    words = f"{capital(listed(names))} dust harms: mask on." if names else "All wood dust harms: mask on."
    more = [row(capital(named(seen, wood)), text(_reactions(found[wood]))) for wood in known]
    return Sentence("harm", [text(words)], more)


def _reactions(hazards: tuple[Hazard, ...]) -> str:
    return "; ".join(dict.fromkeys(REACTIONS.get(one.reaction, one.reaction) for one in hazards))
