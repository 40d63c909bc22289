// @ts-check
/** The foot of the docket: time and money, sheets and files. */

import { finding } from "./docket.js";
import { keepFocus } from "./fields.js";
import * as server from "./server.js";
import { changed, doc, here, status, takeStatus } from "./state.js";
import { el, faultBox } from "./words.js";

/** The stages of writing in their order, for the line that shows how far it is. */
const STAGES = ["finding areas", "making pieces that can be cut", "placing on the board", "placing on the offcuts", "planning the cuts", "writing programs and outlines", "dry fit, read back from the files", "drawing bench sheets", "writing"];

/** @param {HTMLElement} foot */
export function drawFoot(foot) {
  keepFocus(foot, () => {
    foot.replaceChildren(...(status.writing ? writing() : written()));
  });
}

function writing() {
  const at = Math.max(0, STAGES.indexOf(here.stageOf === "write" ? here.stage : "")), bar = el("div", { class: "bar", role: "progressbar", "aria-label": "Sheets and files", "aria-valuemin": "0", "aria-valuemax": String(STAGES.length), "aria-valuenow": String(at) }), fill = el("i");
  fill.style.width = `${100 * (at + .5) / STAGES.length}%`;
  bar.append(fill);
  const stop = el("button", { type: "button", class: "link", id: "cancel" }, "Cancel");
  stop.addEventListener("click", () => void server.cancel("write"));
  return [bar, el("p", { id: "stage" }, `${here.stageOf === "write" && here.stage || "starting"} …`), el("div", { class: "acts" }, stop)];
}

function written() {
  const made = status.made, fresh = made && made.state === status.state, parts = [];
  const stops = doc.docket.sentences.filter((/** @type {any} */ one) => one.mark === "stop");
  parts.push(el("p", {}, stops.length ? `Sheets and files will say "do not cut" until sentence ${stops.map((/** @type {any} */ one) => one.number).join(", ")} is mended.` : doc.docket.foot.text));
  if (here.faults.length && here.faultOf === "write") parts.push(faultBox(here.faults, "write"));
  const go = el("button", { type: "button", class: "go", id: "write" }, "Write sheets and files");
  go.addEventListener("click", async () => { here.stage = ""; here.faults = []; const told = await server.write(); if (told.state !== undefined) takeStatus(told); else { here.faults = told.faults; here.faultOf = "write"; changed("here"); } });
  if (status.writes === false) go.setAttribute("disabled", "");
  const acts = el("div", { class: "acts" }, ...(fresh ? [] : [go]));
  parts.push(acts);
  if (made) {
    if (fresh) acts.append(el("a", { class: "go", href: "/made.zip", download: "" }, "Save all files"));
    const papers = made.files.filter((/** @type {any} */ one) => /\.pdf$/.test(one.name));
    const name = (/** @type {string} */ file) => file.replace(`${made.slug}-`, "").replace(".pdf", "").replaceAll("-", " ");
    parts.push(el("p", {}, fresh ? `Written at ${made.at.slice(11, 16)}, change ${made.change}.` : `Written at ${made.at.slice(11, 16)}, before the last change.`));
    parts.push(el("ul", { class: "papers" }, ...papers.map((/** @type {any} */ one) => el("li", {}, el("a", { href: `/made/${encodeURIComponent(one.name)}`, target: "_blank", rel: "noopener" }, name(one.name).replace(/^./, (/** @type {string} */ c) => c.toUpperCase()))))));
    if (!made.proven) parts.push(...made.findings.filter((/** @type {any} */ one) => one.severity === "stop").map(finding));
  }
  return parts;
}
