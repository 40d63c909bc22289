"""Every outline of a job that a maker may want on paper at true size: recesses as seen on their face, and parts."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import UNDERSIDE, Pose
from purfle.model.board import Hole
from purfle.model.findings import Face
from purfle.model.job import JobResult
from purfle.sheets.features import Feature, features_of, over_features
from purfle.sheets.lettering import width, wrapped
from purfle.sheets.parts import Part, parts_of, wood_and_offcut
from purfle.sheets.style import Style

TITLE, NOTE = 11.5, 9.5
"""Sizes of a pattern's name and of the line below it, in points."""
HEAD, NOTE_LINE = 11.0, 4.2
"""Height of the words above a pattern; of each line more of its note."""
NOTE_ROOM = 50.0
"""The note of a pattern is set in lines no longer than its outline or this, in mm."""
REACH = 4.0
"""How far the middle lines of a recess run past it."""
GAP = 5.0
LEVEL = 45.0
END, BREAK = 40.0, 6.0
"""So much of each end of a long straight strip is drawn, and the paper between the two, in mm."""
STRAIGHT = 0.1
"""A strip is straight if its sides keep within so many mm of a line between its ends."""
STRIP = 8.0
"""Only what is no wider than this (mm) is drawn by its ends: the area of wider pieces is worth a pattern."""
FACE_WORDS: dict[Face, str] = {"show": "show face", "underside": "underside, as seen from below"}


@dataclass(frozen=True, slots=True)
class Pattern:
    """One outline at true size. `region`: mm, y up, lower left corner of its bounds at the origin.

    `label`: number of a part, else empty. `grain`: of a part, degrees on the paper. `title` and `note`: its words.
    `middle`: where the middle lines cross, None: in the middle of its bounds. `saw_line`: so far off the outline of a
    part lies the middle of the saw's groove, mm; drawn dashed, 0: not at all. `holes`: their middles and diameters.
    """

    title: str
    note: str
    region: BaseGeometry
    label: str = ""
    grain: float | None = None
    middle: tuple[float, float] | None = None
    saw_line: float = 0.0
    holes: tuple[tuple[tuple[float, float], float], ...] = ()

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the outline."""
        _, _, x1, y1 = self.region.bounds
        return x1, y1

    @property
    def wide(self) -> float:
        """Width on paper with its words."""
        note = max(width(line, NOTE, "italic") for line in self.note_lines)
        return max(self.size[0] + 2 * self.reach, self.indent + max(width(self.title, TITLE, "bold"), note))

    @property
    def note_lines(self) -> list[str]:
        """The line or lines below the title."""
        room = max(self.size[0] + 2 * self.reach, width(self.title, TITLE, "bold") + self.indent, NOTE_ROOM)
        return wrapped(self.note, NOTE, room - self.indent, "italic") or [""]

    @property
    def head(self) -> float:
        """Height of the words above the outline."""
        return HEAD + NOTE_LINE * (len(self.note_lines) - 1)

    @property
    def high(self) -> float:
        """Height on paper with its words."""
        return self.head + self.size[1] + 2 * self.reach + GAP

    @property
    def reach(self) -> float:
        """Paper kept round the outline."""
        return 0.5 + self.saw_line if self.label else REACH + 1.0

    @property
    def indent(self) -> float:
        """Room for the number before the words."""
        return 9.0 if self.label else 0.0


def patterns_of(result: JobResult, style: Style, across: float) -> list[Pattern]:
    """Recesses of the show face, then of the underside, then the parts by number. `across`: width of the paper."""
    faces: tuple[Face, Face] = ("show", "underside")
    recesses = [_recess(result, f, face, style) for face in faces for f in _features(result, face, style)]
    recesses += [pattern for face in faces for pattern in _groups(result, face, style)]
    return recesses + [replace(_part(part, across), saw_line=_saw_line(result, part)) for part in parts_of(result)]


def _saw_line(result: JobResult, part: Part) -> float:
    """How far off the line the middle of the saw's groove runs: the blade leaves all that is for the file beside it.

    The card has the same figure; patterns are drawn before the plan is made.
    """
    if result.job.cutting.way != "knife and saw":
        return 0.0
    return part.inlay.fit.rule.cutter_radius + result.job.cutting.allowance


def _features(result: JobResult, face: Face, style: Style) -> list[Feature]:
    return [*features_of(result.layout, face, style), *over_features(result.layout, face, style)]


def _recess(result: JobResult, feature: Feature, face: Face, style: Style) -> Pattern:
    """A recess as it lies on its face, with the middles of its holes; on the underside mirrored: seen from below."""
    region = UNDERSIDE.region(feature.region) if face == "underside" else feature.region
    x, y = feature.middle
    depth = feature.inlay.depth if feature.inlay else feature.fitting.depth if feature.fitting else 0.0
    turn = ", first" if feature.is_first else ""
    title = f"{feature.name}{turn}, recess {style.depth(depth)} deep"
    note = f"{FACE_WORDS[face]}; middle {style.true(x)} from B, {style.true(y)} from A"
    its = [hole for hole in result.layout.holes if feature.fitting and hole.fitting == feature.fitting.name]
    return Pattern(title, note, _to_origin(region), holes=_marked(its, face, region))


def _groups(result: JobResult, face: Face, style: Style) -> list[Pattern]:
    """The holes of fittings that lie on the face, where there are several to be pricked through the paper at once."""
    let_in = {fitting.name for fitting in result.layout.fittings}
    groups: dict[str, list[Hole]] = {}
    for hole in result.layout.holes:
        if hole.face == face and hole.fitting not in let_in:
            groups.setdefault(hole.fitting, []).append(hole)
    found = []
    for name, holes in groups.items():
        if len(holes) > 1:
            discs = shapely.union_all([hole.room for hole in holes])
            region = UNDERSIDE.region(discs) if face == "underside" else discs
            x0, y0, x1, y1 = discs.bounds
            middle = f"middle {style.true((x0 + x1) / 2)} from B, {style.true((y0 + y1) / 2)} from A"
            note = f"{FACE_WORDS[face]}; {middle}"
            shape = _to_origin(region)
            found.append(Pattern(f"{name}, {len(holes)} holes", note, shape, holes=_marked(holes, face, region)))
    return found


def _marked(holes: Sequence[Hole], face: Face, region: BaseGeometry) -> tuple[tuple[tuple[float, float], float], ...]:
    """The middles of holes in the frame of the pattern of a region, with what is drilled."""
    x0, y0, _, _ = region.bounds
    way = -1.0 if face == "underside" else 1.0
    return tuple(((hole.centre[0] - x0, way * hole.centre[1] - y0), hole.drill) for hole in holes)


def _part(part: Part, across: float) -> Pattern:
    """A part with its fibres along the paper, or up the paper where it is too long for its width.

    Parts lie as they are cut: with the face up that will be seen.
    """
    fibres = part.inlay.pose.inverse().direction(part.grain)
    turns = [Pose(-fibres), Pose(90.0 - fibres)]
    shapes = [_to_origin(turn.region(part.insert.region)) for turn in turns]
    is_long = shapes[0].bounds[2] > across - 2.0 and shapes[1].bounds[2] <= across - 2.0
    region, grain = (shapes[1], 90.0) if is_long else (shapes[0], 0.0)
    return Pattern(
        part.insert.name or part.inlay.name, f"{wood_and_offcut(part)}{part.spare_words}", region, part.label, grain
    )


def _to_origin(region: BaseGeometry) -> BaseGeometry:
    x0, y0, _, _ = region.bounds
    return shapely.transform(region, lambda xy: xy - (x0, y0))


def by_its_ends(pattern: Pattern, style: Style) -> Pattern | None:
    """A straight narrow strip drawn by its two ends at true size, its length in words; None of any other outline."""
    region, (wide, high) = pattern.region, pattern.size
    if high > wide:
        region = _to_origin(Pose(-90.0).region(region))
        wide, high = high, wide
    middle = shapely.intersection(region, shapely.box(END, 0.0, wide - END, high))
    if not pattern.label or high > STRIP or wide < 2 * END + BREAK or not isinstance(middle, shapely.Polygon):
        return None
    _, low, _, top = middle.bounds
    across = middle.area / (wide - 2 * END)
    if top - low - across > STRAIGHT:
        return None
    first = shapely.intersection(region, shapely.box(0.0, 0.0, END, high))
    last = shapely.intersection(region, shapely.box(wide - END, 0.0, wide, high))
    moved = shapely.transform(last, lambda xy: xy - (wide - 2 * END - BREAK, 0.0))
    words = f"{style.true(wide)} long, {style.true(across)} wide, straight between its ends; {pattern.note}"
    grain = pattern.grain if region is pattern.region else 0.0
    return replace(pattern, note=words, region=shapely.union_all([first, moved]), grain=grain)
