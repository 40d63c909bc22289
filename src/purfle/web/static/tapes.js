// @ts-check
/** Dimension lines: one running tape a direction and face from the datum edge; a figure on it is a field. */

import { at, r } from "./layout.js";
import { said } from "./units.js";

/**
 * @typedef {{v: number, id: string, label: string, edit: any, wood?: boolean}} Stop A mark on a tape, mm from the datum.
 * @typedef {{x: number, y: number, mm: number, id: string, label: string, edit: any, wood?: boolean}} Figure
 */

/** What stands on the tapes of a document. @param {any} doc */
export function stopsOf(doc) {
  const { board } = doc, tapes = { topX: [], lowX: [], showY: [], underY: [] };
  /** @type {any} */ (tapes).topX.push({ v: board.length, id: "board.length", label: "Board, length", edit: { length: ["board", "length"] } });
  /** @type {any} */ (tapes).showY.push({ v: board.width, id: "board.width", label: "Board, width", edit: { length: ["board", "width"] } });
  const one = doc.artworks.length === 1 ? doc.artworks[0] : null;
  if (one && one.box) {
    const place = middleOf(one), [x, y] = one.face === "show" ? ["topX", "showY"] : ["lowX", "underY"];
    /** @type {any} */ (tapes)[x].push({ v: place[0], id: "place.x", label: "Design, middle from datum edge B", edit: { place: one.path, axis: "x" } });
    /** @type {any} */ (tapes)[y].push({ v: place[1], id: "place.y", label: "Design, middle from datum edge A", edit: { place: one.path, axis: "y" } });
  }
  for (const thing of [...doc.fittings, ...doc.keys]) {
    if (!thing.path) continue;
    const [x, y] = thing.face === "show" ? ["topX", "showY"] : ["lowX", "underY"];
    const id = thing.path.join(".");
    /** @type {any} */ (tapes)[x].push({ v: thing.middle[0], id: `${id}.x`, label: `${thing.name}, middle from datum edge B`, edit: { place: thing.path, axis: "x" }, from: thing.middle[1] });
    if (!thing.open_edge) /** @type {any} */ (tapes)[y].push({ v: thing.middle[1], id: `${id}.y`, label: `${thing.name}, middle from datum edge A`, edit: { place: thing.path, axis: "y" }, from: thing.middle[0] });
  }
  return tapes;
}

/** The middle of an artwork, mm in the board frame. @param {any} one @returns {[number, number]} */
export const middleOf = one => [(one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2];

/** The tapes as lines, and their figures. @param {any} doc @param {import("./layout.js").View} v @param {any} tapes */
export function tapesOf(doc, v, tapes) {
  const unit = doc.job.unit; let g = ""; /** @type {Figure[]} */ const figures = [];
  const top = v.showBottom - v.deep, low = v.underTop + v.deep;
  for (const [stops, y, edge, face] of /** @type {any[]} */ ([[tapes.topX, top - 24, top, "show"], [tapes.lowX, low + 26, low, "underside"]])) {
    if (!stops.length) continue;
    const dir = Math.sign(y - edge), far = Math.max(...stops.map((/** @type {Stop} */ s) => s.v));
    g += `<path class="dim" d="M${r(v.ox)} ${r(y)}H${r(v.ox + far * v.s)}"/><circle class="origin" cx="${r(v.ox)}" cy="${r(y)}" r="4"/><path class="dim0" d="M${r(v.ox)} ${r(edge + 3 * dir)}V${r(y - 4 * dir)}"/>`;
    /** @type {number[]} */ const rows = [-1e9, -1e9, -1e9];
    for (const stop of merged(stops)) {
      const x = v.ox + stop.v * v.s, wide = said(stop.v, unit).length * 7.6 + 10;
      g += `<path class="dim0" d="M${r(x)} ${r(edge + 3 * dir)}V${r(y + 3 * dir)}"/><path class="tick" d="M${r(x)} ${r(y)}l-7 -3v6z"/>`;
      if (stop.from !== undefined) { const [, py] = at(v, face, 0, stop.from); g += `<path class="wd" d="M${r(x)} ${r(py)}V${r(edge)}"/>`; }
      let row = 0;
      while (row < 2 && x - 10 - wide < rows[row]) row++;
      rows[row] = x - 4;
      figures.push({ x: x - 10 - wide / 2, y: y + row * 20 * dir, mm: stop.v, id: stop.id, label: stop.label, edit: stop.edit });
    }
  }
  for (const [stops, from, sense] of /** @type {any[]} */ ([[tapes.showY, v.showBottom, -1], [tapes.underY, v.underTop, 1]])) {
    if (!stops.length) continue;
    const x = v.ox - 30, far = Math.max(...stops.map((/** @type {Stop} */ s) => s.v));
    g += `<path class="dim" d="M${r(x)} ${r(from)}V${r(from + sense * far * v.s)}"/><circle class="origin" cx="${r(x)}" cy="${r(from)}" r="4"/><path class="dim0" d="M${r(x + 4)} ${r(from)}H${r(v.ox - 3)}"/>`;
    let last = from + sense * 9;
    for (const stop of merged(stops)) {
      const y = from + sense * stop.v * v.s;
      g += `<path class="dim0" d="M${r(x - 3)} ${r(y)}H${r(v.ox - 3)}"/><path class="tick" d="M${r(x)} ${r(y)}l-3 ${-7 * sense}h6z"/>`;
      if (stop.from !== undefined) g += `<path class="wd" d="M${r(v.ox)} ${r(y)}H${r(v.ox + stop.from * v.s)}"/>`;
      let place = y - sense * 19;
      if ((place - last) * sense < 14) place = last + sense * 14;
      last = place + sense * 10;
      figures.push({ x: Math.min(x, v.ox - 7 - said(stop.v, unit).length * 3.8), y: place, mm: stop.v, id: stop.id, label: stop.label, edit: stop.edit });
    }
  }
  const edge = { x: v.ox - 30, y: (v.showBottom + v.underTop) / 2 };
  void edge;
  return { lines: g, figures };
}

/** Stops in their order; those of one distance are one. @param {any[]} stops */
function merged(stops) {
  const sorted = [...stops].sort((a, b) => a.v - b.v);
  return sorted.filter((one, n) => !n || Math.abs(one.v - sorted[n - 1].v) > .01 || one.id.startsWith("place"));
}

/** The thickness at the right end of edge A, and the height of the design beside it.
 * @param {any} doc @param {import("./layout.js").View} v */
export function sizesOf(doc, v) {
  /** @type {Figure[]} */ const figures = []; let g = "";
  const x = v.narrow ? v.ox - 30 : v.ox - 56, mid = (v.showBottom + v.underTop) / 2;
  figures.push({ x: v.narrow ? v.ox + 22 : x, y: mid, mm: doc.board.thickness, id: "board.thickness", label: "Board, thickness", edit: { length: ["board", "thickness"] }, wood: v.narrow });
  if (!v.narrow) g += `<path class="dim0" d="M${r(x + 16)} ${r(v.showBottom)}H${r(v.ox - 36)}M${r(x + 16)} ${r(v.underTop)}H${r(v.ox - 36)}"/>`;
  const one = doc.artworks.length === 1 ? doc.artworks[0] : null;
  if (one && one.box && one.kind === "picture" && one.height && Math.abs(one.angle % 180) < .01) {
    const [x1, y1] = at(v, one.face, one.box[2], one.box[3]), [, y0] = at(v, one.face, one.box[0], one.box[1]);
    const px = Math.min(x1 + 26, v.ox + v.wide - 22), high = Math.min(y0, y1), deep = Math.max(y0, y1);
    g += `<g class="size"><path d="M${r(px)} ${r(high)}V${r(deep)}M${r(px - 6)} ${r(high)}h12M${r(px - 6)} ${r(deep)}h12" stroke="#123a77" fill="none"/><path d="M${r(px)} ${r(high)}l-3 7h6zM${r(px)} ${r(deep)}l-3 -7h6z" fill="#123a77"/></g>`;
    figures.push({ x: px, y: high + (deep - high) * .72, mm: one.height, id: "picture.height", label: "Design, height", edit: { length: [...one.path, "height"] }, wood: true });
  }
  return { lines: g, figures };
}
