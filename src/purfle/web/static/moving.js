// @ts-check
/** The design moved by pointer, touch and keys: a drag moves one layer; the job is asked when it is let go. */

import { hear } from "./fields.js";
import { at, r } from "./layout.js";
import * as server from "./server.js";
import { doc, status } from "./state.js";
import { middleOf } from "./tapes.js";
import { said, step, written } from "./units.js";
import { el } from "./words.js";

/** Within so many px it stays on a centre line. */
const NEAR = 6;

/** Handles over the drawing: the design itself. @param {HTMLElement} root @param {import("./layout.js").View} v */
export function drawGrips(root, v) {
  const one = doc.artworks.length === 1 ? doc.artworks[0] : null;
  const had = document.activeElement instanceof HTMLElement && root.contains(document.activeElement) ? document.activeElement.dataset.id : "";
  root.replaceChildren();
  if (!one?.box || status.writes === false) return;
  const [x0, y0] = at(v, one.face, one.box[0], one.box[1]), [x1, y1] = at(v, one.face, one.box[2], one.box[3]);
  const grip = el("button", { type: "button", "data-id": "design", "aria-label": `Design, ${doc.pieces.length} pieces. Arrow keys move it, with Shift by tenths; drag it with pointer or finger.` });
  Object.assign(grip.style, { left: `${r(Math.min(x0, x1))}px`, top: `${r(Math.min(y0, y1))}px`, width: `${r(Math.abs(x1 - x0))}px`, height: `${r(Math.abs(y1 - y0))}px` });
  grip.addEventListener("pointerdown", event => drag(/** @type {PointerEvent} */ (event), grip, one, v));
  grip.addEventListener("keydown", event => keyed(/** @type {KeyboardEvent} */ (event), one, v));
  root.append(grip);
  if (had === "design") grip.focus({ preventScroll: true });
  if (wanted) show(one, v, wanted[0] - middleOf(one)[0], wanted[1] - middleOf(one)[1]);
}

const layers = () => ["art", "under"].map(id => /** @type {HTMLElement} */ (document.getElementById(id)));

/** Show the design moved by so many mm, without asking anybody. @param {any} one @param {import("./layout.js").View} v @param {number} dx @param {number} dy */
function show(one, v, dx, dy) {
  const [art, under] = layers(), sense = one.face === "show" ? -1 : 1;
  art.style.transform = `translate(${dx * v.s}px,${sense * dy * v.s}px)`;
  const dress = document.getElementById("dress");
  if (dress) dress.style.visibility = dx || dy ? "hidden" : "";  // what it shows is of where the design was
  under.style.transform = `translate(${dx * v.s}px,${-sense * dy * v.s}px)`;
  const [x, y] = middleOf(one), unit = doc.job.unit;
  for (const [id, mm] of /** @type {[string, number][]} */ ([["place.x", x + dx], ["place.y", y + dy]]))
    for (const field of document.querySelectorAll(`input[data-id="${id}"]`)) {
      const input = /** @type {HTMLInputElement} */ (field);
      input.value = input.classList.contains("f") ? `${said(mm, unit)} ${unit === "mm" ? "mm" : "in"}` : said(mm, unit);
    }
}

/** The middle drawn to a centre line where it is near one; else to whole steps. @param {number} mm @param {number} centre @param {number} s @param {boolean} fine */
export function snapped(mm, centre, s, fine) {
  if (Math.abs(mm - centre) * s < NEAR) return centre;
  const each = step(doc.job.unit, fine);
  return Math.round(mm / each) * each;
}

let held = false;
/** @type {() => void} */ let letGo = () => {};
/** True while something is held by pointer or finger: then nothing is drawn anew under it. */
export const isHeld = () => held;
/** @param {boolean} is */
export const hold = is => { held = is; if (!is) letGo(); };
/** @param {() => void} hear What is done as soon as it is let go. */
export const whenLetGo = hear => { letGo = hear; };

/** @param {PointerEvent} event @param {HTMLElement} grip @param {any} one @param {import("./layout.js").View} v */
function drag(event, grip, one, v) {
  if (event.button) return;
  event.preventDefault();
  grip.focus({ preventScroll: true });
  grip.setPointerCapture(event.pointerId);
  held = true;
  const [x, y] = middleOf(one), sense = one.face === "show" ? -1 : 1, { board } = doc;
  let dx = 0, dy = 0, frame = 0;
  const draw = () => { frame = 0; show(one, v, dx, dy); guides(v, one, x + dx === board.length / 2, y + dy === board.width / 2); };
  const move = (/** @type {PointerEvent} */ now) => {
    dx = snapped(x + (now.clientX - event.clientX) / v.s, board.length / 2, v.s, now.shiftKey) - x;
    dy = snapped(y + sense * (now.clientY - event.clientY) / v.s, board.width / 2, v.s, now.shiftKey) - y;
    frame ||= requestAnimationFrame(draw);
  };
  const stop = (/** @type {boolean} */ keep) => {
    grip.removeEventListener("pointermove", move); grip.removeEventListener("pointerup", up); grip.removeEventListener("pointercancel", cancel); removeEventListener("keydown", escape, true);
    cancelAnimationFrame(frame); guides(v, one, false, false); held = false;
    if (keep && (dx || dy)) { wanted = [x + dx, y + dy]; show(one, v, dx, dy); void place(one, ""); } else show(one, v, 0, 0);
    letGo();
  };
  const up = () => stop(true), cancel = () => stop(false);
  const escape = (/** @type {KeyboardEvent} */ key) => { if (key.key === "Escape") { key.stopPropagation(); stop(false); } };
  grip.addEventListener("pointermove", move); grip.addEventListener("pointerup", up); grip.addEventListener("pointercancel", cancel); addEventListener("keydown", escape, true);
}

/** Centre lines that the design stays on. @param {import("./layout.js").View} v @param {any} one @param {boolean} onX @param {boolean} onY */
function guides(v, one, onX, onY) {
  const tapes = /** @type {HTMLElement} */ (document.getElementById("tapes"));
  tapes.querySelector(".snaps")?.remove();
  if (!onX && !onY) return;
  const [x, y] = at(v, one.face, doc.board.length / 2, doc.board.width / 2), [left, a] = at(v, one.face, 0, 0), [right, b] = at(v, one.face, doc.board.length, doc.board.width);
  const d = (onX ? `M${r(x)} ${r(a)}V${r(b)}` : "") + (onY ? `M${r(left)} ${r(y)}H${r(right)}` : "");
  tapes.insertAdjacentHTML("beforeend", `<g class="snaps"><path class="halo" d="${d}"/><path class="snap" d="${d}"/></g>`);
}

let waiting = 0, sent = 0;
/** Where the middle is wanted, from the first step until the job has answered for the last one. @type {[number, number]|null} */
let wanted = null;

/** @param {KeyboardEvent} event @param {any} one @param {import("./layout.js").View} v */
function keyed(event, one, v) {
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
  if (!way) return;
  event.preventDefault();
  const each = step(doc.job.unit, event.shiftKey), up = one.face === "show" ? 1 : -1, [x, y] = middleOf(one), from = wanted || [x, y];
  wanted = [from[0] + way[0] * each, from[1] + way[1] * each * up];
  show(one, v, wanted[0] - x, wanted[1] - y);
  clearTimeout(waiting);
  waiting = window.setTimeout(() => void place(one, "keys"), 120);
}

/** Ask for the design to stand where it is wanted; where that is refused it goes back. @param {any} one @param {string} kind */
async function place(one, kind) {
  if (!wanted) return;
  const unit = doc.job.unit, number = ++sent, [x, y] = wanted.map(mm => written(mm, unit));
  const told = await server.edit([{ place: one.path, x, y }], `design moved to ${x}, ${y}`, kind && `${kind} place`);
  if (number === sent) wanted = null;
  hear(told, "place.x", x);
}

/** The layers as they are drawn, not moved. */
export function settled() { for (const layer of layers()) layer.style.transform = ""; }
