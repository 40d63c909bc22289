"""`purfle areas` and `purfle pieces`: shapes alone, for a look or for another program."""

import sys
from argparse import Namespace
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from purfle.cli.telling import Progress, count, stopped, tell_findings
from purfle.errors import Fault, JobFileError, LengthError, PictureError
from purfle.files.geojson import geojson_bytes
from purfle.files.job_folder import read_job_folder
from purfle.files.job_photograph import SHEETS
from purfle.files.job_toml import DRAWINGS, JOB_FILE
from purfle.files.toml_table import nearest
from purfle.files.whole_file import read_whole, write_whole
from purfle.hard_stop import HardStop
from purfle.model.artwork import AreaEdits, Areas, Colour, DrawingUnit, Photograph, Picture, TraceRule
from purfle.model.findings import Finding
from purfle.model.job import Job
from purfle.model.pieces import DrawnArea, Fit, FitRule, Lost
from purfle.units import length

SMALLEST_AREA = 0.5
"""Areas of a sheet below this many mm2 are joined to a neighbour: smaller than any cutter makes."""
WIDEST_CUTTER, WIDEST_SEAM = 25.0, 1.0
THICKEST_BOARD = 100.0
"""Limits in mm, beyond which a figure is a slip of the pen."""

LOST_WIDTH_STEP = 0.005
"""How nearly the width of a lost detail is told, mm."""


def areas(arguments: Namespace) -> int:
    """Areas of a picture in its own pixels, or of a drawing in mm; or of a job, as named there before all edits."""
    from purfle import artwork

    if is_job(arguments.picture):
        return _job_areas(arguments)
    if arguments.geojson is None:
        mend = "Add --geojson FILE. Of a job, --points FILE draws a point in each area."
        raise PictureError("Nothing says where the areas go", "the words after purfle areas", mend)
    if arguments.points is not None:
        mend = f"Make a job of it with: purfle new FOLDER {arguments.picture}. Then: purfle areas FOLDER --points FILE"
        raise PictureError("Points are those of a job, which says how large the design is", "--points", mend)
    path = Path(arguments.picture)
    height, drawing = _doubts_asked(arguments, path)
    with Progress() as progress:
        progress("finding areas")
        seen = None
        if path.suffix.lower() in DRAWINGS:
            found = areas_of(path, arguments.drawing_unit)
        else:
            seen, found = _picture_areas(path, arguments)
        if drawing is not None and seen is not None:
            progress("drawing the doubts")
            write_whole(drawing, _doubts_drawn(seen, found, height, drawing.suffix.lower()))
    _write(arguments.geojson, geojson_bytes(artwork.to_geojson_features(found)["features"]))
    bare = len(found.ground)
    _tell(arguments.geojson, f"{count(len(found.areas), 'area')}, {bare} of them bare board", found.doubts)
    return 1 if stopped(found.doubts) else 0


def is_job(place: str) -> bool:
    """True for a job folder or its job.toml."""
    return Path(place).is_dir() or Path(place).name == JOB_FILE


def _job_areas(arguments: Namespace) -> int:
    """The areas of a job under its names, before they are edited: points in a job file are those of this design."""
    wanted, _ = read_job_folder(Path(arguments.picture))
    target = _points_asked(arguments, wanted)
    rule = wanted.picture
    with Progress() as progress:
        progress("finding areas")
        from purfle import artwork, traced
        from purfle.artwork import points_drawing

        if rule is None:
            mend = "Make a job of each picture, to find its points; then take them into this one."
            raise JobFileError("This job has several artworks, or ready ones alone", str(wanted.folder), mend)
        read = traced.areas_as_read(rule)
        found = traced.edited(replace(rule, edits=AreaEdits()), read)
        if target is not None:
            progress("drawing a point in each area")
            draw = points_drawing.points_svg if target.suffix.lower() == ".svg" else points_drawing.points_png
            seen = None if found.unit == "mm" else traced.seen_in(rule)[0]
            scale = traced.scale_of(rule, read)
            write_whole(target, draw(found, scale, wanted.unit != "mm", seen))
            print(f"{count(len(found.areas) - len(found.ground), 'area')} with a point in each, drawn to {target}.")
            inches = wanted.unit != "mm"
            for point in [one for one in points_drawing.points_of(found, scale, inches) if one.line]:
                print(f'Line {point.number}: {point.line}; in [areas.lines]: "{point.written}" = "drop", for instance.')
    if arguments.geojson is not None:
        _write(arguments.geojson, geojson_bytes(artwork.to_geojson_features(found)["features"]))
        _tell(arguments.geojson, f"{count(len(found.areas), 'area')}, {len(found.ground)} of them bare board", ())
    return 0


def _points_asked(arguments: Namespace, wanted: Job) -> Path | None:
    """The file of the points; every slip is told at once."""
    faults: list[Fault] = []
    if arguments.points is None and arguments.geojson is None:
        mend = "Add --points FILE.svg (or .png), or --geojson FILE."
        faults.append(Fault("Nothing says where the areas go", "the words after purfle areas", mend))
    for option in ("doubts", "height", "sheet", "drawing_unit"):
        if getattr(arguments, option) is not None:
            word = f"--{option.replace('_', '-')}"
            faults.append(Fault(f"{wanted.name} is a job: it says that itself", word, f"Leave {word} out."))
    target = Path(arguments.points) if arguments.points is not None else None
    if target is not None and target.suffix.lower() not in (".svg", ".png"):
        faults.append(Fault(f'"{target.name}" is no picture that can be drawn', "--points", "Use .svg or .png."))
    if faults:
        raise PictureError.of(faults)
    return target


def _doubts_asked(arguments: Namespace, path: Path) -> tuple[float | None, Path | None]:
    """The height and the file of the doubts, where they are asked for; every slip is told at once."""
    faults: list[Fault] = []
    if path.suffix.lower() in DRAWINGS:
        asked = [option for option in ("doubts", "height", "sheet") if getattr(arguments, option) is not None]
        faults += [Fault("A drawing has no doubts and no sheet", f"--{one}", f"Leave --{one} out.") for one in asked]
    drawing = Path(arguments.doubts) if arguments.doubts is not None else None
    if drawing is not None and drawing.suffix.lower() not in (".svg", ".png"):
        faults.append(Fault(f'"{drawing.name}" is no picture that can be drawn', "--doubts", "Use .svg or .png."))
    if arguments.sheet is not None and arguments.sheet.casefold() not in SHEETS:
        mend = f"Use {nearest(tuple(SHEETS), arguments.sheet)}; a job file takes any width and height."
        faults.append(Fault(f'No sheet is called "{arguments.sheet}"', "--sheet", mend))
    height = None
    if arguments.height is not None:
        try:
            height = length(arguments.height, where="--height")
            if height <= 0.0:
                faults.append(Fault(f'"{arguments.height}" is out of range', "--height", "Use more than 0 mm."))
        except LengthError as refusal:
            faults += refusal.faults
    if faults:
        raise PictureError.of(faults)
    return height, drawing


def _picture_areas(path: Path, arguments: Namespace) -> tuple[Picture, Areas]:
    """The picture that was traced, straightened if it is a photograph of a sheet, and its areas."""
    from purfle import artwork
    from purfle.files import picture

    if arguments.drawing_unit is not None:
        raise PictureError("A picture has no unit", str(path), "Leave --drawing-unit out.")
    seen = picture.read_picture(path)
    if arguments.sheet is None:
        return seen, artwork.areas_of_picture(seen, TraceRule())
    from purfle.artwork.photograph import rectified

    name = arguments.sheet.casefold()
    flat = rectified(seen, Photograph(SHEETS[name], either_way=True, sheet_name=name.upper()))
    px_per_mm = flat.px_per_mm or 1.0
    traced = artwork.areas_of_picture(flat.picture, TraceRule(smallest_px=max(8.0, SMALLEST_AREA * px_per_mm**2)))
    return flat.picture, replace(traced, doubts=(*flat.findings, *traced.doubts), mm_per_unit=1.0 / px_per_mm)


def _doubts_drawn(seen: Picture, found: Areas, height: float | None, ending: str) -> bytes:
    """The areas over their picture with what is doubtful, as an SVG or a PNG."""
    from purfle import artwork
    from purfle.artwork.doubt_drawing import doubts_png, doubts_svg
    from purfle.artwork.doubt_places import doubt_report

    scale = found.mm_per_unit if height is None else height / artwork.design_size(found)[1]
    report = doubt_report(seen, found, scale)
    return (doubts_svg if ending == ".svg" else doubts_png)(seen, found, report)


def pieces(arguments: Namespace) -> int:
    """Pieces that can be cut, the inserts, the recess and what was lost, in mm."""
    from purfle import fit

    rule, height = fit_rule(arguments)
    stop = HardStop()
    with Progress() as progress:
        progress("finding areas")
        found = areas_of(Path(arguments.drawing), arguments.drawing_unit, stop, height)
        drawn = drawn_areas(found, height)
        progress("making pieces that can be cut")
        with stop:
            made = fit.make_pieces(drawn, rule)
            fitted = fit.let_in(made, rule)
    findings = (*found.doubts, *made.findings, *fit.wall_findings(made, rule))
    return _write_pieces(arguments.geojson, (fitted,), findings)


def job_pieces(arguments: Namespace) -> int:
    """The same of a job, as `purfle make` has them: its artworks, edits, order, corners and cutters."""
    from purfle import job as flow

    wanted, shop = read_job_folder(Path(arguments.drawing))
    with Progress() as progress:
        fits, findings = flow.pieces_of(wanted, shop, progress)
    return _write_pieces(arguments.geojson, fits, findings)


def _write_pieces(target: str, fits: tuple[Fit, ...], findings: tuple[Finding, ...]) -> int:
    """The pieces of every order of letting in, and what was found."""
    from purfle import fit
    from purfle.geometry.measuring import inscribed_radius

    _write(target, geojson_bytes([feature for one in fits for feature in fit.pieces_features(one)]))
    made = sum(len(one.inserts) for one in fits)
    lost = [detail for one in fits for detail in one.pieces.lost]
    over = sum(len(one.inserts) for one in fits[1:])
    words = f", {over} of them let in over others" if over else ""
    _tell(target, f"{count(made, 'piece')}{words}, {count(len(lost), 'detail')} lost", findings)
    for one in lost:
        if _is_told(one, findings):
            continue
        width = 2.0 * inscribed_radius(one.region, LOST_WIDTH_STEP)
        print(f"lost: {one.name}, {width:.2f} mm at its widest: {one.why}; {one.instead}", file=_stream(target))
    return 1 if stopped(findings) else 0


def _is_told(lost: Lost, findings: tuple[Finding, ...]) -> bool:
    """True for a detail that a grave finding tells of already, with its place and size."""
    is_ground = lost.name == lost.wood
    told = [finding.what for finding in findings if finding.severity != "note" and finding.stage == "fit"]
    if is_ground:
        return any("of the ground" in what and lost.instead in what for what in told)
    return any(what.startswith(f'"{lost.name}" ') for what in told)


def says_its_size(path: Path) -> bool:
    """True for a drawing that says how large it is, so that it needs no height."""
    from purfle.files import drawing_file

    return (
        path.suffix.lower() in DRAWINGS and path.is_file() and drawing_file.says_its_size(read_whole(path), path.name)
    )


def drawn_areas(found: Areas, height: float | None) -> tuple[DrawnArea, ...]:
    """The areas at their finished height, a drawing's own where none is given; each colour as a wood of its own."""
    from purfle import artwork

    scale = 1.0 if height is None else height / artwork.design_size(found)[1]
    woods = [("#{:02x}{:02x}{:02x}".format(*colour), colour) for colour in _colours(found)]
    return artwork.choose_woods(found, scale, woods, ()).areas


def fit_rule(arguments: Namespace) -> tuple[FitRule, float | None]:
    """The figures of the command line, every fault of them told at once; no height where the drawing's own counts."""
    limits = {"--height": 10_000.0, "--cutter": WIDEST_CUTTER, "--seam": WIDEST_SEAM}
    faults: list[Fault] = []
    figures: dict[str, float] = {}
    for option, most in limits.items():
        text = getattr(arguments, option.removeprefix("--"))
        if text is None and option == "--height":
            continue
        try:
            figures[option] = length(text, where=option)
            if not 0 < figures[option] <= most:
                mend = f"Use more than 0 and at most {most:g} mm."
                raise LengthError(f'"{text}" is out of range', option, mend)
        except LengthError as refusal:
            faults += refusal.faults
    if faults:
        raise LengthError.of(faults)
    return FitRule(figures["--cutter"] / 2, figures["--seam"]), figures.get("--height")


def length_of(text: str, option: str) -> float:
    """A length of the command line, more than nothing and no more than a board is thick."""
    found = length(text, where=option)
    if not 0 < found <= THICKEST_BOARD:
        raise LengthError(f'"{text}" is out of range', option, f"Use more than 0 and at most {THICKEST_BOARD:g} mm.")
    return found


def areas_of(path: Path, unit: DrawingUnit | None, stop: HardStop | None = None, height: float | None = None) -> Areas:
    """Areas of a picture or of a drawing, which is read in the time that `stop` leaves.

    `height`: at which a drawing will be made, mm: its curves are flattened for it. None: at the drawing's own.
    """
    from purfle import artwork
    from purfle.files import picture
    from purfle.files.drawing_file import read_drawing

    if path.suffix.lower() in DRAWINGS:
        with stop or HardStop():
            drawing = read_drawing(read_whole(path), path.name, unit, path.parent, height)
            return artwork.areas_of_drawing(drawing)
    if unit is not None:
        raise PictureError("A picture has no unit", str(path), "Leave --drawing-unit out.")
    return artwork.areas_of_picture(picture.read_picture(path), TraceRule())


def _colours(found: Areas) -> list[Colour]:
    """Colours of the design, the bare board's left out unless an area of the design has it too."""
    return list(dict.fromkeys(area.colour for area in found.areas if area.number not in found.ground))


def _write(target: str, data: bytes) -> None:
    """To the file, whole or not at all; or to standard output."""
    if target == "-":
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    else:
        write_whole(Path(target), data)


def _tell(target: str, summary: str, findings: Iterable[Finding]) -> None:
    """What was found; on stderr where standard output carries the shapes."""
    print(f"{summary}." if target == "-" else f"{summary}, written to {target}.", file=_stream(target))
    tell_findings(findings, _stream(target))


def _stream(target: str) -> TextIO:
    return sys.stderr if target == "-" else sys.stdout
