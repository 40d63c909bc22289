// @ts-check
/** Everything that is asked of the server, and what it tells by itself. */

/** This page, among others on the same job; it stays itself over a reload. */
export const page = sessionStorage.getItem("page") || crypto.randomUUID();
sessionStorage.setItem("page", page);

/** @typedef {{what: string, where: string, mend: string, key: string, ours?: string}} Fault */

const LOST = { what: "Purfle does not answer", where: "this page", mend: "Look whether it still runs in the terminal; if not, start it again with: purfle open", key: "" };

/** @param {string} path @param {any} [sent] @returns {Promise<any>} */
async function ask(path, sent) {
  try {
    const asked = sent === undefined ? {} : { method: "POST", body: sent instanceof Blob ? sent : JSON.stringify(sent), headers: { "x-purfle-page": page, "content-type": sent instanceof Blob ? "application/octet-stream" : "application/json" } };
    const answer = await fetch(path, asked);
    const kind = answer.headers.get("content-type") || "";
    if (kind.includes("json")) return await answer.json();
    return { faults: [{ what: (await answer.text()).split("\n")[0], where: "this page", mend: "Open the link of the terminal again.", key: "" }] };
  } catch { return { faults: [LOST] }; }
}

export const load = () => ask(`/job?page=${page}`);
/** @param {string} what */
export const dress = what => ask(`/dress/${what}`);
export const states = () => ask("/states");
/** @param {object[]} changes @param {string} label @param {string} [kind] */
export const edit = (changes, label, kind = "") => ask("/edit", { changes, label, kind });
/** @param {"undo"|"redo"|"back"} how @param {number} [state] */
export const move = (how, state = -1) => ask("/move", { how, state });
/** A picture or drawing, whole. @param {File} file */
export const bring = file => ask(`/artwork?name=${encodeURIComponent(file.name)}`, file);
export const takeOver = () => ask("/take-over", {});
export const again = () => ask("/again", {});
export const write = () => ask("/write", {});
/** @param {"write"|"exact"} what */
export const cancel = what => ask("/cancel", { what });

/** @param {(told: any) => void} hear @param {(there: boolean) => void} line */
export function listen(hear, line) {
  const source = new EventSource(`/events?page=${page}`);
  source.onmessage = event => hear(JSON.parse(event.data));
  source.onopen = () => line(true);
  source.onerror = () => line(false);
}
