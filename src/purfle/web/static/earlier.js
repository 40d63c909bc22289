// @ts-check
/** Undo, redo, and the earlier states of the job. */

import * as server from "./server.js";
import { status, takeStatus } from "./state.js";
import { el } from "./words.js";

const get = (/** @type {string} */ id) => /** @type {HTMLButtonElement} */ (document.getElementById(id));

/** @param {"undo"|"redo"|"back"} how @param {number} [state] */
async function go(how, state) {
  const told = await server.move(how, state);
  if (told.state !== undefined) takeStatus(told);
}

export function drawSill() {
  for (const how of /** @type {const} */ (["undo", "redo"])) {
    get(how).disabled = !status[how] || status.writes === false;
    get(how).title = status[how] ? `${how === "undo" ? "Undo" : "Redo"}: ${status[how]}` : "";
  }
  get("kept").textContent = status.kept ? `Kept ${status.kept.slice(11, 16)}` : "";
}

export function wireSill() {
  get("undo").addEventListener("click", () => void go("undo"));
  get("redo").addEventListener("click", () => void go("redo"));
  get("kept").addEventListener("click", () => void toggle());
  document.addEventListener("keydown", event => {
    const typing = event.target instanceof HTMLInputElement && event.target.type !== "radio";
    if (!(event.ctrlKey || event.metaKey) || typing) return;
    const key = event.key.toLowerCase(), how = key === "z" ? (event.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : "";
    if (how) { event.preventDefault(); void go(how); }
  });
}

async function toggle() {
  const box = get("earlier"), open = box.hidden;
  box.hidden = !open;
  get("kept").setAttribute("aria-expanded", String(open));
  if (!open) return;
  const found = await server.states();
  const list = el("ol", {}, ...found.map((/** @type {any} */ one) => {
    const back = el("button", { type: "button", class: "plain", "aria-label": `Bring back: ${one.label}, ${one.at.slice(11, 16)}` }, one.number === status.state ? "now" : "Bring back");
    if (one.number === status.state) back.setAttribute("disabled", "");
    back.addEventListener("click", () => { void go("back", one.number); box.hidden = true; get("kept").setAttribute("aria-expanded", "false"); get("kept").focus(); });
    return el("li", {}, el("time", { datetime: one.at }, one.at.slice(11, 16)), el("span", {}, one.label), back);
  }));
  box.replaceChildren(el("h2", {}, "Earlier states"), list);
  /** @type {HTMLElement|null} */ (box.querySelector("button:not([disabled])"))?.focus();
  box.onkeydown = event => { if (event.key === "Escape") void toggle().then(() => get("kept").focus()); };
}
