"""Areas as the maker wants them: merged, dropped, simplified, made symmetrical.

Only whole areas change hands, along borders that they share already, so that areas tile the frame after any edits as
they did before. What is done is told in `Areas.doubts`; an edit that meets nothing, or that speaks against another one,
is a fault. Points and names are those of the design as it was before all edits.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import shapely

from purfle.artwork.drawing import arcs_of
from purfle.artwork.grouping import Groups
from purfle.artwork.inner_lines import lines_told, with_lines_chosen
from purfle.artwork.outlines import dissolved, is_line, lines_inside
from purfle.artwork.picking import Picker, called, said
from purfle.artwork.symmetry import made_symmetrical
from purfle.artwork.woods import design_bounds
from purfle.errors import Fault, JobFileError
from purfle.model.artwork import Area, AreaEdits, Areas, Which
from purfle.model.findings import Finding
from purfle.tolerances import SEEN_ON_A_RULE
from purfle.units import in_mm

Naming = tuple[tuple[float, float] | str, str]
AS_DRAWN = "Take it out of [areas] to have it as drawn."


def edit_areas(areas: Areas, height: float, edits: AreaEdits, names: Sequence[Naming] = ()) -> Areas:
    """The areas with their names, edited; everything that was done is a note in `doubts`.

    `height`: of the design before the edits, in mm; its scale stays what it was. Shapes of a drawing are put on top of
    one another before there are areas (see `restack`). The order: names, dissolving, lines inside one area,
    merging, dropping, small areas, symmetry.

    Raises: JobFileError with every edit and name that meets nothing, and every two that speak against each other.
    """
    notes: list[Finding] = []
    design = design_bounds(areas)
    scale = height / (design[3] - design[1])
    picker = Picker(areas.areas, design[:2], scale, areas.ground)
    picker.areas = named(picker, names)
    called_so = _names(picker.areas, areas.ground)
    if edits.dissolve:
        areas, notes = _dissolve(areas, picker, edits.dissolve)
        areas = replace(areas, design=design)
        gone = dict.fromkeys(called_so - _names(areas.areas, areas.ground), "dissolve")
        picker = Picker(areas.areas, design[:2], scale, areas.ground, picker.faults, gone)
    if edits.lines:
        areas, told = with_lines_chosen(areas, picker, edits.lines)
        notes += told
        gone = picker.gone | dict.fromkeys(
            _names(picker.areas, areas.ground) - _names(areas.areas, areas.ground), "lines"
        )
        areas = replace(areas, design=design)
        picker = Picker(areas.areas, design[:2], scale, areas.ground, picker.faults, gone)
    groups = Groups(picker.areas, set(areas.ground))
    merging = _merge_sets(picker, edits.merge)
    to_ground = _all_of(picker, edits.to_ground, "to_ground")
    to_neighbour = _all_of(picker, edits.to_neighbour, "to_neighbour")
    _refuse_contradictions(picker, merging, to_ground, to_neighbour)
    notes += _merge(picker, groups, merging)
    if picker.faults:
        raise JobFileError.of(picker.faults)
    notes += _drop(picker, groups, to_ground, to_neighbour)
    notes += _simplify(groups, edits, scale)
    edited = _areas_of(areas, groups, picker.areas, design)
    _refuse_nothing_left(edited)
    merged = {number for group in merging for number in group}
    _note_gone(picker, edited, {"to_ground": to_ground, "to_neighbour": to_neighbour, "merge": merged})
    if edits.symmetry is not None:
        dropped = [picker.areas[number] for number in sorted(to_ground | to_neighbour)]
        edited, told = made_symmetrical(edited, edits.symmetry, scale, dropped)
        notes += told
        left = _names(picker.areas, areas.ground) - picker.gone.keys() - _names(edited.areas, edited.ground)
        picker.gone |= dict.fromkeys(left, "symmetrical")
    notes += _smaller(edited, height, scale)
    notes += lines_told(edited, design, scale)
    return replace(edited, doubts=(*edited.doubts, *notes), gone=tuple(sorted(picker.gone.items())))


def _names(areas: Sequence[Area], ground: frozenset[int]) -> set[str]:
    """The names of what is let in."""
    return {area.name for area in areas if area.name and area.number not in ground}


def _note_gone(picker: Picker, edited: Areas, taken: dict[str, set[int]]) -> None:
    """Which edit took each name that no area has any more."""
    left = _names(edited.areas, edited.ground)
    for area in picker.areas:
        if area.name and area.number not in picker.ground and area.name not in left:
            edits = [edit for edit, numbers in taken.items() if area.number in numbers]
            picker.gone[area.name] = edits[0] if edits else "smallest, narrowest"


def named(picker: Picker, names: Sequence[Naming]) -> list[Area]:
    """The areas under the names that the maker gives them, each by a point inside it or by its name so far."""
    found: dict[int, str] = {}
    for which, name in names:
        for number in picker.pick(which, f'[names] "{name}"'):
            if found.get(number, name) != name:
                what = f'One area is given two names, "{found[number]}" and "{name}".'
                picker.faults.append(Fault(what, f"[names] {said(which)}", "Keep one of them."))
            found[number] = name
    return [replace(area, name=found.get(area.number, area.name)) for area in picker.areas]


def _dissolve(areas: Areas, picker: Picker, wanted: Iterable[Which]) -> tuple[Areas, list[Finding]]:
    """The areas without the lines that were meant, and what was done. A colour means the lines drawn in it alone."""
    numbers: set[int] = set()
    inside = lines_inside(picker.areas, areas.ground)
    for which in wanted:
        picked = picker.pick(which, "[areas] dissolve")
        if not isinstance(which, str) and len(which) == 3:
            picked = _lines_between(picker, which, picked, [line.number for line, _ in inside])
        numbers |= set(picked)
    left = [area for area in picker.areas if area.number not in numbers and area.number not in areas.ground]
    if not left and not picker.faults:
        mend = "Keep one area at least."
        picker.faults.append(Fault("Nothing is left to let in: every area is dissolved.", "[areas] dissolve", mend))
    if picker.faults:
        raise JobFileError.of(picker.faults)
    told = []
    for area in [area for area in picker.areas if area.number in numbers]:
        what = f"Dissolved: the neighbours of {called(area)} share it."
        told.append(Finding("note", what, f"the line at {picker.place_in(area)}", AS_DRAWN, "artwork"))
    return dissolved(replace(areas, areas=tuple(picker.areas)), sorted(numbers)), told


def _lines_between(picker: Picker, colour: Which, picked: list[int], inside: list[int]) -> list[int]:
    """The lines among areas drawn in a colour, but for those inside one area alone; a fault where none is left."""
    lines = [number for number in picked if is_line(picker.areas[number])]
    between = [number for number in lines if number not in inside]
    if picked and not between:
        what = f"No area drawn in {said(colour)} is a line" + (" between others." if lines else ".")
        mend = "Name the area, or give a point in it, if it is to be dissolved all the same."
        picker.faults.append(Fault(what, "[areas] dissolve", mend))
    return between


def _all_of(picker: Picker, wanted: Iterable[Which], edit: str) -> set[int]:
    return {number for which in wanted for number in picker.pick(which, f"[areas] {edit}")}


def _merge_sets(picker: Picker, wanted: Iterable[Sequence[Which]]) -> list[list[int]]:
    """The areas to merge, in the order named; groups that have an area in common are one."""
    sets: list[list[int]] = []
    for group in wanted:
        picked = list(dict.fromkeys(number for which in group for number in picker.pick(which, "[areas] merge")))
        if len(picked) == 1:
            what = f"Only one area is named, {called(picker.areas[picked[0]])}; merging takes two."
            picker.faults.append(Fault(what, "[areas] merge", "Name another area beside it, or take the group out."))
        overlapping = [one for one in sets if set(one) & set(picked)]
        sets = [one for one in sets if one not in overlapping]
        sets.append(list(dict.fromkeys(number for one in (*overlapping, picked) for number in one)))
    return sets


def _refuse_contradictions(picker: Picker, merging: list[list[int]], ground: set[int], neighbour: set[int]) -> None:
    merged = {number for group in merging for number in group}
    for one, other, first, second in (
        (ground, neighbour, "to_ground", "to_neighbour"),
        (merged, ground, "merge", "to_ground"),
        (merged, neighbour, "merge", "to_neighbour"),
    ):
        for number in sorted(one & other):
            what = f"{called(picker.areas[number])} stands in {first} and in {second}."
            picker.faults.append(Fault(_capital(what), "[areas]", "Keep it in one of them."))


def _merge(picker: Picker, groups: Groups, merging: list[list[int]]) -> list[Finding]:
    notes = []
    for numbers in merging:
        if not numbers:
            continue
        apart = groups.not_reached(numbers)
        if apart:
            first, other = called(picker.areas[numbers[0]]), called(picker.areas[apart[0]])
            beside = [called(picker.areas[number]) for number in groups.beside(apart[0])][:5]
            mend = f"It lies against {', '.join(beside)}." if beside else "It lies against the ground alone."
            what = f"{first} and {other} do not lie against each other, so they cannot be one area."
            picker.faults.append(Fault(_capital(what), "[areas] merge", mend))
            continue
        for number in numbers[1:]:
            groups.join(numbers[0], number)
        words = " and ".join(dict.fromkeys(called(picker.areas[number]) for number in numbers))
        what = f"Merged: {words} are one area, {called(picker.areas[numbers[0]])}."
        notes.append(Finding("note", what, "[areas] merge", AS_DRAWN, "artwork"))
    return notes


def _drop(picker: Picker, groups: Groups, to_ground: set[int], to_neighbour: set[int]) -> list[Finding]:
    notes = []
    for number in sorted(to_ground):
        groups.make_ground(number)
        what = f"Dropped: {called(picker.areas[number])} is ground now."
        notes.append(Finding("note", what, "[areas] to_ground", AS_DRAWN, "artwork"))
    for number, taker in groups.give_to_neighbours(to_neighbour).items():
        what = f"Dropped: {called(picker.areas[number])} belongs to {_taker(picker.areas, groups, taker)} now."
        notes.append(Finding("note", what, "[areas] to_neighbour", AS_DRAWN, "artwork"))
    return notes


def _simplify(groups: Groups, edits: AreaEdits, scale: float) -> list[Finding]:
    """Small and narrow areas go to their neighbours; what happened to each is a note."""
    if edits.smallest == 0.0 and edits.narrowest == 0.0:
        return []
    limits = (edits.smallest / scale**2, edits.narrowest / scale)
    notes = []
    for number, size, taker in groups.give_small_ones(*limits):
        area = groups.areas[number]
        words = "a spot of ground" if number in groups.bare else called(area)
        what = f"Too small: {words} ({size * scale**2:.2f} mm2) belongs to {_taker(groups.areas, groups, taker)} now."
        notes.append(Finding("note", what, "[areas] smallest, narrowest", AS_DRAWN, "artwork"))
    if not notes:
        what = "No area is smaller than smallest, or narrower than narrowest."
        notes.append(Finding("note", what, "[areas] smallest, narrowest", "Nothing to mend.", "artwork"))
    return notes


def _taker(areas: Sequence[Area], groups: Groups, taker: int) -> str:
    return "the ground" if groups.is_ground(taker) else called(areas[taker])


def _areas_of(
    areas: Areas, groups: Groups, named_areas: Sequence[Area], design: tuple[float, float, float, float]
) -> Areas:
    """The groups as areas, numbered anew in the order of their first members."""
    if not groups.changed:
        return replace(areas, areas=tuple(named_areas), design=design)
    made, ground = [], set()
    for number, (leader, members) in enumerate(groups.in_order()):
        region = shapely.coverage_union_all([named_areas[one].region for one in members])
        (outline,) = shapely.get_parts(region)
        if groups.is_ground(leader):
            ground.add(number)
        made.append(replace(named_areas[leader], number=number, region=outline))
    return replace(areas, areas=tuple(made), arcs=arcs_of(tuple(made)), ground=frozenset(ground), design=design)


def _refuse_nothing_left(areas: Areas) -> None:
    if len(areas.ground) == len(areas.areas):
        mend = "Keep one area at least."
        raise JobFileError("Nothing is left to let in: every area is dropped.", "[areas]", mend)


def _smaller(areas: Areas, height: float, scale: float) -> list[Finding]:
    """The height of the design if the edits changed it: its scale stays, so that no point moves."""
    _, low, _, high = design_bounds(replace(areas, design=None))
    now = (high - low) * scale
    if abs(now - height) < SEEN_ON_A_RULE:
        return []
    what = f"The edited design is {now:.1f} mm high; the height of {in_mm(height)} is that before the edits."
    mend = "Change the height in [picture] if that is too little."
    return [Finding("look", what, "[picture] height", mend, "artwork")]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
