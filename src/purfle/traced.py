"""The areas of one picture or drawing of a job: as read, as the job edits them, and drawn over their picture."""

from collections.abc import Iterable
from dataclasses import replace

from purfle import artwork
from purfle.files import folder
from purfle.hard_stop import HardStop
from purfle.model.artwork import Areas, Picture, TraceRule
from purfle.model.findings import Finding
from purfle.model.job import Job, PictureRule
from purfle.units import LengthUnit, retold
from purfle.wood import one_of

SMALLEST_AREA = 0.5
"""Areas of the picture below this many mm2 at finished size are merged: smaller than any cutter makes."""


def areas_as_read(rule: PictureRule, stop: HardStop | None = None) -> Areas:
    """The areas of a picture, or of a drawing stacked as the job says, before all other edits.

    A drawing is read in the time that `stop` leaves.
    """
    if not artwork.is_drawing(rule.file.name):
        return _areas_of_picture(rule)
    from purfle.files.drawing_file import read_drawing

    data = folder.read_file(rule.file)
    with stop or HardStop():
        drawing = read_drawing(data, rule.file.name, rule.drawing_unit, rule.file.parent, rule.height or None)
        return artwork.areas_of_drawing(artwork.restack(drawing, rule.edits.on_top, rule.height))


def edited(rule: PictureRule, areas: Areas) -> Areas:
    """The areas under the names of the job, edited as it says."""
    height = scale_of(rule, areas) * artwork.design_size(areas)[1]
    return artwork.edit_areas(areas, height, rule.edits, rule.names)


def areas_of(job: Job) -> Areas:
    """The areas of the job's one picture or drawing, edited as it says."""
    assert job.picture is not None, "a job of several artworks is composed"
    return edited(job.picture, areas_as_read(job.picture))


def woods_of_layers(rule: PictureRule, areas: Areas, rack: Iterable[str]) -> dict[str, str]:
    """The woods of a rack (ids) that the layers of a DXF are called after, by layer."""
    if rule.file.suffix.lower() != ".dxf":
        return {}
    layers = sorted({area.name for area in areas.areas if area.number not in areas.ground and area.name})
    meant = {layer: one_of(layer, rack) for layer in layers}
    return {layer: wood for layer, wood in meant.items() if wood}


def scale_of(rule: PictureRule, areas: Areas) -> float:
    """Mm in one unit of the areas: as the job's height says, else as the photographed sheet does."""
    if rule.height or areas.mm_per_unit is None:
        return rule.height / artwork.design_size(areas)[1]
    return areas.mm_per_unit


def seen_in(rule: PictureRule) -> tuple[Picture, float | None, tuple[Finding, ...]]:
    """The picture, straightened if it is a photograph of a sheet: then its px in a mm, and what was noticed."""
    from purfle.files import picture

    seen = picture.read_picture(rule.file)
    if rule.photograph is None:
        return seen, None, ()
    from purfle.artwork.photograph import rectified

    flat = rectified(seen, rule.photograph)
    return flat.picture, flat.px_per_mm, flat.findings


def _areas_of_picture(rule: PictureRule) -> Areas:
    """The areas of a picture, or of the sheet that a photograph shows, which may say its size."""
    seen, px_per_mm, findings = seen_in(rule)
    fine = seen.pixels.shape[0] / rule.height if rule.height else px_per_mm or 0.0
    smallest = max(8.0, SMALLEST_AREA * fine**2)
    # the maker counts the woods that are let in; to a picture the bare board is one colour more
    colours = None if rule.number_of_woods is None else rule.number_of_woods + 1
    areas = artwork.areas_of_picture(seen, TraceRule(colours, rule.ground_colour, smallest, rule.ground_at))
    scale = None if px_per_mm is None else 1.0 / px_per_mm
    return replace(areas, doubts=(*findings, *areas.doubts), mm_per_unit=scale)


def doubts_drawn(file: str, rule: PictureRule, areas: Areas, unit: LengthUnit = "mm") -> dict[str, bytes]:
    """The areas as traced over their picture, what is doubtful at the finished size marked, by file name.

    Sentences are told in the maker's unit.
    """
    from purfle.artwork.doubt_drawing import doubts_svg
    from purfle.artwork.doubt_places import doubt_report

    seen, _, _ = seen_in(rule)
    report = doubt_report(seen, areas, scale_of(rule, areas))
    told = tuple((kind, retold(text, unit)) for kind, text in report.sentences)
    return {file: doubts_svg(seen, areas, replace(report, sentences=told))}
