// @ts-check
/** Small curves beneath a sentence, in the ink of the docket: the seam through the year, cutter against fidelity. */

import { doc } from "./state.js";
import { esc } from "./faces.js";
import { r } from "./layout.js";
import { said } from "./units.js";
import { el } from "./words.js";

const W = 312, H = 150, LEFT = 40, RIGHT = 8, TOP = 12, LOW = 22;
const MONTHS = "JFMAMJJASOND";

/** @param {string} name @param {string} inside */
function chart(name, inside) {
  const box = el("div", { class: "curve" });
  box.innerHTML = `<svg viewBox="0 0 ${W} ${H}" role="img" aria-label="${esc(name)}">${inside}</svg>`;
  return box;
}

/** The narrowest and the widest seam at each month. @param {any} made */
export function drawSeason(made) {
  const { unit } = doc.job, { months, opens, asked } = made;
  const all = [opens, asked, 0, ...months.flatMap((/** @type {any} */ one) => [one.narrowest, one.widest])];
  const most = Math.max(...all) * 1.08, least = Math.min(...all) * 1.08;
  const x = (/** @type {number} */ n) => LEFT + n / (months.length - 1) * (W - LEFT - RIGHT), y = (/** @type {number} */ mm) => TOP + (most - mm) / (most - least) * (H - TOP - LOW);
  const line = (/** @type {string} */ key) => months.map((/** @type {any} */ one, /** @type {number} */ n) => `${r(x(n))} ${r(y(one[key]))}`);
  const wide = line("widest"), narrow = line("narrowest");
  let g = `<path class="band" d="M${wide.join("L")}L${[...narrow].reverse().join("L")}Z"/><path class="c" d="M${wide.join("L")}"/><path class="c" d="M${narrow.join("L")}"/>`;
  /** @type {number[]} */ const put = [];
  for (const [mm, cls] of /** @type {[number, string][]} */ ([[opens, "limit"], [asked, "axis"], [0, "axis"]])) {
    g += `<path class="${cls}" d="M${LEFT} ${r(y(mm))}H${W - RIGHT}"/>`;
    if (put.every(one => Math.abs(one - y(mm)) > 12)) { g += `<text x="${LEFT - 5}" y="${r(y(mm) + 4)}" text-anchor="end">${mm ? said(mm, unit, "seam") : "0"}</text>`; put.push(y(mm)); }
  }
  g += `<text x="${W / 2}" y="${r(y(opens) - 5)}" text-anchor="middle">shows as a line</text>`;
  for (let n = 0; n < 12; n++) g += `<text x="${r(x(n + .5))}" y="${H - 6}" text-anchor="middle">${MONTHS[n]}</text>`;
  return chart(`The seam through the year: ${made.told}`, g);
}

/** Minutes to the right, share of the drawing that is changed upwards. @param {any[]} rows */
export function drawCutters(rows) {
  const most = Math.max(...rows.map(one => one.minutes)) * 1.1, share = Math.max(.1, ...rows.map(one => one.changed)) * 1.15;
  const x = (/** @type {number} */ min) => LEFT + min / most * (W - LEFT - RIGHT), y = (/** @type {number} */ p) => TOP + (1 - p / share) * (H - TOP - LOW);
  const front = rows.filter(one => one.worth).sort((a, b) => a.minutes - b.minutes);
  let g = `<path class="axis" d="M${LEFT} ${TOP}V${H - LOW}H${W - RIGHT}"/>`;
  if (front.length > 1) g += `<path class="c" d="M${front.map(one => `${r(x(one.minutes))} ${r(y(one.changed))}`).join("L")}"/>`;
  for (const one of rows) g += `<circle class="${one.best ? "dot best" : one.worth ? "dot" : "dot hollow"}" cx="${r(x(one.minutes))}" cy="${r(y(one.changed))}" r="${one.best ? 5 : 3.5}"><title>${esc(one.name)}</title></circle>`;
  const shorter = (/** @type {string} */ name) => name.replaceAll(" straight", "");
  /** @type {[number, number][]} */ const put = [];
  for (const one of front) {
    const left = x(one.minutes) > W * .6, px = x(one.minutes) + (left ? -7 : 7), py = y(one.changed) - 6;
    if (put.some(([, qy]) => Math.abs(py - qy) < 13)) continue;
    put.push([px, py]);
    g += `<text x="${r(px)}" y="${r(Math.max(TOP + 4, py))}" text-anchor="${left ? "end" : "start"}">${esc(shorter(one.name))}</text>`;
  }
  g += `<text x="${LEFT - 5}" y="${r(y(share / 1.15) + 4)}" text-anchor="end">${(share / 1.15).toFixed(1)} %</text><text x="${LEFT - 5}" y="${H - LOW + 4}" text-anchor="end">0</text><text x="${W - RIGHT}" y="${H - 6}" text-anchor="end">${Math.round(most / 1.1)} min of cutting</text>`;
  return chart("Share of the drawing that is changed against minutes of cutting, for every cutter and pair", g);
}
