"""Sentence 6: what of the drawing the cutter cannot make, and what is left to the chisel."""

from purfle.web.docket.wording import Seen, Sentence, capital, choice_field, counted, text

CORNERS = ("round", "chisel")


def sentence(seen: Seen) -> Sentence:
    """Lost details, corners for the chisel, and whether corners are left round."""
    corners = choice_field(["fit", "corners"], "corners of the recess", seen.job.fit.corners, CORNERS)
    if seen.layout is None:
        return Sentence("detail", [text("Corners of the recess: "), corners, text(".")], waits=True)
    lost = [one for inlay in seen.layout.inlays for one in inlay.fit.pieces.lost]
    words = f"{capital(counted(len(lost), 'detail'))} too fine" if lost else "Nothing is too fine"
    words += " for the cutter. "
    chiselled = sum(len(inlay.fit.pieces.chiselled) for inlay in seen.layout.inlays)
    tail = f": {counted(chiselled, 'corner')} for the chisel." if chiselled else "."
    return Sentence("detail", [text(words + "Corners "), corners, text(tail)])
