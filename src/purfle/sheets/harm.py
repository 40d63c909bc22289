"""What the woods of a job do to people, in words, from the published chart."""

from purfle.model.job import JobResult
from purfle.sheets.lettering import listed
from purfle.sheets.parts import wood_name
from purfle.wood import Hazard, find, hazards_of
from purfle.wood.cautions import REACTIONS, SITES


def woods_of(result: JobResult) -> list[str]:
    """Every wood of the job once, the board's first, by the maker's own names."""
    woods = [result.layout.board.wood, *(p.wood for i in result.layout.inlays for p in i.fit.inserts)]
    by_species = {find(wood).id: wood_name(result, wood) for wood in reversed(woods)}
    return list(dict.fromkeys(by_species[find(wood).id] for wood in woods))


def reaction_words(hazard: Hazard) -> str:
    """'irritates, sensitises': the chart's letters in words; a reading with a question mark says 'suspected'."""
    return ", ".join(_reactions(hazard))


def _reactions(hazard: Hazard) -> list[str]:
    """Each reaction in words; what the chart says of it in brackets stands behind it."""
    plain, _, rest = hazard.reaction.partition("(")
    words = [REACTIONS[letter] for letter in _letters(plain, REACTIONS)]
    if not words and plain.strip() in SITES:
        words = [f"affects {SITES[plain.strip()]}"]
    inside = rest.rstrip(")")
    if inside.endswith("?") and inside[:-1] in REACTIONS:
        words.append(f"suspected: {REACTIONS[inside[:-1]]}")
    elif inside:
        words[-1:] = [f"{words[-1]} ({inside})" if words else inside]
    return words


def site_words(hazard: Hazard) -> str:
    """'eyes and skin': the chart's letters in words."""
    return listed(list(dict.fromkeys(SITES[letter] for letter in _letters(hazard.site, SITES))))


def dust_words(wood: str) -> str:
    """'white oak dust sensitises', or nothing where the chart has no line."""
    words = [reaction for hazard in hazards_of(wood) for reaction in _reactions(hazard)[:1]]
    return f"{wood} dust {words[0].partition(' (')[0]}" if words else ""


def _letters(text: str, known: dict[str, str]) -> list[str]:
    """The known letters of a text, two together where the chart writes them so."""
    found, rest = [], text.replace(";", "").replace(" ", "")
    while rest:
        letter = next((k for k in sorted(known, key=len, reverse=True) if rest.startswith(k)), "")
        found += [letter] if letter else []
        rest = rest[len(letter) or 1 :]
    return found
