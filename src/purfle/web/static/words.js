// @ts-check
/** Small makers of elements: marks, boxes. */

const WORD = { ready: "ready", look: "look", stop: "stop", wait: "later" };

/** @param {string} name @param {Record<string, string>} [with_] @param {...(Node|string)} inside @returns {HTMLElement} */
export function el(name, with_ = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(with_)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

/** A mark, told by word and shape and colour. @param {string} kind @param {boolean} [worded] */
export function mark(kind, worded = true) {
  const box = el("span", { class: `mk ${kind}` });
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg"), use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  svg.setAttribute("aria-hidden", "true"); use.setAttribute("href", `#m-${kind}`); svg.append(use); box.append(svg);
  if (worded) box.append(WORD[/** @type {keyof WORD} */ (kind)] || kind);
  else box.append(el("span", { class: "sr" }, WORD[/** @type {keyof WORD} */ (kind)] || kind));
  return box;
}

/** Faults beside what they are bound to: what, where, mend. @param {import("./server.js").Fault[]} faults @param {string} id */
export function faultBox(faults, id) {
  const box = el("div", { class: "fault", id: `fault-${id}`, role: "alert" });
  for (const one of faults) box.append(el("p", {}, el("b", {}, `${end(one.what)} `), `${end(one.where)} `, el("b", {}, "Mend. "), end(one.mend)));
  return box;
}

/** @param {string} text */
const end = text => text && !/[.!?]$/.test(text) ? `${text}.` : text;
