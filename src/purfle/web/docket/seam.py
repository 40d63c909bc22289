"""Sentence 7: the seam, and how surely the parts go together."""

from purfle.model.pieces import SeamFigures
from purfle.units import figure, number, out_of_100
from purfle.web.docket.wording import Seen, Sentence, length_field, text


def sentence(seen: Seen) -> Sentence:
    """The seam asked for; how often parts go in by hand, and its widest place."""
    job = seen.job
    asked = length_field(["fit", "seam"], "seam", job.fit.seam, seen, "seam")
    if seen.layout is None:
        return Sentence("seam", [text("Seam "), asked, text(".")], waits=True)
    fits = [inlay.fit.seam for inlay in seen.layout.inlays if inlay.kind == "picture"]
    parts = [text("Seam "), asked, text(_drawn(fits, seen))]
    if seen.result is not None and seen.result.chances:
        sure = min(one.by_hand for one in seen.result.chances)
        parts.append(text(f" Goes in by hand in {out_of_100(sure)} cases."))
    return Sentence("seam", parts)


def _drawn(seams: list[SeamFigures], seen: Seen) -> str:
    """The narrowest and widest as drawn."""
    if not seams:
        return "."
    least, most = min(one.narrowest for one in seams), max(one.widest for one in seams)
    return f": drawn {number(least, seen.job.unit, 'seam')} to {figure(most, seen.job.unit, 'seam')}."
