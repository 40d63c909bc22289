"""What the woods of a job do to people, in words, from the published chart."""

from purfle.model.job import JobResult
from purfle.sheets.parts import wood_name
from purfle.wood import find, hazards_of
from purfle.wood.cautions import reactions_of


def woods_of(result: JobResult) -> list[str]:
    """Every wood of the job once, the board's first, by the maker's own names."""
    woods = [result.layout.board.wood, *(p.wood for i in result.layout.inlays for p in i.fit.inserts)]
    by_species = {find(wood).id: wood_name(result, wood) for wood in reversed(woods)}
    return list(dict.fromkeys(by_species[find(wood).id] for wood in woods))


def dust_words(wood: str) -> str:
    """'white oak dust sensitises', or nothing where the chart has no line."""
    words = [reactions_of(hazard)[0] for hazard in hazards_of(wood) if reactions_of(hazard)]
    return f"{wood} dust {words[0].partition(' (')[0]}" if words else ""
