"""The docket: the job in plain, numbered sentences, whose figures are the fields of the job file.

Each module gives one sentence. To add one, write a module with `sentence(seen)` and name it in `SENTENCES`.
"""

from typing import Any

from purfle.model.findings import Finding
from purfle.web.docket import board, cutting, detail, hardware, harm, place, rack, seam, season
from purfle.web.docket.wording import Seen, Sentence, mark_of

SENTENCES = (board, place, hardware, rack, cutting, detail, seam, season, harm)
"""The sentences in their order; they are numbered as they stand here."""
STAGES = {
    "artwork": 5,
    "fit": 5,
    "board": 2,
    "keys": 2,
    "offcuts": 3,
    "cutting": 4,
    "season": 7,
    "carrying": 7,
    "proof": 6,
}
"""In which sentence a stage's findings are told, by its place in `SENTENCES`."""
ELSEWHERE = 5
GRAVEST = ("stop", "look", "note")
"""The order in which findings are told beneath a sentence."""


def docket_of(seen: Seen) -> dict[str, Any]:
    """The docket of a job as far as it is known: title, sentences with their findings, and the worst mark."""
    told: dict[int, list[tuple[int, Finding]]] = {}
    for number, finding in enumerate(seen.findings):
        told.setdefault(STAGES.get(finding.stage, ELSEWHERE), []).append((number, finding))
    sentences = []
    for place_in, module in enumerate(SENTENCES):
        one: Sentence = module.sentence(seen)
        findings = sorted(told.get(place_in, []), key=lambda one: GRAVEST.index(one[1].severity))
        mark = mark_of([finding for _, finding in findings])
        mark = "wait" if one.waits and mark == "ready" else mark
        sentences.append(one.document(place_in + 1, mark, [number for number, _ in findings]))
    return {"title": seen.job.name, "sentences": sentences, "foot": season.foot(seen)}
