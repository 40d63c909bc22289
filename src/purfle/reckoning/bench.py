"""Work at the bench, counted from what there is to do, and the waiting between."""

from collections.abc import Callable

from purfle.model.job import JobResult
from purfle.model.reckoning import BenchWork, Range, Waiting, Work
from purfle.reckoning.figures import figure_of, range_of, source_of, words_of
from purfle.wood import practice
from purfle.wood.finishes import drying_of, grits

WORTH_PLANING = 0.1
"""An offcut thicker than its parts by more (mm) is planed first (common practice, no source)."""
OWN = "as the job says"
SQUARE_DECIMETRE, SQUARE_METRE = 1e4, 1e6

Reckoned = list[tuple[float, str, str]]
"""How many, the figure that each takes, and what they are called."""


def bench_work(result: JobResult) -> list[Work]:
    """Every kind of work at the bench that the job has, in its order; what it has none of is left out."""
    known = dict(result.job.bench)
    work = []
    for name, counted in COUNTED.items():
        reckoned = [one for one in counted(result) if one[0] > 0]
        if name in known:
            minutes = Range.known(known[name])
            work.append(Work("bench", name, minutes, minutes, OWN, "job.toml, [bench]"))
        elif reckoned:
            minutes = Range.total(figure_of(item).times(count) for count, item, _ in reckoned)
            sources = dict.fromkeys(source_of(item) for _, item, _ in reckoned)
            words = ", ".join(words for _, _, words in reckoned if words)
            work.append(Work("bench", name, minutes, minutes, words, "; ".join(sources)))
    return work


def waiting_of(result: JobResult) -> tuple[Waiting, ...]:
    """Waiting for glue before each levelling, and for each coat."""
    found = []
    if count := goes(result):
        clamps, hard = practice("glue", "PVA clamp time at 21 C"), practice("glue", "PVA hard enough to level")
        words = "glue, in the clamps" if count == 1 else f"glue, in the clamps, {count} goes"
        # clamp times are in minutes
        found.append(Waiting(words, range_of(clamps).times(count / 60.0), words_of(clamps)))
        words = "glue, hard before levelling" if count == 1 else f"glue, hard before levelling, {count} goes"
        found.append(Waiting(words, range_of(hard).times(count), words_of(hard)))
    finish = result.job.finish
    if finish.kind is not None and finish.coats:
        drying = drying_of(finish.kind)
        words = f"{finish.kind}, {_plural(finish.coats, 'coat')}"
        found.append(Waiting(words, range_of(drying).times(finish.coats), words_of(drying)))
    return tuple(found)


def goes(result: JobResult) -> int:
    """How often something is glued in and waited for: once for each order and face, keys among the first."""
    return len({(inlay.order, inlay.face) for inlay in result.layout.inlays if inlay.fit.inserts})


def let_in(result: JobResult) -> int:
    """How many parts are let in."""
    return sum(len(inlay.fit.inserts) for inlay in result.layout.inlays)


def glued_area(result: JobResult) -> float:
    """Floors of all recesses that take inserts, mm2."""
    return float(sum(inlay.fit.recess.area for inlay in result.layout.inlays))


def _setting_out(result: JobResult) -> Reckoned:
    """On a machine the zero takes the place of the distances; by hand each is set out."""
    distances = 0 if result.job.cutting.way == "machine" else len(result.layout.marks)
    return [
        (1, "setting out datum edges and centre lines", "datum edges"),
        (distances, "setting out, each distance", _plural(distances, "distance")),
    ]


def _planing(result: JobResult) -> Reckoned:
    count = 0
    for offcut in result.on_offcuts.used:
        parts = [one.part for one in result.on_offcuts.places if one.offcut == offcut.name]
        thickest = max(part.thickness for part in parts)
        if result.on_offcuts.sawing(offcut.name) is None and offcut.thickness - thickest > WORTH_PLANING:
            count += 1
    return [(count, "planing an offcut to thickness", _plural(count, "offcut"))]


def _paring(result: JobResult) -> Reckoned:
    count = sum(len(line.remnants) for one in result.cutting.set_ups for line in one.lines)
    return [(count, "paring, each corner", _plural(count, "corner"))]


def _tabs(result: JobResult) -> Reckoned:
    count = sum(len(line.tabs) for one in result.cutting.set_ups for line in one.lines)
    return [(count, "tab, cutting one and paring its foot", _plural(count, "tab"))]


def _sawing(result: JobResult) -> Reckoned:
    slices = sum(one.sawing.copies for one in result.cutting.set_ups if one.sawing)
    plates = sum(len(one.fit.inserts) for one in result.layout.inlays if one.fit.walls is not None)
    return [
        (slices, "slice, sawing one off and planing it", _plural(slices, "slice")),
        (plates, "plate, sawing one off", _plural(plates, "plate")),
    ]


def _dry_fit(result: JobResult) -> Reckoned:
    return [(let_in(result), "dry fit, each part with its chamfer", _plural(let_in(result), "part"))]


def _glueing(result: JobResult) -> Reckoned:
    return [
        (let_in(result), "glueing in, each part", _plural(let_in(result), "part")),
        (goes(result), "clamping, each go", _plural(goes(result), "go", "goes")),
    ]


def _levelling(result: JobResult) -> Reckoned:
    return [
        (goes(result), "levelling, each go", _plural(goes(result), "go", "goes")),
        (glued_area(result) / SQUARE_DECIMETRE, "levelling, each square decimetre let in", "the area let in"),
    ]


def _sanding(result: JobResult) -> Reckoned:
    """Faces with something let in are sanded through all grits."""
    faces = {inlay.face for inlay in result.layout.inlays}
    area = result.layout.board.outline.area * len(faces) / SQUARE_METRE
    words = f"{_plural(len(faces), 'face')}, {len(grits())} grits"
    return [(area * len(grits()), "sanding, each square metre and grit", words)]


def _finishing(result: JobResult) -> Reckoned:
    coats = result.job.finish.coats
    area = result.layout.board.surface / SQUARE_METRE
    return [
        (coats * area, "finish, each coat's square metre", _plural(coats, "coat")),
        (coats, "finish, each coat's getting ready and cleaning up", ""),
    ]


def _drilling(result: JobResult) -> Reckoned:
    """The holes of the drilling list: each is pricked and drilled by hand."""
    count = len(result.layout.holes)
    return [(count, "drilling, each hole with its mark", _plural(count, "hole"))]


def _hardware(result: JobResult) -> Reckoned:
    kinds = [fitting.kind for fitting in result.layout.fittings]
    hinges, magnets = kinds.count("hinge"), kinds.count("magnet")
    bare = result.layout.bare_counts
    # a cable hole is drilled, and nothing is fitted in it
    others = len(kinds) - hinges - magnets + sum(bare.values()) - bare.get("cable hole", 0)
    return [
        (hinges, "fitting a hinge", _plural(hinges, "hinge")),
        (magnets, "fitting a magnet", _plural(magnets, "magnet")),
        (others, "fitting other hardware", f"{others} other" if hinges or magnets else _plural(others, "fitting")),
    ]


def _plural(count: int, one: str, many: str = "") -> str:
    return f"{count} {one if count == 1 else many or one + 's'}"


COUNTED: dict[BenchWork, Callable[[JobResult], Reckoned]] = {
    "setting out": _setting_out,
    "planing offcuts": _planing,
    "paring corners": _paring,
    "cutting off tabs": _tabs,
    "sawing off": _sawing,
    "dry fit": _dry_fit,
    "glueing": _glueing,
    "levelling": _levelling,
    "sanding": _sanding,
    "finishing": _finishing,
    "drilling": _drilling,
    "hardware": _hardware,
}
"""How each kind of work is counted, in the order in which it is done."""
