// @ts-check
/** What a chosen sentence dresses the drawing with, and what it unfolds: maps, tables, curves. Asked for when chosen. */

import { unfolded, unfoldedFirst } from "./docket.js";
import { esc } from "./faces.js";
import { at, frame, r } from "./layout.js";
import { drawCutters, drawSeason } from "./curves.js";
import * as server from "./server.js";
import { changed, doc, here, status } from "./state.js";
import { el } from "./words.js";

/** @typedef {import("./layout.js").View} View */

/** The newest answer for each word, and of which state it is. @type {Map<string, any>} */
const kept = new Map();
const asked = new Set();

/** What is known of a word; asks for it where that is of an earlier state. @param {string} what */
export function dressed(what) {
  const known = kept.get(what), key = `${what} ${status.state}`;
  if (doc.answer === "exact" && status.answer === "exact" && known?.state !== status.state && !asked.has(key)) { asked.add(key); void ask(what, key); }
  return known ? { ...known.made, old: known.state !== status.state, faults: known.faults } : null;
}

/** @param {string} what @param {string} key */
async function ask(what, key) {
  const told = await server.dress(what);
  asked.delete(key);
  if (!told.again && told.state !== undefined) kept.set(what, told);
  if (here.chosen) changed("here");
}

/** Sentences that quiet the dimension lines: what they show has nothing to do with places. */
export const quiets = (/** @type {string} */ chosen) => chosen === "seam" || chosen === "detail";

const LAYERS = { seam: seamOf, thickness: thicknessOf, detail: detailOf };

/** The layer over the drawing. @param {View} v */
export function dressOf(v) {
  const layer = LAYERS[/** @type {keyof typeof LAYERS} */ (here.chosen)];
  if (!layer) return "";
  const made = dressed(here.chosen);
  return veil(v) + (made && !made.old && !made.faults?.length ? layer(made, v) : "");
}

/** @param {View} v */
function veil(v) {
  return ["show", "underside"].map(face => `<path class="veil" transform="${frame(v, /** @type {any} */ (face))}" d="${doc.board.outline}"/>`).join("") + `<rect class="veil" x="${r(v.ox)}" y="${r(v.showBottom)}" width="${r(v.wide)}" height="${r(v.edge)}"/>`;
}

/** Something of either face in its frame. @param {View} v @param {any[]} all @param {(one: any) => string} draw */
const onFaces = (v, all, draw) => ["show", "underside"].map(face => {
  const mine = all.filter(one => one.face === face);
  return mine.length ? `<g transform="${frame(v, /** @type {any} */ (face))}">${mine.map(draw).join("")}</g>` : "";
}).join("");

/** @param {any} made @param {View} v */
function seamOf(made, v) {
  const most = Math.max(.001, ...made.wider.map((/** @type {any} */ one) => one.over));
  let g = onFaces(v, made.lines, one => `<path class="seam" vector-effect="non-scaling-stroke" d="${one.d}"/>`);
  for (const one of made.wider) { const [x, y] = at(v, one.face, one.x, one.y); g += `<circle class="wider" cx="${r(x)}" cy="${r(y)}" r="${r(1.4 + 2.6 * one.over / most)}"/>`; }
  let before = [-1e9, -1e9];
  for (const one of made.marks) {
    const [x, y] = at(v, one.face, one.x, one.y), [bx, by] = before, low = Math.abs(x - bx) < 240 && Math.abs(y - by) < 70;
    g += named(v, x, y, `${one.shown} ${one.kind}`, one.where, low ? y >= by : false);
    before = [x, y];
  }
  return g;
}

/** A ring with a leader and two lines of words. @param {View} v @param {number} x @param {number} y @param {string} bold @param {string} plain @param {boolean} down */
function named(v, x, y, bold, plain, down) {
  const room = Math.max(bold.length, plain.length) * 7.4, left = x + 34 + room > v.ox + v.wide + (v.narrow ? 0 : 60), side = left ? -1 : 1, sense = down ? 1 : -1;
  const ex = x + side * 20, ey = y + sense * 26, anchor = left ? "end" : "start", tx = ex + side * 13, ty = ey + 4;
  return `<circle class="ring" cx="${r(x)}" cy="${r(y)}" r="9"/><path class="lead" d="M${r(x + side * 5.5)} ${r(y + sense * 7.2)}L${r(ex)} ${r(ey)}h${side * 9}"/>
<text class="told strong" x="${r(tx)}" y="${r(ty)}" text-anchor="${anchor}">${esc(bold)}</text><text class="told" x="${r(tx)}" y="${r(ty + 16)}" text-anchor="${anchor}">${esc(plain)}</text>`;
}

/** @param {any} made @param {View} v */
function thicknessOf(made, v) {
  let g = "", labels = "";
  const cut = made.levels.filter((/** @type {any} */ one) => one.by.length);
  for (const face of /** @type {const} */ (["show", "underside"]))
    g += `<g transform="${frame(v, face)}">${cut.map((/** @type {any} */ one) => `<path class="level" vector-effect="non-scaling-stroke" d="${one.d}" fill-opacity="${r(.16 + .74 * (1 - one.share))}"/>`).join("")}</g>`;
  cut.forEach((/** @type {any} */ one, /** @type {number} */ n) => {
    const [x, y] = at(v, "show", one.x, one.y), wide = one.shown.length * 7.4, inside = one.room * v.s * 2 > wide + 4;
    if (!n) labels += named(v, x, y, `${one.told} thinnest`, one.by.join(", "), false);
    else labels += inside ? `<text class="told strong" x="${r(x)}" y="${r(y + 5)}" text-anchor="middle">${one.shown}</text>` : beside(v, x, y, one.room * v.s, one.shown, wide);
  });
  return g + labels;
}

/** A figure beside something too small for it, on the side where the board is. @param {View} v @param {number} x @param {number} y @param {number} room @param {string} shown @param {number} wide */
function beside(v, x, y, room, shown, wide) {
  const left = x + room + 6 + wide > v.ox + v.wide;
  return `<text class="told strong" x="${r(left ? x - room - 5 : x + room + 5)}" y="${r(y + 5)}" text-anchor="${left ? "end" : "start"}">${shown}</text>`;
}

/** @param {any} made @param {View} v */
function detailOf(made, v) {
  let g = onFaces(v, made.gone, one => `<path class="gone" vector-effect="non-scaling-stroke" d="${one.d}"/>`);
  g += onFaces(v, made.chisel, one => `<path class="chisel" vector-effect="non-scaling-stroke" d="${one.d}"/>`);
  for (const one of made.chisel) { const [x, y] = at(v, one.face, one.x, one.y); g += `<rect class="ring" x="${r(x - 6)}" y="${r(y - 6)}" width="12" height="12"/>`; }
  /** @type {[number, number][]} */ const put = [];
  made.gone.forEach((/** @type {any} */ one, /** @type {number} */ n) => {
    const [x, y] = at(v, one.face, one.x, one.y);
    g += `<circle class="ring" cx="${r(x)}" cy="${r(y)}" r="${one.kind === "corner" ? 4.5 : 8}"/>`;
    const spots = [[0, -12], [0, 22], [16, 5], [-16, 5], [14, -9], [-14, -9], [14, 18], [-14, 18]].map(([dx, dy]) => /** @type {[number, number]} */ ([x + dx, y + dy]));
    const free = spots.find(([px, py]) => put.every(([qx, qy]) => Math.abs(px - qx) > 17 || Math.abs(py - qy) > 14));
    if (free) { put.push(free); g += `<text class="told strong" x="${r(free[0])}" y="${r(free[1])}" text-anchor="middle">${n + 1}</text>`; }
  });
  return g;
}

// --- beneath the sentence

/** @param {string} what @param {(made: any) => Node[]} draw */
const unfolds = (what, draw) => (what === "seam" || what === "season" ? unfoldedFirst : unfolded).set(what, () => {
  const made = dressed(what);
  if (!made) return [el("p", { class: "later" }, "Being reckoned …")];
  if (made.faults?.length) return [];
  const box = el("div", { class: made.old ? "dressed old" : "dressed", "data-dress": what }, ...draw(made));
  return [box];
});

unfolds("seam", made => {
  if (!made.scale) return [el("p", {}, made.told)];
  const wedge = el("div", { class: "wedge" }), [least, most] = made.marks;
  wedge.innerHTML = `<svg viewBox="0 0 300 10" preserveAspectRatio="none" aria-hidden="true"><path d="M0 4L300 1V9L0 6Z"/></svg>`;
  wedge.append(el("p", {}, ...made.scale.map((/** @type {string} */ one) => el("span", {}, one))));
  return [wedge, el("p", {}, "Narrowest ", el("b", {}, least.shown), `, ${least.where}. Widest `, el("b", {}, most.shown), `, ${most.where}. ${made.told}`)];
});

unfolds("thickness", made => [
  table(["Left", "Cut by"], made.levels.map((/** @type {any} */ one) => [one.told, one.by.join(", ") || "nothing: the bare board"]), "Wood left between the faces"),
]);

unfolds("detail", made => {
  const rows = made.gone.map((/** @type {any} */ one, /** @type {number} */ n) => [String(n + 1), one.told]);
  const more = made.more ? [el("p", {}, `${made.more} smaller ones are not listed.`)] : [];
  return [...(made.told ? [el("p", {}, made.told)] : []), ...(rows.length ? [table(["", "What the cutter leaves out"], rows, "Lost details and shorter corners")] : []), ...more];
});

unfolds("passes", made => [
  passTable(made.set_ups),
  ...comparing(),
]);

unfolds("season", made => made.months.length ? [drawSeason(made), el("p", {}, made.told)] : [el("p", {}, "The job says nothing of the air where it will stand.")]);

let compare = false;
/** Cutter against fidelity: it takes some seconds, so it is asked for by name. @returns {Node[]} */
function comparing() {
  if (!compare) {
    const go = el("button", { type: "button", class: "do", id: "compare" }, "Compare the cutters of the shop");
    go.addEventListener("click", () => { compare = true; changed("here"); });
    return [el("p", {}, go)];
  }
  const made = dressed("cutters");
  if (!made) return [el("p", { class: "later", id: "compare", tabindex: "-1" }, "Trying every cutter on the drawing …")];
  const good = made.rows.filter((/** @type {any} */ one) => !one.refused), bad = made.rows.filter((/** @type {any} */ one) => one.refused);
  const rows = good.map((/** @type {any} */ one) => [`${one.name}${one.best ? ", to take" : ""}${one.chosen ? ", chosen" : ""}`, one.told, `${one.changed.toFixed(1)} %`, String(one.lost)]);
  return [
    ...(good.length ? [drawCutters(good), table(["Cutter", "Time", "Changed", "Lost"], rows, "Cutter against fidelity")] : []),
    el("p", { id: "compare", tabindex: "-1" }, made.why), ...bad.map((/** @type {any} */ one) => el("p", {}, el("b", {}, `${one.name}. `), one.refused)),
  ];
}

/** Every set-up as a group of rows of one table. @param {any[]} setUps */
function passTable(setUps) {
  const made = table(["Cutter", "Passes", "Deep", "Time"], [], "Set-ups and their passes");
  made.append(...setUps.map(one => el("tbody", {},
    el("tr", {}, el("th", { scope: "rowgroup", colspan: "4", class: "group" }, `${one.number}  ${one.title}, ${one.minutes}`)),
    ...one.rows.map((/** @type {string[]} */ row) => el("tr", {}, ...row.map(cell => el("td", {}, cell)))))));
  return made;
}

/** @param {string[]} heads @param {string[][]} rows @param {string} caption */
function table(heads, rows, caption) {
  const head = el("tr", {}, ...heads.map(one => one ? el("th", { scope: "col" }, one) : el("td")));
  return el("table", { class: "fig" }, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, ...rows.map(row => el("tr", {}, ...row.map(one => el("td", {}, one))))));
}
