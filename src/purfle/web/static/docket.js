// @ts-check
/** The docket: the job in numbered sentences; the bold figures are the fields. */

import { fieldOf, keepFocus, live } from "./fields.js";
import * as server from "./server.js";
import { changed, doc, here, status } from "./state.js";
import { mark, el, faultBox } from "./words.js";

/** What can be done from a sentence, by its name up to a colon; other modules add theirs. @type {Map<string, (action: string) => void>} */
export const actions = new Map();
/** What else unfolds beneath a sentence, by its id; other modules add theirs. @type {Map<string, (one: any) => Node[]>} */
export const unfolded = new Map();
/** The same, of what is told before the findings. @type {Map<string, (one: any) => Node[]>} */
export const unfoldedFirst = new Map();

/** @param {HTMLElement} list */
export function drawDocket(list) {
  keepFocus(list, () => {
    list.replaceChildren(...doc.docket.sentences.map(sentence));
  });
}

/** @param {any} one */
function sentence(one) {
  const on = here.chosen === one.id;
  const pick = el("button", { type: "button", class: "pick", id: `pick-${one.id}`, "aria-expanded": String(on), "aria-label": `Sentence ${one.number}, ${one.mark === "wait" ? "later" : one.mark}` }, el("b", {}, String(one.number)), mark(one.mark));
  pick.addEventListener("click", () => { here.chosen = on ? "" : one.id; changed("here"); });
  const body = el("div", {}, el("p", { class: `say${one.mark === "wait" ? " pale" : ""}` }, ...one.parts.flatMap(partOf)));
  if (ofSentence(one, here.faultOf)) body.append(faultBox(here.faults, here.faultOf));
  if (on) body.append(more(one));
  return el("li", { class: on ? "on" : "", "data-sentence": one.id }, pick, body);
}

/** True if a field stands in a sentence or beneath it. @param {any} one @param {string} id */
function ofSentence(one, id) {
  const fields = (/** @type {any[]} */ parts) => parts.flatMap(part => part.parts ? fields(part.parts) : part.field ? [fieldOf(part.field).id] : part.action ? [part.action] : []);
  if (one.id === "thickness" && /^(fitting|butterfly_key)\b/.test(id)) return true;
  return Boolean(id) && [...fields(one.parts), ...fields(one.more)].includes(id);
}

/** What unfolds beneath a sentence. @param {any} one */
function more(one) {
  const rows = one.more.filter((/** @type {any} */ part) => part.row), box = el("div", { class: "more" });
  box.append(...(unfoldedFirst.get(one.id)?.(one) || []));
  for (const number of one.findings) box.append(finding(doc.findings[number]));
  if (rows.length) box.append(el("dl", {}, ...rows.flatMap((/** @type {any} */ part) => [el("dt", {}, part.row), el("dd", {}, ...part.parts.flatMap(partOf))])));
  box.append(...(unfolded.get(one.id)?.(one) || []));
  return box;
}

/** @param {any} one */
export function finding(one) {
  const word = { stop: "Stop.", look: "Look.", note: "Note." }[/** @type {"stop"|"look"|"note"} */ (one.severity)];
  const box = el("div", { class: `find ${one.severity}` }, el("p", {}, el("b", { class: "k" }, word), ` ${sentenceCase(one.what)}${one.where ? ` (${one.where})` : ""}.`));
  if (one.mend) box.append(el("p", {}, el("b", { class: "k" }, "Mend."), ` ${sentenceCase(one.mend).replace(/\.?$/, ".")}`));
  return box;
}

/** @param {string} text */
const sentenceCase = text => (text.charAt(0).toUpperCase() + text.slice(1)).replace(/\.$/, "");

/** Words and fields of one part; a full stop or comma behind a field stays with it. @param {any} part @param {number} n @param {any[]} all @returns {(Node|string)[]} */
function partOf(part, n, all) {
  if (part.action) {
    const button = el("button", { type: "button", class: "do", "data-id": part.action }, part.text);
    if (status.writes === false) button.setAttribute("disabled", "");
    button.addEventListener("click", () => actions.get(part.action.split(":")[0])?.(part.action));
    return [button];
  }
  const before = n && all[n - 1].field, tail = /^[.,;:]/.exec(part.text || "");
  if (!part.field) return [before && tail ? part.text.slice(1) : part.text];
  const field = fieldOf(part.field), input = field.choices ? choice(field) : el("input", { class: "f", value: field.shown, size: String(Math.max(1, field.shown.length - 1)), autocomplete: "off", spellcheck: "false", ...(field.mm !== undefined ? { inputmode: "decimal" } : {}) });
  live(/** @type {HTMLInputElement} */ (input), field);
  const next = /^[.,;:]/.exec(all[n + 1]?.text || "");
  return next ? [el("span", { class: "nb" }, input, next[0])] : [input];
}

/** @param {import("./fields.js").Field} field */
function choice(field) {
  return el("select", { class: "f" }, ...(field.choices || []).map(one => el("option", one === field.shown ? { selected: "" } : {}, one)));
}

/** The line below the title. @param {HTMLElement} line */
export function drawHead(line) {
  const { sentences } = doc.docket, made = status.made?.state === status.state ? status.made : null;
  const of = (/** @type {string} */ kind) => sentences.filter((/** @type {any} */ one) => one.mark === kind).map((/** @type {any} */ one) => one.number);
  const stops = of("stop"), looks = of("look");
  const kind = stops.length || (made && !made.proven) ? "stop" : looks.length && !made ? "look" : "ready";
  const told = stops.length ? [el("b", {}, stops.length === 1 ? "One stop" : `${stops.length} stops`), `, in sentence ${listed(stops)}.`]
    : made ? [made.proven ? `Proven from the files at ${made.at.slice(11, 16)}.` : "Not proven: see the findings below."]
    : doc.answer === "coarse" ? reckoning()
    : looks.length ? [`Look at ${looks.length > 1 ? "sentences" : "sentence"} ${listed(looks)}. Not proven yet.`] : ["Nothing to mend. Not proven yet: that is done with the files."];
  line.className = `h-${kind}`;
  line.replaceChildren(mark(kind, false), ...told);
}

/** What is being reckoned, and how to stop it or go on. */
function reckoning() {
  const stopped = here.stageOf === "stopped", button = el("button", { type: "button", class: "do", id: "reckon" }, stopped ? "Go on" : "Stop");
  button.addEventListener("click", async () => { if (stopped) { here.stageOf = here.stage = ""; await server.again(); changed("status"); } else await server.cancel("exact"); });
  const stage = here.stageOf === "exact" && STAGES[/** @type {keyof typeof STAGES} */ (here.stage)];
  return stopped ? ["Reckoning was stopped. ", button] : stage ? [`Being reckoned: ${stage}. `, button] : ["Being reckoned; not proven yet."];
}
/** The stages of an exact answer in words. */
const STAGES = { edges: "looking for the edges of the board", areas: "finding areas", pieces: "making pieces", board: "placing on the board", offcuts: "placing on the offcuts", plan: "planning the cuts" };

/** @param {number[]} numbers */
const listed = numbers => numbers.length > 1 ? `${numbers.slice(0, -1).join(", ")} and ${numbers[numbers.length - 1]}` : String(numbers[0]);
