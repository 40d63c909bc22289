// @ts-check
/** A picture or drawing laid on the page, or chosen: it becomes the design of the job. */

import { actions } from "./docket.js";
import { hear } from "./fields.js";
import * as server from "./server.js";
import { doc, status } from "./state.js";

/** MB that the server takes at most. */
const LARGEST = 32;
const get = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
let busy = false;

/** A sheet over the board with a few words; none takes it away. @param {string} words */
function sheet(words) {
  get("lay").hidden = !words;
  if (words) /** @type {HTMLElement} */ (get("lay").firstElementChild).textContent = words;
}

/** @param {File} file */
async function bring(file) {
  if (busy || !doc || status.writes === false) return;
  if (file.size > LARGEST * 1_000_000) {
    hear({ faults: [{ what: `This file is larger than ${LARGEST} MB`, where: file.name, mend: "Save a smaller one, such as a JPEG of 4000 pixels a side.", key: "" }] }, "bring", "");
    return;
  }
  busy = true;
  sheet(`Looking at ${file.name} …`);
  get("live").textContent = `Looking at ${file.name}.`;
  try { hear(await server.bring(file), "bring", ""); } finally { busy = false; sheet(""); }
}

/** @param {DragEvent} event */
const ofFile = event => Boolean(event.dataTransfer?.types.includes("Files"));

/** Listen for what is dropped anywhere on the page, and for the button of the docket. */
export function wireArtwork() {
  const input = /** @type {HTMLInputElement} */ (get("artwork"));
  actions.set("bring", () => { if (!busy) input.click(); });
  input.addEventListener("change", () => { const file = input.files?.[0]; if (file) void bring(file); input.value = ""; });
  addEventListener("dragover", event => {
    if (!ofFile(event)) return;
    event.preventDefault();
    const may = !busy && doc && status.writes !== false;
    if (event.dataTransfer) event.dataTransfer.dropEffect = may ? "copy" : "none";
    if (may) sheet("Lay the picture or drawing here");
  });
  addEventListener("dragleave", event => { if (!busy && event.relatedTarget === null) sheet(""); });
  addEventListener("drop", event => {
    if (!ofFile(event)) return;
    event.preventDefault();
    if (busy) return;
    sheet("");
    const file = event.dataTransfer?.files[0];
    if (file) void bring(file);
  });
}
