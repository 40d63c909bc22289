// @ts-check
/** What the page knows, in one place; every part of the page redraws from it. */

/** @type {any} The document of the job, see docs/page.schema.json. */
export let doc = null;
/** @type {any} Where the job stands. */
export let status = {};
/** What only this page knows: the chosen sentence, faults beside fields, what is being done. */
export const here = {
  chosen: "", stage: "", stageOf: "", there: true, /** @type {any[]} */ faults: [], faultOf: "", typed: "", look: "finished",
};

/** @type {((what: string) => void)[]} */
const parts = [];
/** @param {(what: string) => void} part Called with "document", "status" or "here" after each change. */
export const onChange = part => parts.push(part);
/** @param {string} what */
export const changed = what => { for (const part of parts) part(what); };

/** @param {any} come */
export function take(come) {
  if (come.status) status = come.status;
  if (come.document) { come.document.rack ??= doc?.rack; doc = come.document; changed("document"); } else changed("status");
}
/** @param {any} come */
export function takeStatus(come) { status = come; changed("status"); }
