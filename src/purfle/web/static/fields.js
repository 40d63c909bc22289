// @ts-check
/** Figures that are written over in place: in the docket and on the dimension lines. */

import * as server from "./server.js";
import { changed, doc, here, status, takeStatus } from "./state.js";
import { read, said, step, word, written } from "./units.js";

/** @typedef {{id: string, label: string, edit: any, shown: string, mm?: number, figure?: string, choices?: string[], kind: string, unit?: string}} Field */

/** The field of a docket part. @param {any} field @returns {Field} */
export function fieldOf(field) {
  const path = field.path, dotted = dottedOf(path);
  const edit = field.place ? { place: field.of, axis: field.place } : field.kind === "length" ? { length: path } : { set: path };
  const id = field.place ? `place.${field.place}` : dotted;
  return { id, label: field.label, edit, shown: field.shown, mm: field.mm, figure: field.figure, choices: field.choices, kind: field.kind, unit: field.unit };
}

/** As faults name it: numbers of tables from 1. @param {(string|number)[]} path */
export const dottedOf = path => path.map((one, n) => typeof one === "number" ? `[${one + 1}]` : n ? `.${one}` : one).join("");

/** Make an input live: typing, Enter, Escape, arrow keys (Shift: tenths), and its twin elsewhere.
 * @param {HTMLInputElement|HTMLSelectElement} input @param {Field} field */
export function live(input, field) {
  input.dataset.id = field.id;
  input.setAttribute("aria-label", field.mm === undefined ? field.label : `${field.label}, ${doc.job.unit === "mm" ? "millimetres" : "inches"}`);
  input.disabled = status.writes === false;
  if (here.faultOf === field.id) { input.value = here.typed; input.setAttribute("aria-invalid", "true"); input.setAttribute("aria-describedby", `fault-${field.id}`); }
  input.addEventListener("focus", () => { twins(field.id, input, true); if (input instanceof HTMLInputElement) input.select(); });
  input.addEventListener("blur", () => twins(field.id, input, false));
  input.addEventListener("input", () => { dirty = field.id; });
  input.addEventListener("change", () => { void commit(field, input.value); });
  input.addEventListener("keydown", event => onKey(/** @type {KeyboardEvent} */ (event), input, field));
}

/** @param {KeyboardEvent} event @param {HTMLInputElement|HTMLSelectElement} input @param {Field} field */
function onKey(event, input, field) {
  if (event.key === "Escape") { here.faultOf = ""; here.faults = []; dirty = ""; input.value = field.shown; changed("here"); return; }
  const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!way || !(input instanceof HTMLInputElement)) return;
  if (field.mm !== undefined) {
    const unit = doc.job.unit, now = read(input.value, unit) ?? field.mm;
    const next = Math.max(0, now + way * step(unit, event.shiftKey, field.figure));
    input.value = input.value.includes(" ") && !/\//.test(input.value) ? `${said(next, unit, field.figure)} ${word(unit)}` : said(next, unit, field.figure);
    event.preventDefault();
    later(field, next);
  } else if (field.kind === "number") {
    const next = Number.parseFloat(input.value) + way * (event.shiftKey ? .1 : 1);
    if (Number.isFinite(next)) { input.value = String(+next.toFixed(1)); event.preventDefault(); later(field, null, input.value); }
  }
}

let timer = 0;
/** Steps that follow each other are sent as one. @param {Field} field @param {number|null} mm @param {string} [text] */
function later(field, mm, text = "") {
  clearTimeout(timer);
  timer = window.setTimeout(() => void commit(field, mm === null ? text : written(mm, doc.job.unit), "step"), 90);
}

/** Send what was typed. @param {Field} field @param {string} text @param {string} [how] */
export async function commit(field, text, how = "") {
  clearTimeout(timer);
  dirty = "";
  text = text.trim();
  if (text === field.shown.trim() && here.faultOf !== field.id) return;
  const made = changesOf(field, text);
  const told = await server.edit(made, `${field.label}: ${text}`, how && `${how} ${field.id}`);
  hear(told, field.id, text);
}

/** What a page does with the answer to a change. @param {any} told @param {string} id @param {string} typed */
export function hear(told, id, typed) {
  if (told.faults && told.state === undefined) {
    here.faults = told.faults; here.faultOf = id; here.typed = typed;
    changed("here");
    return;
  }
  if (here.faultOf) { here.faults = []; here.faultOf = ""; changed("here"); }
  takeStatus(told);
}

/** @param {Field} field @param {string} text @returns {object[]} */
function changesOf(field, text) {
  const { edit } = field;
  if (edit.length) return [{ length: edit.length, text }];
  if (edit.place) {
    const [x, y] = placed(edit.place), other = written(edit.axis === "x" ? y : x, doc.job.unit);
    return [{ place: edit.place, x: edit.axis === "x" ? text : other, y: edit.axis === "x" ? other : text }];
  }
  const number = Number(text.replace(",", ".").replace(/[°%\s]+$/, ""));
  return [{ set: edit.set, value: field.kind === "number" && Number.isFinite(number) ? number : text }];
}

/** Where the middle of something stands now. @param {(string|number)[]} path @returns {[number, number]} */
export function placed(path) {
  const same = (/** @type {any} */ one) => one.path && one.path.join() === path.join();
  const art = doc.artworks.find(same);
  if (art?.box) return [(art.box[0] + art.box[2]) / 2, (art.box[1] + art.box[3]) / 2];
  const thing = [...doc.fittings, ...doc.keys].find(same);
  return thing ? thing.middle : [0, 0];
}

/** @param {string} id @param {Element} but @param {boolean} on */
function twins(id, but, on) {
  for (const one of document.querySelectorAll(`[data-id="${CSS.escape(id)}"]`)) if (one !== but) one.classList.toggle("twin", on);
}

/** Redraw without losing the focus, the caret or what is being typed. @param {HTMLElement} root @param {() => void} redraw */
export function keepFocus(root, redraw) {
  const now = document.activeElement, inside = now instanceof HTMLElement && root.contains(now), id = inside ? now.dataset.id || now.id : "";
  const typing = id && id === dirty && now instanceof HTMLInputElement ? { text: now.value, from: now.selectionStart, to: now.selectionEnd } : null;
  redraw();
  if (!id) return;
  const again = /** @type {HTMLElement|null} */ (root.querySelector(`[data-id="${CSS.escape(id)}"],#${CSS.escape(id)}`));
  if (!again) return;
  dirty = "";
  again.focus({ preventScroll: true });
  if (!typing || !(again instanceof HTMLInputElement)) return;
  again.value = typing.text; dirty = id;
  again.setSelectionRange(typing.from, typing.to);
}

/** The field that is being typed in and has not been sent. */
let dirty = "";
