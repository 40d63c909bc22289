"""job.toml: the job as its maker typed it, read, checked and turned into the noun `Job`.

Forgiving in notation (lengths with any unit; bare numbers in the unit of the job), strict in meaning: an unknown key,
a wrong type, a missing key or a figure out of range is a fault with its line, and all faults are told at once.
"""

import hashlib
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path
from string import Template
from typing import TypeVar, get_args

import purfle
from purfle.errors import FolderError, JobFileError
from purfle.files.job_areas import area_edits, which_area
from purfle.files.job_board import board_of
from purfle.files.job_carrying import carrying_of
from purfle.files.job_cutting import cutter_of, cutting_rule, refuse_sawn_off_plates, seam_of, template_wish
from purfle.files.job_fittings import fittings_of
from purfle.files.job_laid import laid_of
from purfle.files.job_photograph import ground_place, photograph_of
from purfle.files.job_place import depth_of, pair_of, place_of, to_middle
from purfle.files.job_price import bench_of, finish_of, quote_of
from purfle.files.job_season import season_of
from purfle.files.job_trial import trial_of
from purfle.files.job_walls import tapered_fit
from purfle.files.named_woods import wood_in
from purfle.files.own_texts import own_text, quoted
from purfle.files.toml_table import MORE_THAN_NOTHING, Table, nearest, read_toml
from purfle.files.whole_file import read_whole
from purfle.model.artwork import Colour, DrawingUnit
from purfle.model.board import Board
from purfle.model.cutting import CuttingWay
from purfle.model.findings import FACES
from purfle.model.job import (
    Artwork,
    Distance,
    FittingRule,
    FitTrial,
    FitWish,
    Job,
    KeyRule,
    LengthUnit,
    Paper,
    PictureRule,
)
from purfle.model.pieces import CornerWay, Way
from purfle.units import INCH, show

JOB_FILE = "job.toml"
SHOP_FILE = "shop.toml"
FINGERPRINT_SIGNS = 6
"""Signs of the change number: 16 million of them, and still short enough to compare by eye."""
WIDEST_SEAM = 1.0
"""A wider seam (mm) is a gap."""
NARROWEST_SEAM = 0.02
"""A narrower seam (mm) is below what can be read back from the files (`tolerances.SEAM_AS_CUT`)."""
UNITS: tuple[LengthUnit, ...] = get_args(LengthUnit)
PAPERS: tuple[Paper, ...] = get_args(Paper)
CORNER_WAYS: tuple[CornerWay, ...] = get_args(CornerWay)
DRAWING_UNITS: tuple[DrawingUnit, ...] = get_args(DrawingUnit)
WAYS: tuple[Way, ...] = get_args(Way)
PROUD, GLUE_ROOM, MARGIN, BETWEEN = 0.5, 0.15, 6.0, 5.0
"""Used where the file is silent (mm): typical figures of the trade, common practice, no source."""
MOST_MOISTURE = 10.0
"""No wood that is let in differs more in moisture (%) from the board."""
WIDEST_MARGIN, MOST_PROUD = 100.0, 5.0
"""Limits (mm) beyond which a figure is a slip of the pen."""
MOST_WOODS = 24
"""More woods than this are shading, not wood."""
DRAWINGS = (".svg", ".dxf")
PICTURES = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif")
READY = ("shape", "stringing", "banding", "lettering")
FIRST_CUTTER = "1/8 in straight"
"""The cutter of a new job, as the first shop file names it."""
_INCH = float(INCH)
_SMALLEST_FRACTION = _INCH / 64
FIRST_METRIC = {
    "board_length": 300.0,
    "board_width": 200.0,
    "board_thickness": 19.0,
    "height": 90.0,
    "waist": 45.0,
    "eye": 18.0,
    "depth": 3.0,
    "seam": 0.1,
    "proud": 0.4,
    "glue_room": 0.15,
}
FIRST_IMPERIAL = {
    "board_length": 12 * _INCH,
    "board_width": 8 * _INCH,
    "board_thickness": 0.75 * _INCH,
    "height": 3.5 * _INCH,
    "waist": 1.75 * _INCH,
    "eye": 0.75 * _INCH,
    "depth": 0.125 * _INCH,
    "seam": 0.004 * _INCH,
    "proud": 0.015625 * _INCH,
    "glue_room": 0.006 * _INCH,
}
"""Sizes of a new job (mm): handy ones, common practice, no source."""
FIRST_SHARE = 0.85
"""A design takes up no more of the first board's length or width."""
_POINT = re.compile(r"[-+.]?[0-9]")
_COLOUR = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")
_RESERVED = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")
_SPELT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "æ": "ae", "ø": "o", "å": "a", "ł": "l", "đ": "d"})

Named = TypeVar("Named", KeyRule, FittingRule)
Which = Colour | tuple[float, float] | str
"""Which area is meant: by its colour, by a point of the design inside it (mm), or by its name."""


def load_job(folder_or_file: Path, text: bytes | None = None) -> Job:
    """The job in a folder (its job.toml) or of a job file; `text`: what that file is to hold, where it differs.

    Raises `FolderError` where nothing can be read, `JobFileError` with every fault of the file.
    """
    file = job_file(folder_or_file)
    folder = file.parent.resolve()
    data = read_whole(file, "job file") if text is None else text
    top = read_toml(data, file.name)
    if top.source.faults:
        raise JobFileError.of(top.source.faults)
    job = _job(top, folder)
    top.close()
    if top.source.faults:
        raise JobFileError.of(top.source.faults)
    shop = read_whole(job.shop_file, "shop file")
    used = [read_whole(file, what) for rule in job.artworks for file, what in _made_of(rule)]
    if job.board.photograph is not None:
        used.append(read_whole(job.board.photograph.file, "photograph"))
    change = change_number((purfle.__version__.encode(), data, shop, *used))
    return replace(job, change=change)


def _made_of(rule: Artwork) -> list[tuple[Path, str]]:
    """The files that an artwork is made from, and what they are."""
    return [(rule.file, "picture")] if isinstance(rule, PictureRule) else [(file, "font") for file in rule.files]


def job_file(folder_or_file: Path) -> Path:
    """The job file in a folder, or the file itself."""
    if folder_or_file.is_dir():
        if not (folder_or_file / JOB_FILE).is_file():
            mend = f"Make one with: purfle new FOLDER PICTURE. Or name the folder that holds {JOB_FILE}."
            raise JobFileError(f"There is no {JOB_FILE} in this folder", str(folder_or_file), mend)
        return folder_or_file / JOB_FILE
    if not folder_or_file.exists():
        mend = "Check the name; purfle new FOLDER PICTURE makes a job folder."
        raise FolderError("There is no such job folder or job file", str(folder_or_file), mend)
    if folder_or_file.suffix.lower() in PICTURES + DRAWINGS:
        mend = f"Make a job of it with: purfle new FOLDER {folder_or_file.name}"
        raise JobFileError("This is a picture or drawing, not a job", str(folder_or_file), mend)
    return folder_or_file


def shop_file(folder: Path) -> Path:
    """The shop file that serves a job: beside it, else in the folder above, else the one that comes with Purfle."""
    for place in (folder, folder.parent):
        if (place / SHOP_FILE).is_file():
            return place / SHOP_FILE
    return Path(str(resources.files("purfle") / "shop" / "first" / SHOP_FILE))


def change_number(parts: Sequence[bytes]) -> str:
    """The short fingerprint of everything that the files depend on, as printed on every sheet.

    >>> change_number((b"a", b"bc")) != change_number((b"ab", b"c"))
    True
    """
    digest = hashlib.sha256()
    for part in parts:
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.hexdigest()[:FINGERPRINT_SIGNS]


def slug_of(name: str) -> str:
    """A name as it stands in file names: small letters, figures and hyphens only.

    >>> slug_of("Möwe & Meer, Nr. 2"), slug_of("🐦"), slug_of("CON")
    ('moewe-meer-nr-2', 'job', 'job-con')
    """
    plain = unicodedata.normalize("NFKD", name.casefold().translate(_SPELT)).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-")
    return "job" if not slug else f"job-{slug}" if _RESERVED.fullmatch(slug) else slug


def _job(top: Table, folder: Path) -> Job:
    """Every table of the file, in the order in which it stands there. Faults are in the source afterwards."""
    head = top.table("job", required=True)
    for key in ("units", "numbers"):
        if str(head.values.get(key)).strip().casefold() == "in":
            head.values[key] = "inch"
    unit = head.choice("units", UNITS)
    top.source.unit = head.choice("numbers", UNITS, unit)
    name, paper = head.text("name"), head.choice("paper", PAPERS, "a4")
    head.close()
    board, least_left = board_of(top.table("board", required=True), folder)
    offcuts = top.table("offcuts")
    margin = offcuts.length("margin", MARGIN, (0.0, WIDEST_MARGIN))
    between = offcuts.length("between", BETWEEN, (0.0, WIDEST_MARGIN))
    offcuts.close()
    trial, plugs = trial_of(top, board, (NARROWEST_SEAM, WIDEST_SEAM))
    artworks = plugs or _artworks(top, folder, board)
    cutting = cutting_rule(top.table("cutting"), unit)
    refuse_sawn_off_plates(top, cutting)
    alone = artworks[0] if len(artworks) == 1 else None
    return Job(
        name=name,
        slug=slug_of(name),
        folder=folder,
        unit=unit,
        paper=paper,
        board=board,
        picture=alone if isinstance(alone, PictureRule) else None,
        keys=told_apart(tuple(_key(table, board) for table in top.tables("butterfly_key"))),
        fittings=told_apart(fittings_of(top.tables("fitting"), board)),
        fit=_fit(top, artworks, trial, cutting.way),
        cutting=cutting,
        margin=margin,
        between=between,
        least_left=least_left,
        change="",
        shop_file=shop_file(folder),
        artworks=artworks,
        grain=_grain(top.table("grain")),
        order=_order(top.table("order")),
        cutters=_cutters(top.table("cutters")),
        trial=trial,
        templates=template_wish(top, cutting.way, unit),
        season=season_of(top),
        carrying=carrying_of(top),
        finish=finish_of(top),
        quote=quote_of(top),
        bench=bench_of(top),
        laid=laid_of(top),
    )


def told_apart(things: tuple[Named, ...]) -> tuple[Named, ...]:
    """Keys or fittings, those of one name numbered from the second on: "butterfly key", "butterfly key 2"."""
    seen: dict[str, int] = {}
    named = []
    for thing in things:
        seen[thing.name] = seen.get(thing.name, 0) + 1
        count = seen[thing.name]
        named.append(thing if count == 1 else replace(thing, name=f"{thing.name} {count}"))
    return tuple(named)


def _artworks(top: Table, folder: Path, board: Board) -> tuple[Artwork, ...]:
    """Everything that is let in but keys, in the order of the file. All of it shares one face and one depth."""
    pictures = top.tables("picture") if isinstance(top.values.get("picture"), list) else []
    if not pictures and top.has("picture"):
        pictures = [top.table("picture")]
    found: list[tuple[Table, Artwork]] = [(table, _picture(table, top, folder, board)) for table in pictures]
    ready = [(key, table) for key in READY for table in top.tables(key)]
    if ready:
        from purfle.files.job_artworks import ready_artwork  # of no use to a picture

        found += [(table, ready_artwork(key, table, board, folder)) for key, table in ready]
    if not found and not top.has("picture"):
        mend = "Add [picture], or a ready artwork: [[shape]], [[stringing]], [[banding]] or [[lettering]]."
        top.fault("Nothing is said of what is let in: picture is missing", "picture", mend)
    if not isinstance(top.values.get("picture"), dict):
        _refuse_loose_tables(top, bool(pictures))
    found.sort(key=lambda one: top.source.line_of(one[0].path) or 0)
    for table, rule in found[1:]:
        for key in ("face", "depth"):
            if getattr(rule, key) != getattr(found[0][1], key):
                what = f"{table.path} has another {key} than {found[0][0].path}"
                table.fault(what, key, f"All artworks of a job share one {key}: make a job for each, or use one {key}.")
    return tuple(rule for _, rule in found)


def _refuse_loose_tables(top: Table, several: bool) -> None:
    """Names, woods by place and edits belong to one picture; without one, or with several, they stand nowhere."""
    for key in ("names", "woods", "areas"):
        if top.has(key) and top.values[key]:
            mend = f"Put them below their [[picture]] as [picture.{key}]." if several else "Take it out."
            top.fault(f"It is not said which picture [{key}] speaks of", key, mend)


def _picture(table: Table, top: Table, folder: Path, board: Board) -> PictureRule:
    """A picture to be let in, with the names and the woods of its areas."""
    file = _picture_file(table, folder)
    along_a, along_b = place_of(table)
    below = table if isinstance(top.values.get("picture"), list) else top
    names = _names(below.table("names"))
    drawn = file.suffix.lower() in DRAWINGS
    photograph = photograph_of(table.table("photograph")) if table.has("photograph") else None
    sized = photograph is not None and (photograph.sheet is not None or photograph.known is not None)
    if photograph is not None and drawn:
        table.fault("A drawing is no photograph", "photograph", "Take [picture.photograph] out.")
    rule = PictureRule(
        file=file,
        height=table.length("height", 0.0) if sized else table.length("height"),
        along_a=along_a,
        along_b=along_b,
        to_middle=table.choice("measured_to", ("end", "middle"), "end") == "middle",
        angle=table.number("angle", 0.0, -360.0, 360.0),
        mirrored=table.yes("mirrored", False),
        depth=depth_of(table, board),
        face=table.choice("face", FACES, "show"),
        number_of_woods=_count(table, "number_of_woods"),
        ground_colour=_colour_or_none(table, "ground_colour"),
        woods=_woods(below.table("woods"), [name for _, name in names], drawn),
        names=names,
        grain=_grain(top.table("grain")),
        drawing_unit=_drawing_unit(table, file),
        edits=area_edits(below.table("areas"), drawn),
        photograph=photograph,
        ground_at=ground_place(table),
    )
    rule = rule if rule.to_middle else _placed_by_end(table, rule, board)
    table.close()
    return rule


def _placed_by_end(table: Table, rule: PictureRule, board: Board) -> PictureRule:
    """The same place with both axes measured alike: to the left and lower end, or to the middle.

    A maker may centre a design one way and measure to its foot the other way. Its height is known here, its width is
    not (the picture has not been read), so only what needs no width can be said otherwise.
    """
    along_a, along_b, half = rule.along_a, rule.along_b, rule.height / 2
    if along_a.datum == along_b.datum == "centre":
        return replace(rule, to_middle=True)
    if along_a.datum == along_b.datum == "edge":
        return rule
    if not rule.height:
        mend = 'Add height, or measured_to = "middle" and the places of its middle.'
        table.fault("Without a height, it is not known yet where the ends of the design will lie", "height", mend)
        return rule
    if rule.angle % 180.0 or along_a.datum == "far_edge":
        key = "angle" if rule.angle % 180.0 else "from_right"
        mend = 'Add measured_to = "middle" and give the places of its middle.'
        table.fault(f"With {key}, it is not known yet where the ends of the design will lie", key, mend)
        return rule
    if along_a.datum == "centre":
        return replace(rule, to_middle=True, along_b=to_middle(along_b, rule.height))
    if along_b.datum == "centre":
        return replace(rule, along_b=Distance("edge", board.width / 2 + along_b.amount - half))
    return replace(rule, along_b=Distance("edge", board.width - along_b.amount - rule.height))


def _picture_file(table: Table, folder: Path) -> Path:
    """The picture, inside the job folder."""
    words = table.text("file")
    if not words:
        return folder
    file = folder / words
    if "\0" in words or not file.resolve().is_relative_to(folder):
        mend = "Copy the picture into the job folder and give its name alone."
        table.fault(f'file "{words}" leaves the job folder', "file", mend)
    elif not file.is_file():
        table.fault(f'There is no file "{words}" in the job folder', "file", _pictures_there(folder))
    return file


def _drawing_unit(table: Table, file: Path) -> DrawingUnit | None:
    """What one unit of a DXF is; None where its file is to say so."""
    if not table.has("drawing_unit"):
        return None
    if file.suffix.lower() != ".dxf":
        table.fault("drawing_unit is for DXF drawings alone", "drawing_unit", "Leave it out.")
    return table.choice("drawing_unit", DRAWING_UNITS)


def _pictures_there(folder: Path) -> str:
    """What could be meant, from what lies in the folder."""
    there = sorted(file.name for file in folder.iterdir() if file.suffix.lower() in PICTURES + DRAWINGS)[:5]
    return f"Use one of those that lie there: {', '.join(there)}." if there else "Copy the picture into the job folder."


def _names(table: Table) -> tuple[tuple[tuple[float, float] | str, str], ...]:
    """Names of areas: each a point of the design inside the area that it names, or the name that a drawing gives it."""
    found: list[tuple[tuple[float, float] | str, str]] = []
    for name in table.keys():  # noqa: SIM118
        which = which_area(table, table.values[name], name)
        if which is not None and len(which) == 3 and not isinstance(which, str):
            table.fault(f"{name} is given to a colour", name, 'Give a point inside one area, such as "110, 50".')
        elif which is not None:
            found.append((which, name))
    return tuple(found)


def _woods(table: Table, names: Sequence[str], drawn: bool) -> tuple[tuple[Which, str], ...]:
    """Which wood an area is of. A drawing brings names of its own, so that an unknown one is no fault there."""
    found: list[tuple[Which, str]] = []
    for key in table.keys():  # noqa: SIM118
        which = _which(table, key)
        if isinstance(which, str) and which not in names and not drawn:
            known = nearest(names, which) if names else "a colour such as #f5efe1, or a point such as 110, 50"
            table.fault(f'No area is named "{key}"', key, f"Use {known}; names are given in [names].")
        found.append((which, wood_in(table, key)))
    return tuple(found)


def _order(table: Table) -> tuple[tuple[Which, Way], ...]:
    """How areas are let in where the rule is overruled: over another insert, or beside the others."""
    return tuple((_which(table, key), table.choice(key, WAYS)) for key in table.keys())  # noqa: SIM118


def _cutters(table: Table) -> tuple[tuple[tuple[float, float] | str, str], ...]:
    """The finishing cutter of single areas and keys, by its name in the shop."""
    keys = table.keys()
    return tuple((pair_of(table, key, key) if _POINT.match(key) else key, table.text(key)) for key in keys)


def _over_depth(table: Table, artworks: Sequence[Artwork]) -> float | None:
    """Depth of a recess in an insert, less than that of the recess which holds the insert; None if it is not said."""
    if not table.has("over_depth"):
        return None
    depth = table.length("over_depth")
    below = artworks[0].depth if artworks else 0.0
    if depth >= below > MORE_THAN_NOTHING[0]:
        mend = f"Use less than {below:g} mm; three fifths of it are common practice."
        table.fault("over_depth goes through the insert that it is cut into", "over_depth", mend)
    return depth


def _which(table: Table, key: str) -> Which:
    """A colour, a point of the design, or the name of an area."""
    if key.startswith("#"):
        return _colour(table, key, key) or (0, 0, 0)
    return pair_of(table, key, key) if _POINT.match(key) else key


def _colour(table: Table, words: object, key: str) -> Colour | None:
    """A colour as it is written in drawings; None, and a fault, if it is none."""
    if not isinstance(words, str) or not _COLOUR.fullmatch(words.strip()):
        table.fault(f"{key} is not a colour", key, 'Write # and six signs 0-9, a-f, such as "#f5efe1".')
        return None
    signs = words.strip().removeprefix("#")
    signs = "".join(2 * sign for sign in signs) if len(signs) == 3 else signs
    return int(signs[0:2], 16), int(signs[2:4], 16), int(signs[4:6], 16)


def _colour_or_none(table: Table, key: str) -> Colour | None:
    return _colour(table, table.values[key], key) if table.has(key) else None


def _count(table: Table, key: str) -> int | None:
    """A whole number, None where the file is silent."""
    if not table.has(key):
        return None
    value = table.number(key, 1, 1, MOST_WOODS)
    if value != int(value):
        table.fault(f"{key} has to be a whole number", key, f"Use {round(value)}.")
    return int(value)


def _grain(table: Table) -> tuple[tuple[str, float], ...]:
    """Direction of the fibres of named areas, in degrees from A."""
    return tuple((name, table.number(name, 0.0, -180.0, 180.0)) for name in table.keys())  # noqa: SIM118


def _key(table: Table, board: Board) -> KeyRule:
    """A butterfly key; its place is that of its middle."""
    along_a, along_b = place_of(table)
    key = KeyRule(
        name=table.text("name", "butterfly key"),
        wood=wood_in(table, "wood"),
        face=table.choice("face", FACES),
        length=table.length("length"),
        end_width=table.length("end_width"),
        waist_width=table.length("waist_width"),
        depth=depth_of(table, board),
        along_a=along_a,
        along_b=along_b,
        angle=table.number("angle", 0.0, -360.0, 360.0),
    )
    if key.waist_width >= key.end_width:
        mend = "Make the waist narrower: a third of the ends is common practice."
        table.fault("The waist is not narrower than the ends, so the key holds nothing", "waist_width", mend)
    table.close()
    return key


def _fit(top: Table, artworks: Sequence[Artwork], trial: FitTrial | None, way: CuttingWay) -> FitWish:
    """The fit: one seam for every joint, the cutter that finishes it, and what becomes of the recess's corners."""
    table, corners = top.table("fit", required=True), top.table("corners")
    if trial is not None:
        if table.has("seam"):
            table.fault("Each plug of a fit trial has a seam of its own", "seam", "Take seam out of [fit].")
        table.values["seam"] = min(trial.seams)
    wish = tapered_fit(table, top, (PROUD, (NARROWEST_SEAM, WIDEST_SEAM))) or FitWish(
        seam=seam_of(table, way, (NARROWEST_SEAM, WIDEST_SEAM)),
        cutter=cutter_of(table, way),
        proud=table.length("proud", PROUD, (0.0, MOST_PROUD)),
        glue_room=table.length("glue_room", GLUE_ROOM, (0.0, MOST_PROUD)),
        corners=table.choice("corners", CORNER_WAYS, "round"),
        corner_wishes=_corner_wishes(corners),
        over_depth=_over_depth(table, artworks),
    )
    if table.has("moisture_difference"):
        wish = replace(wish, moisture=table.number("moisture_difference", 0.0, 0.0, MOST_MOISTURE))
    table.close()
    return wish


def _corner_wishes(table: Table) -> tuple[tuple[tuple[float, float], CornerWay], ...]:
    """Single corners of the recess that are to be otherwise, each by a point of the design near it."""
    return tuple((pair_of(table, key, key), table.choice(key, CORNER_WAYS)) for key in table.keys())  # noqa: SIM118


def first_job_text(
    name: str,
    picture: str | None,
    unit: LengthUnit = "mm",
    drawing_unit: DrawingUnit | None = None,
    height: float | None = None,
) -> str:
    """A commented job.toml that works as it is, with a board and a design of a handy size in the maker's unit.

    `picture` is a file name inside the job folder (None: a ready shape); `drawing_unit` what one unit of it is, if
    it does not say so; `height` its true height, mm, where it is drawn at true size.
    """
    artwork = own_text("first_shape.toml" if picture is None else "first_picture.toml")
    template = own_text("first_job.toml").replace("${artwork}", artwork)
    paper, other = ("a4", "letter") if unit == "mm" else ("letter", "a4")
    words = {
        "name": " ".join(name.split()),
        "name_text": quoted(" ".join(name.split())),
        "units": unit,
        "unit_word": "mm" if unit == "mm" else "inches",
        "paper": paper,
        "other_paper": other,
        "picture": quoted(picture or ""),
        "drawing_unit": f'\ndrawing_unit = "{drawing_unit}"' if drawing_unit else "",
        "cutter": quoted(FIRST_CUTTER),
    }
    lengths = FIRST_METRIC if unit == "mm" else FIRST_IMPERIAL
    said = {key: _first_length(mm, unit) for key, mm in lengths.items()}
    if height is not None:
        said["height"] = show(round(height, 2), "mm") if unit == "mm" else show(height, "inch-decimal")
    text = Template(template).substitute(words, **said)
    return re.sub(r"(?m)^([^#\n].*\S) {2,}(# .*)$", lambda line: f"{line[1]:<30}{line[2]}", text)


def fits_first_board(size: tuple[float, float], unit: LengthUnit) -> bool:
    """True if a design of this width and height lies on the board of a new job with some room around it."""
    lengths = FIRST_METRIC if unit == "mm" else FIRST_IMPERIAL
    return size[0] <= FIRST_SHARE * lengths["board_length"] and size[1] <= FIRST_SHARE * lengths["board_width"]


def _first_length(mm: float, unit: LengthUnit) -> str:
    """A length of the first job; a small one in decimal inches, since no fraction says it."""
    return show(mm, "inch-decimal" if unit == "inch" and mm < _SMALLEST_FRACTION else unit)
