"""Laws of edits and order of letting in together: a random drawing, random edits, and what is let in over what.

Shapes of three colours are laid over one another, with spots in them; areas are then merged, dropped, renamed, given
other woods, stacked anew, simplified or made symmetrical, some are let in over or beside by a wish of the job.
"""

from contextlib import suppress
from dataclasses import dataclass, replace
from random import Random

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from purfle.artwork import areas_of_drawing, choose_woods, compose, edit_areas, restack
from purfle.artwork.woods import design_bounds
from purfle.errors import FitError, JobFileError
from purfle.fit import let_in_order
from purfle.geometry.offsetting import Region, closing, closing_by_clipper
from purfle.geometry.partition import tiling_of
from purfle.model.artwork import AreaEdits, Areas, Drawing, PaintedShape, SymmetryWish
from purfle.model.pieces import DrawnArea, Fit, FitRule
from purfle.tolerances import CLOSED, DETAIL_IN_RADII, SEAM_CORNER_FACTOR, SEAM_DRAWN

RULE = FitRule(cutter_radius=1.5875, seam=0.1)
OFTEN = settings(max_examples=10, deadline=None, derandomize=True)
FEW = settings(max_examples=4, deadline=None, derandomize=True, phases=[Phase.generate])
"""Fits take a second each: no time is spent on making a failing example smaller."""
WOODS = {(200, 30, 30): "padauk_african", (30, 30, 30): "wenge", (230, 220, 200): "holly"}
STOCK = [(wood, colour) for colour, wood in WOODS.items()]
Laid = list[tuple[tuple[int, int, int], Polygon]]

places = st.integers(0, 300).map(lambda tenth: tenth / 10)
sizes = st.integers(25, 120).map(lambda tenth: tenth / 10)
spots = st.integers(20, 45).map(lambda tenth: tenth / 10)
colours = st.sampled_from(sorted(WOODS))
discs = st.builds(lambda x, y, r: Point(x, y).buffer(r, quad_segs=16), places, places, sizes)
bars = st.builds(
    lambda x, y, a, b, turn: rotate(box(x, y, x + 2 * a, y + b), turn),
    places, places, sizes, sizes, st.integers(0, 89),
)  # fmt: skip
shapes = st.lists(st.tuples(colours, discs | bars), min_size=2, max_size=5)


@dataclass(frozen=True)
class Wanted:
    """What is done to the areas: numbers stand for shapes, taken round as often as there are shapes."""

    merged: tuple[int, int] | None
    ground: int | None
    neighbour: int | None
    lifted: bool
    smallest: float
    symmetry: SymmetryWish | None
    renamed: int | None
    beside: bool


edits = st.builds(
    Wanted,
    merged=st.none() | st.tuples(st.integers(0, 4), st.integers(0, 4)),
    ground=st.none() | st.integers(0, 4),
    neighbour=st.none() | st.integers(0, 4),
    lifted=st.booleans(),
    smallest=st.sampled_from([0.0, 0.0, 3.0, 12.0]),
    symmetry=st.none() | st.builds(SymmetryWish, st.booleans(), st.none(), st.booleans()),
    renamed=st.none() | st.integers(0, 4),
    beside=st.booleans(),
)


def drawing_of(laid: Laid, with_spots: list[float]) -> Drawing:
    """Shapes named by their number, a spot of another colour within each of the first ones."""
    painted = [PaintedShape(f"shape {n}", colour, region) for n, (colour, region) in enumerate(laid)]
    order = sorted(WOODS)
    for n, radius in enumerate(with_spots[: len(laid)]):
        colour, region = laid[n]
        middle = region.representative_point()
        other = order[(order.index(colour) + 1) % len(order)]
        painted.append(PaintedShape(f"spot {n}", other, middle.buffer(radius, quad_segs=16)))
    return Drawing(60.0, 60.0, tuple(painted), (), "random")


def height_of(areas: Areas) -> float:
    _, low, _, high = design_bounds(areas)
    return high - low


def edited(drawing: Drawing, wanted: Wanted) -> Areas:
    """The areas after all that is wanted and possible; what the edits refuse is left out, one after the other."""
    plain = areas_of_drawing(drawing)
    if wanted.lifted:
        with suppress(JobFileError):
            plain = areas_of_drawing(restack(drawing, [("shape 0", "shape 1")], height_of(plain)))
    height = height_of(plain)
    names = sorted({area.name for area in plain.areas if area.number not in plain.ground})

    def name(number: int) -> str:
        return names[number % len(names)]

    asked = AreaEdits(
        merge=() if wanted.merged is None else (tuple(dict.fromkeys(map(name, wanted.merged))),),
        to_ground=() if wanted.ground is None else (name(wanted.ground),),
        to_neighbour=() if wanted.neighbour is None else (name(wanted.neighbour),),
        smallest=wanted.smallest,
        symmetry=wanted.symmetry,
    )
    called = () if wanted.renamed is None else ((name(wanted.renamed), "called anew"),)
    for less in ({}, {"merge": ()}, {"to_ground": ()}, {"to_neighbour": ()}, {"symmetry": None}):
        asked = replace(asked, **less)
        with suppress(JobFileError):
            return edit_areas(plain, height, asked, called if asked.merge == () else ())
    return edit_areas(plain, height, AreaEdits())


def drawn_of(areas: Areas) -> tuple[DrawnArea, ...]:
    """At true size, each area with the wood of its colour, one of them with another."""
    return choose_woods(areas, 1.0, STOCK, ()).areas


def fitted(drawn: tuple[DrawnArea, ...], beside: bool = False) -> tuple[Fit, ...]:
    """The fits; `beside`: as if the job asked that of every spot. A refusal has to say what, where and how to mend."""
    spots = {area.name for area in drawn if area.name.startswith("spot")}
    return let_in_order(drawn, RULE, [(name, "beside") for name in sorted(spots)] if beside else [])


def settled(drawn: tuple[DrawnArea, ...], beside: bool = False) -> tuple[Fit, ...]:
    """The fits of one example; none where they are refused, which has to be said in full."""
    try:
        return fitted(drawn, beside)
    except FitError as refusal:
        faults = refusal.faults
    assert all(one.what and one.where and one.mend for one in faults)
    return ()


@OFTEN
@given(shapes, st.lists(spots, max_size=3), edits)
def test_edited_areas_tile_their_frame_and_nothing_goes_without_a_word(
    laid: Laid, with_spots: list[float], wanted: Wanted
) -> None:
    """The outside reference: the frame is a rectangle. Each name that is gone stands in a note."""
    drawing = drawing_of(laid, with_spots)
    before, after = areas_of_drawing(drawing), edited(drawing, replace(wanted, symmetry=None, lifted=False))
    regions = [area.region for area in after.areas]
    frame = after.width * after.height
    assert shapely.coverage_is_valid(regions)
    assert sum(region.area for region in regions) == pytest.approx(frame, rel=1e-9)
    gone = {area.name for area in before.areas} - {area.name for area in after.areas}
    told = " ".join(finding.what for finding in after.doubts)
    if wanted.renamed is None:
        assert all(f'"{name}"' in told for name in gone - {"ground"})


@FEW
@given(shapes, st.lists(spots, min_size=1, max_size=3), edits)
def test_every_order_of_letting_in_is_sound(laid: Laid, with_spots: list[float], wanted: Wanted) -> None:
    """Tiled, closed, as wide a seam as asked for, in the wood of its hosts, and nothing lost without a word."""
    drawn = drawn_of(edited(drawing_of(laid, with_spots), wanted))
    fits = settled(drawn, wanted.beside)
    for fit in fits:
        refuse_gaps(fit)
        refuse_what_the_cutter_cannot_make(fit)
        assert fit.seam.narrowest >= RULE.seam - SEAM_DRAWN
        assert fit.seam.widest <= SEAM_CORNER_FACTOR * RULE.seam
    refuse_seats_out_of_wood(fits)
    if fits:
        refuse_silent_losses(drawn, fits)


def refuse_gaps(fit: Fit) -> None:
    """Pieces and ground fill their domain once and share every edge."""
    pieces = fit.pieces
    tiling = tiling_of([pieces.ground, *(piece.region for piece in pieces.pieces)], pieces.domain)
    assert tiling.edges_shared
    assert max(tiling.area_apart, abs(tiling.area_twice)) < 1e-6


def refuse_what_the_cutter_cannot_make(fit: Fit) -> None:
    """Inserts, and what is left round the recess, equal their closing by the whole radius, by either engine."""
    for region in (*(insert.region for insert in fit.inserts), fit.pieces.domain.difference(fit.recess)):
        for close in (closing, closing_by_clipper):
            beyond = close(region, RULE.cutter_radius).difference(region)
            vertices = shapely.points(shapely.get_coordinates(beyond))
            assert shapely.distance(region, vertices).max(initial=0.0) <= CLOSED


def refuse_seats_out_of_wood(fits: tuple[Fit, ...]) -> None:
    """A later recess lies in its hosts, their glued seams counted, and keeps no island; numbers and names differ."""
    inserts = {insert.number: insert for fit in fits for insert in fit.inserts}
    assert sorted(inserts) == list(range(1, len(inserts) + 1))
    assert len({insert.name for insert in inserts.values()}) == len(inserts)
    for fit in fits[1:]:
        assert sum(len(part.interiors) for part in shapely.get_parts(fit.recess)) == 0
        for insert in fit.inserts:
            assert insert.hosts
            assert all(number < insert.number for number in insert.hosts)
            wood = closing(shapely.union_all([inserts[number].region for number in insert.hosts]), RULE.seam)
            held = [part for part in shapely.get_parts(fit.recess) if part.intersects(insert.region)]
            assert all(part.difference(wood).area < 1e-6 for part in held)


def refuse_silent_losses(drawn: tuple[DrawnArea, ...], fits: tuple[Fit, ...]) -> None:
    """What the eye sees in the end, from the last order down, differs from the drawing by listed details and by
    corners smaller than one.
    """
    seen: dict[str, list[Region]] = {}
    covered: Region = Polygon()
    for fit in reversed(fits):
        for piece in fit.pieces.pieces:
            seen.setdefault(piece.wood, []).append(piece.region.difference(covered))
        covered = shapely.union_all([covered, *(piece.region for piece in fit.pieces.pieces)])
    listed = [lost.region for fit in fits for lost in fit.pieces.lost]
    for area in drawn:
        shown = [*seen.get(area.wood, []), *listed]
        gone = area.region.difference(shapely.union_all(shown).buffer(0.003)) if shown else area.region
        detail = gone.buffer(-1.1 * DETAIL_IN_RADII * RULE.cutter_radius)
        assert detail.is_empty, f"{area.name} lost {gone.area:.2f} mm2 without a word"


@FEW
@given(shapes, st.lists(spots, max_size=3), edits, st.randoms(use_true_random=False))
def test_the_order_of_the_areas_makes_no_difference(
    laid: Laid, with_spots: list[float], wanted: Wanted, chance: Random
) -> None:
    drawn = drawn_of(edited(drawing_of(laid, with_spots), wanted))
    mixed = list(drawn)
    chance.shuffle(mixed)
    assert settled(tuple(mixed)) == settled(drawn)


@FEW
@given(shapes, st.lists(spots, max_size=3), edits, st.integers(0, 300), st.integers(0, 300))
def test_where_a_design_stands_makes_no_difference(
    laid: Laid, with_spots: list[float], wanted: Wanted, x: int, y: int
) -> None:
    """Pieces are made from the design's own corner, so that wherever on the board its artworks stand, they are the same
    to the last digit: moved by whole mm here. Moved by less, a corner may come to lie on another place of the grid of a
    ten-thousandth of a mm.
    """
    drawn = drawn_of(edited(drawing_of(laid, with_spots), wanted))
    moved = [replace(area, region=translate(area.region, x, y)) for area in drawn]
    here, there = (compose(artworks).areas for artworks in (drawn, moved))
    assert settled(there, wanted.beside) == settled(here, wanted.beside)


@FEW
@given(shapes, st.lists(spots, max_size=3), st.booleans(), st.booleans())
def test_a_design_made_symmetrical_stays_so_in_its_pieces(
    laid: Laid, with_spots: list[float], upright: bool, upper: bool
) -> None:
    """Every insert's mirror image is an insert's outline, unless a note says that the pieces are so only nearly."""
    wanted = Wanted(None, None, None, False, 0.0, SymmetryWish(upright, None, upper), None, False)
    drawn = drawn_of(edited(drawing_of(laid, with_spots), wanted))
    left, low, right, high = shapely.total_bounds([area.region for area in drawn]).tolist()
    axis, sense = ((left + right, 0.0), (-1.0, 1.0)) if upright else ((0.0, low + high), (1.0, -1.0))
    for fit in settled(drawn):
        nearly = any("mirror image" in finding.what for finding in fit.pieces.findings)
        outlines = [insert.region for insert in fit.inserts]
        images = [shapely.transform(one, lambda xy: xy * sense + axis) for one in outlines]
        assert nearly or all(min(shapely.hausdorff_distance(i, one) for one in outlines) < 0.05 for i in images)
