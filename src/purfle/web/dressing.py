"""What a chosen sentence dresses the drawing with: asked for when it is chosen, worked out from stages that are kept.

Lengths in mm in the board frame; every figure that is read is also told as words in the unit of the job.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from purfle import cutter_choice, season
from purfle import job as flow
from purfle.errors import PurfleError
from purfle.files.job_folder import read_job_folder
from purfle.fit.departures import fidelity_of
from purfle.fit.letting_in import gaps_of
from purfle.fitted import finishing_cutters
from purfle.foreseen import Asked, design_kept, fingerprint, foresee
from purfle.geometry.offsetting import difference
from purfle.model.board import Inlay
from purfle.model.cutter_choice import CutterChoice, CutterSet, Departure
from purfle.model.cutting import Program, SetUp
from purfle.model.job import JobResult
from purfle.model.season import Air
from purfle.units import figure, number
from purfle.web.docket.wording import Seen, capital, minutes_told, named
from purfle.web.paths import path_of
from purfle.web.shelf import Shelf

Drawn = dict[str, Any]
STEPS = 48
"""The curve of the seam has so many steps from one winter to the next."""
WIDER = 0.004
"""A seam wider than asked for by so many mm is drawn heavier."""
APART = 0.6
"""Heavier places that are drawn lie so many mm apart at least."""
MOST_DEPARTURES = 24
"""So many lost details and shorter corners are shown, the largest first."""


def dressing(folder: Path, text: str, what: str, shelf: Shelf) -> Drawn:
    """What is asked for of a job. Raises PurfleError where the job cannot be made."""
    asked = Asked.of(*read_job_folder(folder, text.encode()))
    if what == "cutters":
        return _cutters(asked, shelf)
    result = foresee(asked, shelf)
    return DRESSES[what](result, asked, shelf)


# --- the seam


def _seam(result: JobResult, _: Asked, shelf: Shelf) -> Drawn:
    """The seam all along it: its lines, where it is wider than asked for, its narrowest and its widest place."""
    unit, asked_for = result.job.unit, result.job.fit.seam
    lines, wider, marks, shares = [], [], [], []
    for inlay in result.layout.inlays:
        if inlay.kind == "key" or inlay.fit.walls is not None:
            continue
        places, widths, lengths = shelf.kept("seam map", fingerprint(inlay.fit), lambda one=inlay: _gaps(one))  # type: ignore[misc]
        on_board = [inlay.pose.point(x, y) for x, y in places.tolist()]
        lines += [{"d": path_of(inlay.pose.region(one.region)), "face": inlay.face} for one in inlay.fit.inserts]
        wider += [
            {"face": inlay.face, "x": round(on_board[n][0], 2), "y": round(on_board[n][1], 2), "over": round(over, 4)}
            for n, over in _heavier(places, widths - asked_for)
        ]
        for kind, n in (("narrowest", int(widths.argmin())), ("widest", int(widths.argmax()))):
            marks.append(_mark(inlay, kind, on_board[n], float(widths[n])))
        shares.append((float(lengths[widths <= asked_for + 0.01].sum()) / 2, float(lengths.sum()) / 2))
    if not marks:
        return {"lines": [], "wider": [], "marks": [], "told": "Tapered walls close the seam when they are pressed in."}
    least = min((one for one in marks if one["kind"] == "narrowest"), key=lambda one: one["width"])
    most = max((one for one in marks if one["kind"] == "widest"), key=lambda one: one["width"])
    for one in (least, most):
        one["shown"] = figure(one["width"], unit, "width")
    within, whole = sum(one for one, _ in shares), sum(one for _, one in shares)
    told = f"{_long(whole, unit)} of seam, {100 * within / whole:.1f} of 100 no wider than "
    told += f"{figure(asked_for + 0.01, unit, 'width')}."
    scale = [number(mm, unit, "width") for mm in (least["width"], (least["width"] + most["width"]) / 2)]
    return {
        "lines": lines,
        "wider": wider,
        "marks": [least, most],
        "told": told,
        "scale": [*scale, figure(most["width"], unit, "width")],
    }


def _gaps(inlay: Inlay) -> tuple[Any, Any, Any]:
    fit = inlay.fit
    found = gaps_of(fit.inserts, difference(fit.pieces.domain, fit.recess), fit.pieces, fit.rule.seam)
    return found.places, found.widths, found.lengths


def _heavier(places: Any, over: Any) -> list[tuple[int, float]]:
    """The widest place of every small square in which the seam is wider than asked for."""
    found: dict[tuple[int, int], tuple[int, float]] = {}
    for n in np.flatnonzero(over > WIDER).tolist():
        square = int(places[n, 0] // APART), int(places[n, 1] // APART)
        if square not in found or over[n] > found[square][1]:
            found[square] = n, float(over[n])
    return list(found.values())


def _mark(inlay: Inlay, kind: str, place: tuple[float, float], width: float) -> Drawn:
    spot = shapely.Point(*place)
    near = min(inlay.fit.inserts, key=lambda one: float(inlay.pose.region(one.region).distance(spot)))
    where = near.name or f"piece {near.number}"
    return {
        "kind": kind,
        "face": inlay.face,
        "x": round(place[0], 2),
        "y": round(place[1], 2),
        "width": width,
        "where": where,
    }


def _long(mm: float, unit: Any) -> str:
    return f"{mm / 1000:.1f} m" if unit == "mm" else f"{mm / 304.8:.1f} ft"


# --- the wood that is left


def _thickness(result: JobResult, _: Asked, __: Shelf) -> Drawn:
    """What is left of the board everywhere, the thinnest first."""
    unit, whole = result.job.unit, result.job.board.thickness
    levels = []
    for one in result.layout.thickness:
        by = list(dict.fromkeys(one.cut_by))
        level = {"d": path_of(one.region), "left": round(one.left, 3), "share": round(one.left / whole, 4)}
        level |= {"shown": number(one.left, unit, "depth"), "told": figure(one.left, unit, "depth")}
        x, y = one.place
        room = float(shapely.boundary(one.region).distance(shapely.Point(x, y)))
        levels.append({**level, "by": by, "x": round(x, 2), "y": round(y, 2), "room": round(room, 2)})
    return {"levels": levels, "least": figure(result.job.least_left, unit, "depth")}


# --- what cannot be made


def _detail(result: JobResult, asked: Asked, shelf: Shelf) -> Drawn:
    """What the drawing has and the piece has not, and the corners that the chisel cleans out."""
    unit = result.job.unit
    gone: list[Drawn] = []
    chisel = [
        {"face": inlay.face, "x": round(x, 2), "y": round(y, 2), "d": path_of(inlay.pose.region(corner))}
        for inlay in result.layout.inlays
        for corner in inlay.fit.pieces.chiselled
        for x, y in [inlay.pose.point(corner.centroid.x, corner.centroid.y)]
    ]
    inlays = [one for one in result.layout.inlays if one.kind == "picture"]
    if len(result.job.artworks) > 1 or not inlays:
        for inlay in result.layout.inlays:
            for lost in inlay.fit.pieces.lost:
                x, y = inlay.pose.point(*lost.region.representative_point().coords[0])
                shape: Drawn = {"face": inlay.face, "x": round(x, 2), "y": round(y, 2)}
                told = f"{lost.name or 'detail'}: {lost.why}; {lost.instead}"
                gone.append({**shape, "d": path_of(inlay.pose.region(lost.region)), "kind": "detail", "told": told})
        return {"gone": gone, "chisel": chisel, "more": 0, "told": ""}
    fits = [one.fit for one in sorted(inlays, key=lambda one: one.fit.order)]
    drawn = design_kept(asked, shelf).drawn
    of = fingerprint([fit.pieces for fit in fits], drawn)
    found = shelf.kept("fidelity", of, lambda: fidelity_of(drawn, fits))
    for one in found.departures[:MOST_DEPARTURES]:
        x, y = inlays[0].pose.point(*one.place)
        place: Drawn = {"face": inlays[0].face, "x": round(x, 2), "y": round(y, 2), "kind": one.kind}
        region = path_of(inlays[0].pose.region(one.region))
        gone.append({**place, "d": region, "told": _departs(one, result), "depth": figure(one.depth, unit)})
    told = f"{100 * found.changed_share:.1f} % of the drawing changes wood; outlines move by "
    told += f"{figure(found.largest_move, unit, 'seam')} at most."
    return {"gone": gone, "chisel": chisel, "more": max(0, len(found.departures) - MOST_DEPARTURES), "told": told}


def _departs(one: Departure, result: JobResult) -> str:
    unit, seen = result.job.unit, Seen(result.job, result.shop)
    name = one.name or one.wood
    if one.kind == "area":
        return f"{name} is lost; {_wood(one.instead, seen)} lies there"
    if one.kind == "detail":
        return f"a detail of {name} is lost, {figure(one.depth, unit)} deep; {_wood(one.instead, seen)} lies there"
    return f"a corner of {name} comes out {figure(one.depth, unit)} shorter"


def _wood(name: str, seen: Seen) -> str:
    """A wood by the maker's word; the ground by that of the board."""
    try:
        return named(seen, name)
    except PurfleError:
        return seen.job.board.wood


# --- the passes


def _passes(result: JobResult, _: Asked, __: Shelf) -> Drawn:
    """Every set-up with its cutters and passes as a table."""
    return {"set_ups": [_set_up(one, result) for one in result.cutting.set_ups]}


def _set_up(one: SetUp, result: JobResult) -> Drawn:
    unit = result.job.unit
    rows = [row for program in one.programs for row in _program(program, unit)]
    rows += [
        [step.cutter.name, step.kind, figure(step.depth, unit, "depth"), _minutes(step.minutes)] for step in one.steps
    ]
    minutes = _minutes(one.cutting_minutes)
    return {"number": one.number, "title": one.title, "minutes": minutes, "holding": one.holding, "rows": rows}


def _program(one: Program, unit: Any) -> list[list[str]]:
    """One row for all passes of one kind that a program makes."""
    found: list[list[str]] = []
    for kind in dict.fromkeys(a_pass.kind for a_pass in one.passes):
        mine = [a_pass for a_pass in one.passes if a_pass.kind == kind]
        deep = max(a_pass.depth for a_pass in mine)
        count = f"{len(mine)} × " if len(mine) > 1 else ""
        minutes = _minutes(sum(a_pass.minutes for a_pass in mine))
        found.append([one.cutter.name, f"{count}{kind}", figure(deep, unit, "depth"), minutes])
    return found


def _minutes(minutes: float) -> str:
    return minutes_told(minutes) if minutes >= 0.5 else "< 1 min"


# --- the seasons


def _season(result: JobResult, _: Asked, __: Shelf) -> Drawn:
    """The narrowest and the widest seam through the year, its air swinging evenly between winter and summer."""
    job = result.job
    if job.season is None or result.seasons is None or not result.seasons.inserts:
        return {"months": []}
    place = job.season.place
    winter, summer = place.winter.moisture, place.summer.moisture
    widths: dict[float, tuple[float, float]] = {}
    months = []
    for month in range(STEPS + 1):
        share = (1.0 - np.cos(2.0 * np.pi * month / STEPS)) / 2.0
        moisture = round(float(winter + share * (summer - winter)), 6)
        if moisture not in widths:
            widths[moisture] = _in_air(result, moisture)
        low, high = widths[moisture]
        months.append({"narrowest": round(low, 4), "widest": round(high, 4), "moisture": round(moisture, 2)})
    opens = result.seasons.opens_at
    least, most = min(one["narrowest"] for one in months), max(one["widest"] for one in months)
    unit = job.unit
    told = f"In {place.name} wood goes from {winter:.1f} % in winter to {summer:.1f} % in summer. "
    told += f"The seam stands between {figure(least, unit, 'width')} and {figure(most, unit, 'width')}; "
    told += f"it shows as a line from {figure(opens, unit, 'seam')}."
    shown = {"opens": figure(opens, unit, "seam"), "asked": figure(job.fit.seam, unit, "seam")}
    return {"months": months, "opens": opens, "asked": job.fit.seam, "shown": shown, "told": told}


def _in_air(result: JobResult, moisture: float) -> tuple[float, float]:
    """The narrowest and the widest seam of all in steady air."""
    job = result.job
    assert job.season is not None
    steady = replace(job.season.place, winter=Air(moisture), summer=Air(moisture))
    there = replace(job, season=replace(job.season, place=steady))
    found = season.reckon(there, result.shop, result.layout, result.on_offcuts)
    inserts = found.inserts if found else ()
    if not inserts:
        return job.fit.seam, job.fit.seam
    return min(one.narrowest.width for one in inserts), max(one.widest.width for one in inserts)


# --- the cutters


def _cutters(asked: Asked, shelf: Shelf) -> Drawn:
    """Every cutter and every pair of the shop against what it makes of the drawing."""
    job, shop = asked.job, asked.shop
    if job.cutting.way != "machine":
        return {"rows": [], "why": "Cutters are compared for a machine; this job is cut by hand."}
    of = fingerprint(asked.design, job.cutting, job.fit, shop.machine, shop.cutters, shop.offcuts)
    choice: CutterChoice = shelf.kept("cutter choice", of, lambda: _chosen(asked, shelf))
    rows = [_set(one, choice) for one in choice.sets]
    for trial in choice.trials:
        if not trial.is_usable:
            reason = trial.too_short or (trial.refused[0].what if trial.refused else "")
            rows.append({"name": trial.cutter.name, "refused": capital(reason)})
    return {"rows": rows, "why": choice.why}


def _chosen(asked: Asked, shelf: Shelf) -> CutterChoice:
    tell = flow.telling(asked.job, asked.shop)
    try:
        drawn, _ = finishing_cutters(asked.job, asked.shop, design_kept(asked, shelf).drawn)
        question = cutter_choice.question_of(asked.job, asked.shop, drawn)
        return cutter_choice.reworded(cutter_choice.choose_cutters(question, asked.shop.cutters, shelf.told), tell)
    except PurfleError as refusal:
        raise refusal.reworded(tell) from refusal


def _set(one: CutterSet, choice: CutterChoice) -> Drawn:
    name = f"{one.finishing.name} after {one.clearing.name}" if one.clearing else one.finishing.name
    figures = {"minutes": round(one.minutes, 2), "changed": round(100 * one.changed_share, 3), "lost": one.lost}
    return {
        "name": name,
        "cutter": one.finishing.name,
        **figures,
        "told": minutes_told(one.minutes),
        "worth": one.is_worth_it,
        "best": one == choice.recommended,
        "chosen": one.clearing is None and one.finishing.name == choice.chosen,
    }


DRESSES: dict[str, Callable[[JobResult, Asked, Shelf], Drawn]] = {
    "seam": _seam,
    "thickness": _thickness,
    "detail": _detail,
    "passes": _passes,
    "season": _season,
}
WORDS = (*DRESSES, "cutters")
"""What can be asked for."""
