// @ts-check
/** Fittings and keys: added and taken out from their sentence, moved by pointer, touch and keys on the drawing. */

import { actions } from "./docket.js";
import { hear, placed } from "./fields.js";
import { at, r } from "./layout.js";
import { hold, snapped } from "./moving.js";
import * as server from "./server.js";
import { doc, status } from "./state.js";
import { said, step, written } from "./units.js";
import { el } from "./words.js";

/** @typedef {import("./layout.js").View} View */

/** What a new one is like, mm, until its own measurements are typed (common practice, no source). */
const FIRST = /** @type {Record<string, Record<string, number>>} */ ({
  hinge: { length: 50, width: 14, depth: 2 }, magnet: { diameter: 10, depth: 3 }, round: { diameter: 20, depth: 3 }, oblong: { length: 40, width: 20, depth: 3 },
  "foot plate": { length: 40, width: 40, depth: 3 }, ferrule: { diameter: 12, depth: 3 }, "threaded insert": { root: 7, depth: 8 }, "cable hole": { diameter: 30 }, "drawer pull": { spacing: 96, hole: 5 },
});
/** Room kept around a new one, mm. */
const ROOM = 6;

actions.set("add", async action => {
  const kind = action.slice(4), { unit } = doc.job, mm = FIRST[kind], board = doc.board;
  const lengths = Object.entries(mm).map(([key, value]) => [key, written(key === "depth" ? Math.min(value, board.thickness / 3) : value, unit)]);
  const [x, y] = freePlace(mm.length || mm.diameter || mm.spacing || mm.root, mm.width || mm.diameter || 10);
  const table = { kind, name: newName(kind), face: "underside", ...Object.fromEntries(lengths), from_left: written(x, unit), from_front: written(y, unit) };
  hear(await server.edit([{ add: ["fitting"], table }], `add ${table.name}`), "fitting", "");
});

actions.set("take out", async action => {
  const path = action.slice(9).split(".").map(one => /^\d+$/.test(one) ? Number(one) : one);
  hear(await server.edit([{ take_out: path }], `take out ${path[0] === "fitting" ? "a fitting" : "a key"}`), "fitting", "");
});

/** A name that none has yet. @param {string} kind */
function newName(kind) {
  const had = new Set([...doc.fittings, ...doc.keys].map(one => one.name));
  let name = kind;
  for (let n = 2; had.has(name); n++) name = `${kind} ${n}`;
  return name;
}

/** Where nothing of either face is yet, else the middle. @param {number} wide @param {number} high @returns {[number, number]} */
function freePlace(wide, high) {
  const { board } = doc, taken = [
    ...doc.pieces.map((/** @type {any} */ one) => one.box),
    ...[...doc.fittings, ...doc.keys].map(one => { const [w, h] = one.size || [46, 46]; return [one.middle[0] - w / 2, one.middle[1] - h / 2, one.middle[0] + w / 2, one.middle[1] + h / 2]; }),
  ];
  for (const down of [.5, .25, .75, .12, .88]) for (const along of [.5, .25, .75, .15, .85]) {
    const x = Math.round(board.length * along), y = Math.round(board.width * down), a = wide / 2 + ROOM, b = high / 2 + ROOM;
    if (x - a < 0 || y - b < 0 || x + a > board.length || y + b > board.width) continue;
    if (taken.every(box => x + a <= box[0] || x - a >= box[2] || y + b <= box[1] || y - b >= box[3])) return [x, y];
  }
  return [board.length / 2, board.width / 2];
}

/** Handles over fittings and keys. @param {HTMLElement} root @param {View} v */
export function gripsOfFittings(root, v) {
  if (status.writes === false) return;
  for (const one of [...doc.fittings, ...doc.keys]) {
    if (!one.path) continue;
    const id = one.path.join("."), now = placed(one.path);
    if (wanted?.id === id) { if (wanted.place.every((mm, n) => Math.abs(mm - now[n]) < .25)) wanted = null; else tell(id, wanted.place); }
    const [x, y] = at(v, one.face, ...placed(one.path)), [w, h] = one.size || keySize(one);
    const wide = Math.max(24, w * v.s), high = Math.max(24, h * v.s);
    const grip = el("button", { type: "button", "data-id": `grip ${id}`, "aria-label": `${one.name}, ${one.face}. Arrow keys move it, with Shift by tenths; drag it; Delete takes it out.` });
    Object.assign(grip.style, { left: `${r(x - wide / 2)}px`, top: `${r(y - high / 2)}px`, width: `${r(wide)}px`, height: `${r(high)}px` });
    grip.addEventListener("pointerdown", event => drag(/** @type {PointerEvent} */ (event), grip, one, v));
    grip.addEventListener("keydown", event => keyed(/** @type {KeyboardEvent} */ (event), one, id));
    root.append(grip);
    if (focused === id) grip.focus({ preventScroll: true });
    grip.addEventListener("focus", () => { focused = id; });
    grip.addEventListener("blur", () => { if (grip.isConnected) focused = ""; });
  }
}

/** The grip that keeps the focus when all are drawn anew. */
let focused = "";

/** @param {any} one @returns {[number, number]} */
function keySize(one) {
  const box = doc.pieces.find((/** @type {any} */ piece) => piece.kind === "key" && Math.abs((piece.box[0] + piece.box[2]) / 2 - one.middle[0]) < 1 && Math.abs((piece.box[1] + piece.box[3]) / 2 - one.middle[1]) < 1)?.box;
  return box ? [box[2] - box[0], box[3] - box[1]] : [20, 20];
}

/** @param {any} one @param {[number, number]} place @param {string} how */
async function put(one, place, how) {
  const { unit } = doc.job, [x, y] = place.map(mm => written(mm, unit)), id = one.path.join(".");
  const told = await server.edit([{ place: one.path, x, y }], `${one.name} moved to ${x}, ${y}`, how && `${how} ${id}`);
  if (told.faults && told.state === undefined) wanted = null;
  hear(told, `${id}.x`, x);
}

/** @type {{id: string, place: [number, number]}|null} Where arrow keys want it, until the drawing has it there. */
let wanted = null;
let waiting = 0;

/** @param {KeyboardEvent} event @param {any} one @param {string} id */
function keyed(event, one, id) {
  if (event.key === "Delete" || event.key === "Backspace") { event.preventDefault(); actions.get("take out")?.(`take out:${id}`); return; }
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  if (!way || one.open_edge && way[1]) return;
  event.preventDefault();
  const each = step(doc.job.unit, event.shiftKey), up = one.face === "show" ? 1 : -1, from = wanted?.id === id ? wanted.place : placed(one.path);
  wanted = { id, place: [from[0] + way[0] * each, from[1] + way[1] * each * up] };
  tell(id, wanted.place);
  clearTimeout(waiting);
  waiting = window.setTimeout(() => { if (wanted) void put(one, wanted.place, "keys"); }, 120);
}

/** Its figures on the tapes while it moves. @param {string} id @param {[number, number]} place */
function tell(id, place) {
  const { unit } = doc.job;
  for (const [axis, mm] of /** @type {[string, number][]} */ ([["x", place[0]], ["y", place[1]]]))
    for (const field of document.querySelectorAll(`#fields input[data-id="${CSS.escape(`${id}.${axis}`)}"]`)) /** @type {HTMLInputElement} */ (field).value = said(mm, unit);

}

/** @param {PointerEvent} event @param {HTMLElement} grip @param {any} one @param {View} v */
function drag(event, grip, one, v) {
  if (event.button) return;
  event.preventDefault();
  grip.focus({ preventScroll: true });
  grip.setPointerCapture(event.pointerId);
  hold(true);
  const [x, y] = placed(one.path), sense = one.face === "show" ? -1 : 1, { board } = doc, id = one.path.join(".");
  const shape = one.d || doc.pieces.find((/** @type {any} */ piece) => piece.kind === "key" && piece.name === one.name)?.d || "";
  const ghosts = /** @type {HTMLElement} */ (document.getElementById("dress")), was = ghosts.innerHTML;
  let dx = 0, dy = 0, frame1 = 0;
  const draw = () => {
    frame1 = 0;
    const flip = one.face === "show" ? -v.s : v.s, [ox, oy] = at(v, one.face, dx, dy);
    ghosts.innerHTML = `<path class="ghost" vector-effect="non-scaling-stroke" transform="translate(${r(ox)} ${r(oy)}) scale(${v.s} ${flip})" d="${shape}"/>`;
    tell(id, [x + dx, y + dy]);
  };
  const move = (/** @type {PointerEvent} */ now) => {
    dx = snapped(x + (now.clientX - event.clientX) / v.s, board.length / 2, v.s, now.shiftKey) - x;
    dy = one.open_edge ? 0 : snapped(y + sense * (now.clientY - event.clientY) / v.s, board.width / 2, v.s, now.shiftKey) - y;
    frame1 ||= requestAnimationFrame(draw);
  };
  const stop = (/** @type {boolean} */ keep) => {
    grip.removeEventListener("pointermove", move); grip.removeEventListener("pointerup", up); grip.removeEventListener("pointercancel", cancel); removeEventListener("keydown", escape, true);
    cancelAnimationFrame(frame1); ghosts.innerHTML = was;
    if (keep && (dx || dy)) void put(one, [x + dx, y + dy], "");
    hold(false);
  };
  const up = () => stop(true), cancel = () => stop(false);
  const escape = (/** @type {KeyboardEvent} */ key) => { if (key.key === "Escape") { key.stopPropagation(); stop(false); } };
  grip.addEventListener("pointermove", move); grip.addEventListener("pointerup", up); grip.addEventListener("pointercancel", cancel); addEventListener("keydown", escape, true);

}
