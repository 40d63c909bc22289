// @ts-check
/** The offcuts on their shelves, at the scale of the board, with the parts that come out of them. */

import { esc } from "./faces.js";
import { r } from "./layout.js";
import { said } from "./units.js";
import { Woods } from "./woods.js";

/** @param {any} doc @param {import("./layout.js").View} v */
export function rackOf(doc, v) {
  const woods = new Woods(doc.woods, "r");
  const shelves = v.shelves.map(one => `<path class="shelf" d="M${r(one.x)} ${r(one.y + .75)}h${r(one.w)}"/>`).join("");
  const drawn = v.slots.map(slot => offcutOf(doc, v, slot, woods)).join("");
  return `<defs>${woods.defs()}</defs>${drawn}${shelves}`;
}

/** @param {any} doc @param {import("./layout.js").View} v @param {import("./layout.js").Slot} slot @param {Woods} woods */
function offcutOf(doc, v, slot, woods) {
  const { offcut } = slot, dark = woods.dark(offcut.wood), ink = dark ? "#f5f6f4" : "#1b2321";
  const turn = slot.upright ? `translate(${r(slot.x + slot.w)} ${r(slot.y + slot.h)}) scale(${v.s} ${-v.s}) rotate(90)` : `translate(${r(slot.x)} ${r(slot.y + slot.h)}) scale(${v.s} ${-v.s})`;
  let g = `<g class="offcut${offcut.parts.length ? "" : " rest"}"><g transform="${turn}"><path class="piece" vector-effect="non-scaling-stroke" d="${offcut.d}" fill="${woods.fill(offcut.wood, offcut.grain, 7)}"/>`;
  if (offcut.defects) g += `<path class="hole" d="${offcut.defects}"/>`;
  for (const part of offcut.parts) g += `<path class="part" vector-effect="non-scaling-stroke" d="${part.d}" fill="${ink}" stroke="${ink}"${part.spare ? ' stroke-dasharray="4 3"' : ""}/>`;
  g += "</g>";
  for (const part of offcut.parts) {
    const [px, py, room] = part.spot;
    const [x, y] = slot.upright ? [slot.x + slot.w - py * v.s, slot.y + slot.h - px * v.s] : [slot.x + px * v.s, slot.y + slot.h - py * v.s];
    if (room * v.s >= 5.5) g += `<text class="num${dark ? " pale" : ""}" x="${r(x)}" y="${r(y + 4.5)}" text-anchor="middle" stroke="${woods.colour(offcut.wood)}">${part.number}</text>`;
  }
  const unit = doc.job.unit, size = [...offcut.size, offcut.thickness].map(mm => said(mm, unit)).join(" × ");
  const name = cap(offcut.said), both = `${name}, ${offcut.name}`, few = both.length * 7 > Math.max(slot.w, 66) + 10;
  g += `<text class="nm" x="${r(slot.x)}" y="${r(slot.y + slot.h + 18)}">${esc(few ? name : both)}</text><text x="${r(slot.x)}" y="${r(slot.y + slot.h + 34)}">${esc(few ? offcut.name : size)}</text></g>`;
  return g;
}

/** @param {string} text */
const cap = text => text.charAt(0).toUpperCase() + text.slice(1);
