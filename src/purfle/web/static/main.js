// @ts-check
/** The page: takes the document, has every part drawn, hears what happens. Each part is a module of its own. */

import { wireArtwork } from "./artwork.js";
import { drawDocket, drawHead } from "./docket.js";
import { dressOf, quiets } from "./dressing.js";
import { drawSill, wireSill } from "./earlier.js";
import { designOf, designThrough, facesOf, ringed } from "./faces.js";
import { hear, keepFocus, live } from "./fields.js";
import { drawFoot } from "./foot.js";
import { layOut } from "./layout.js";
import { drawGrips, isHeld, settled, whenLetGo } from "./moving.js";
import "./looks.js";
import { gripsOfFittings } from "./fittings.js";
import { rackOf } from "./rack.js";
import * as server from "./server.js";
import { changed, doc, here, onChange, status, take, takeStatus } from "./state.js";
import { sizesOf, stopsOf, tapesOf } from "./tapes.js";
import { said } from "./units.js";
import { el } from "./words.js";

const get = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
/** @type {import("./layout.js").View} */ let view;
let drawn = "";

/** The drawing: faces, design, tapes, rack. Each layer is set anew only when what it shows has changed. */
function drawBoard() {
  if (isHeld()) return;
  const bench = get("bench"), paged = innerWidth > 1000;
  const high = paged ? bench.clientHeight - 44 : innerHeight;
  view = layOut(doc, bench.clientWidth, high, paged);
  get("board").style.minHeight = `${view.height}px`;
  const chosen = doc.docket.sentences.find((/** @type {any} */ one) => one.id === here.chosen);
  const size = JSON.stringify([view, doc.board, doc.recesses, doc.fittings, doc.holes, doc.rack, doc.woods, doc.job.unit, here.look]);
  if (size !== drawn) { get("faces").innerHTML = facesOf(doc, view) + rackOf(doc, view); drawn = size; }
  get("art").innerHTML = designOf(doc, view);
  get("under").innerHTML = designThrough(doc, view);
  settled();
  const none = { lines: "", figures: [] }, quiet = quiets(here.chosen);
  const tapes = quiet ? none : tapesOf(doc, view, stopsOf(doc)), sizes = quiet || here.chosen === "thickness" ? none : sizesOf(doc, view);
  get("board").dataset.dress = here.chosen;
  get("dress").innerHTML = dressOf(view); get("dress").style.visibility = "";
  get("tapes").innerHTML = tapes.lines + sizes.lines + ringed(doc, view, chosen);
  drawFigures([...tapes.figures, ...sizes.figures]);
  drawGrips(get("grips"), view);
  gripsOfFittings(get("grips"), view);
}

/** @param {import("./tapes.js").Figure[]} figures */
function drawFigures(figures) {
  keepFocus(get("fields"), () => {
    get("fields").replaceChildren(...figures.map(one => {
      const shown = said(one.mm, doc.job.unit), input = /** @type {HTMLInputElement} */ (el("input", { value: shown, inputmode: "decimal", autocomplete: "off", ...(one.wood ? { class: "wood" } : {}) }));
      Object.assign(input.style, { left: `${one.x}px`, top: `${one.y}px`, width: `${shown.length * 7.6 + 11}px` });
      live(input, { id: one.id, label: one.label, edit: one.edit, shown, mm: one.mm, kind: "length" });
      return input;
    }));
  });
}

/** A word above the docket: another page writes, or the server is gone. */
function drawWord() {
  const box = get("word");
  if (!here.there) { box.replaceChildren(el("div", { class: "word bad", role: "alert" }, "Purfle does not answer. What is on this page stays; it goes on as soon as Purfle runs again.")); return; }
  if (status.writes === false) {
    const take1 = el("button", { type: "button", class: "go" }, "Take over");
    take1.addEventListener("click", async () => takeStatus(await server.takeOver()));
    box.replaceChildren(el("div", { class: "word" }, "Another page has this job open and writes it. This one looks on.", take1));
    return;
  }
  box.replaceChildren(...(status.faults?.length ? status.faults.map((/** @type {any} */ one) => el("div", { class: "word bad", role: "alert" }, `${one.what}. ${one.where}. ${one.mend}`)) : []));
}

function drawUnits() {
  for (const input of get("units").querySelectorAll("input")) { input.checked = input.value === doc.job.unit; input.disabled = status.writes === false; }
}

let told = "";
/** Tell those who listen what has come of a change. */
function announce() {
  if (doc.answer !== "exact" || status.answer !== "exact") return;
  const words = get("head").textContent || "";
  if (words !== told) { get("live").textContent = words; told = words; }
}

function drawDocketAll() {
  get("title").textContent = doc.docket.title; document.title = doc.docket.title;
  drawHead(get("head")); drawDocket(get("sentences")); drawFoot(get("foot")); drawWord(); drawSill(); drawUnits();
}

onChange(what => {
  if (!doc) { drawWord(); return; }
  if (what === "status") { drawHead(get("head")); drawFoot(get("foot")); drawWord(); drawSill(); drawUnits(); return; }
  drawDocketAll();
  if (what === "document" || what === "here") drawBoard();
  if (what === "document") announce();
});

let asking = false, again = false;
/** Take the newest document; what is asked meanwhile is asked once more afterwards. */
async function reload() {
  if (asking) { again = true; return; }
  asking = true;
  do { again = false; const come = await server.load(); if (come.document) take(come); else if (come.faults) { here.there = false; changed("here"); } } while (again);
  asking = false;
}

/** @param {any} event */
function heard(event) {
  here.there = true;
  if (event.event === "stage") { here.stage = event.stage; here.stageOf = event.what; if (doc) event.what === "write" ? drawFoot(get("foot")) : drawHead(get("head")); return; }
  if (event.event === "stopped" && event.what === "exact") here.stageOf = "stopped";
  if (event.event === "faults") { here.faults = event.faults; here.faultOf = "write"; }
  if (event.event === "state" || event.event === "answer") here.stageOf = here.stageOf === "write" ? "write" : "";
  takeStatus(event.status);
  if (event.event === "state" || event.event === "answer" || event.event === "foreign" || event.event === "lease") void reload();
  if (event.event === "written") get("live").textContent = event.status.made.proven ? "Sheets and files are written and proven." : "Sheets and files are written, and not proven.";
}

async function start() {
  wireSill();
  wireArtwork();
  whenLetGo(() => { if (doc) drawBoard(); });
  for (const input of get("units").querySelectorAll("input")) input.addEventListener("change", async () => hear(await server.edit([{ units: input.value }], `units: ${input.value}`), "units", ""));
  server.listen(heard, there => { if (here.there !== there) { here.there = there; changed("here"); } });
  await reload();
  new ResizeObserver(() => { if (doc) drawBoard(); }).observe(get("bench"));
  document.body.dataset.ready = "1";
}

void start();
