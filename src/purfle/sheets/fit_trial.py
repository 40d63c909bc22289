"""Sheet 7 of a fit trial: which plug goes into which recess, how wide its seam is, and what to write down."""

from typing import Any

from purfle.model.job import JobResult
from purfle.model.proof import Proof
from purfle.sheets.assembly_drawing import draw_pieces
from purfle.sheets.insert_section import draw_insert
from purfle.sheets.lettering import Run, Text, bold, plural, table
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.trade import typical
from purfle.sheets.view import scale_words
from purfle.shop import cutter_named
from purfle.shop.trial import asks_for_change
from purfle.wood import practice

SECTION, BETWEEN, DRAWING = 78.0, 4.0, 60.0


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none if the job is no fit trial."""
    if result.job.trial is None:
        return []
    inlays = result.layout.inlays
    drawn, scale = draw_pieces(result, "show", (style.across - SECTION - BETWEEN, DRAWING))
    chamfer = typical(practice("fit", "chamfer on lower edge of insert"))
    section = draw_insert(inlays[len(inlays) // 2], style, SECTION, (style.depth(chamfer), ""))
    cutter = cutter_named(result.shop, result.job.fit.cutter)
    return [
        {
            "title": "Fit trial",
            "sub": f"{plural(len(inlays), 'plug')}, {cutter.name}, taken as {style.width(cutter.width)} {style.word}",
            "lead": "Press each plug dry into the recess of its number, by hand alone: no hammer, no glue. "
            f"Begin with the widest seam, number {len(inlays)}.",
            "drawing": drawn.data(),
            "caption": f"The show face, {scale_words(scale)}",
            "section": section.data(),
            "section_words": "chamfer the lower edges, all alike; not to scale",
            "inlays": [inlay.name for inlay in inlays],
            "table": trial_table(result, style),
            "facts": _facts(result, style),
        }
    ]


def trial_table(result: JobResult, style: Style) -> dict[str, Any]:
    """Each plug: seam, sizes as drawn, what was read back, and room to write; `with_proof` fills in what was read."""
    assert result.job.trial is not None
    head: list[Text] = ["plug", "seam", "read back", "plug drawn", "recess drawn", "in by hand", "plug is", "recess is"]
    rows: list[list[Any]] = []
    for number, seam in enumerate(result.job.trial.seams, 1):
        sizes = [style.true(result.job.trial.size - seam), style.true(result.job.trial.size + seam)]
        rows.append([[bold(str(number))], [bold(style.seam(seam))], NONE, *sizes])
    return table((13, 17, 32, 24, 26, 22, 0, 0), "lrrrrcrr", head, rows)


def with_proof(page: dict[str, Any], proof: Proof | None, style: Style) -> dict[str, Any]:
    """The page with the seam of each plug as it was read back from all kinds of files."""
    rows = []
    for name, row in zip(page["inlays"], page["table"]["rows"], strict=True):
        back = [seam for seam in proof.seams if seam.inlay == name] if proof else []
        if back:
            low, high = min(seam.narrowest for seam in back), max(seam.widest for seam in back)
            row = [*row[:2], f"{style.seam(low)} to {style.seam(high)}", *row[3:]]
        rows.append(row)
    return page | {"table": page["table"] | {"rows": rows}}


def _facts(result: JobResult, style: Style) -> list[list[Text]]:
    cutter = cutter_named(result.shop, result.job.fit.cutter)
    change = (
        f" -\N{WORD JOINER}-\N{WORD JOINER}change {result.job.change}" if asks_for_change(cutter.width, cutter) else ""
    )
    hand: list[Run] = [
        "The narrowest seam that goes in by hand counts. Say it: ",
        bold("purfle fit-trial FOLDER -\N{WORD JOINER}-\N{WORD JOINER}went-in 4" + change),
    ]
    measured = '--plug "4 = 19.94 mm" --recess "4 = 20.06 mm"'
    if style.unit != "mm":
        measured = '--plug "4 = 0.746 in" --recess "4 = 0.754 in"'
    size: list[Run] = ["Calipers between the straight sides, both ways, the mean of both. As many as you like: "]
    size += [bold(measured), ". A plug and a recess together are surest: what the calipers err by falls out."]
    then = "The width of groove goes into shop.toml with its date and its error; every job after it is drawn for it."
    again = "A cutter that is sharpened, worn or new wants a trial of its own; so does another machine."
    return [["by hand", [*hand, "."]], ["sizes", size], ["then", then], ["again", again]]
