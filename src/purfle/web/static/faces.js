// @ts-check
/** The two faces unfolded about edge A, what lies in them, and what shines through from the other side. */

import { at, frame, r } from "./layout.js";
import { Woods, picture } from "./woods.js";

/** @typedef {import("./layout.js").View} View */

/** @param {any} one */
export const ofDesign = one => one.kind !== "key" && one.kind !== "plug key";

/** Everything that does not move with the design. @param {any} doc @param {View} v */
export function facesOf(doc, v) {
  const woods = new Woods(doc.woods, "f"), { board } = doc;
  const bare = (/** @type {"show"|"underside"} */ face) => face1(doc, v, face, woods);
  const drawn = bare("show") + bare("underside") + edgeOf(doc, v) + captions(v) + turned(v);
  const clip = `<clipPath id="c-board"><path d="${board.outline}"/></clipPath>`;
  return `<defs>${clip}${woods.defs()}</defs>${drawn}`;
}

/** @param {any} doc @param {View} v @param {"show"|"underside"} face @param {Woods} woods */
function face1(doc, v, face, woods) {
  const { board } = doc, other = face === "show" ? "underside" : "show";
  const L = board.length, D = board.width, along = Math.abs(board.grain % 180) < 45 || Math.abs(board.grain % 180) > 135;
  const big = along ? Math.max(L, D * 1.2) : Math.max(D, L);
  const turn = board.grain % 180 ? ` transform="rotate(${board.grain} ${L / 2} ${D / 2})"` : "";
  const reach = turn ? Math.hypot(L, D) : 0;
  const box = turn ? [(L - reach) / 2, (D - reach) / 2, reach, reach] : [0, 0, L, D];
  const image = `<image href="${picture(board.wood, box[2], box[3], face)}" x="${r(box[0])}" y="${r(box[1])}" width="${r(box[2])}" height="${r(box[3])}" preserveAspectRatio="none"${turn}/>`;
  let g = `<g transform="${frame(v, face)}"><g clip-path="url(#c-board)"><rect width="${L}" height="${D}" fill="${woods.colour(board.wood)}"/>${image}</g>`;
  g += `<path class="edge" vector-effect="non-scaling-stroke" d="${board.outline}"/>`;
  for (const one of doc.recesses) if (one.face === other && one.kind !== "picture") g += `<path class="through" vector-effect="non-scaling-stroke" d="${one.d}"/>`;
  for (const one of doc.fittings) if (one.face === face) g += `<path class="dent" vector-effect="non-scaling-stroke" d="${one.d}"/>`;
  for (const one of doc.holes) if (one.face === face || one.through) g += `<circle class="hole" cx="${one.middle[0]}" cy="${one.middle[1]}" r="${one.drill / 2}"/>`;
  for (const one of doc.pieces) if (one.face === face && one.kind === "key") g += pieceOf(one, woods);
  void big;
  return g + "</g>";
}

/** @param {any} one @param {Woods} woods */
export const pieceOf = (one, woods) => `<path class="piece" data-id="${one.id}" vector-effect="non-scaling-stroke" d="${one.d}" fill="${woods.fill(one.wood, one.grain, one.number)}"><title>${esc(`${one.number} ${one.name}`.trim())}, ${esc(woods.woods[one.wood]?.name || one.wood)}</title></path>`;

/** The edge between the faces, darker since it faces the maker. @param {any} doc @param {View} v */
function edgeOf(doc, v) {
  const { board } = doc, y = v.showBottom;
  return `<image href="${picture(board.wood, board.length, board.thickness, "edge")}" x="${r(v.ox)}" y="${r(y)}" width="${r(v.wide)}" height="${r(v.edge)}" preserveAspectRatio="none"/>
<rect x="${r(v.ox)}" y="${r(y)}" width="${r(v.wide)}" height="${r(v.edge)}" fill="#5d3c14" fill-opacity=".2"/><rect class="edge" x="${r(v.ox)}" y="${r(y)}" width="${r(v.wide)}" height="${r(v.edge)}"/>`;
}

/** @param {View} v */
function captions(v) {
  const low = v.underTop + v.deep, far = v.ox + v.wide;
  const vee = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ turn) => `<path class="vee" transform="translate(${r(x)} ${r(y)}) rotate(${turn})" d="M-5 -9L0 0L5 -9"/>`;
  return `<text class="cap" x="${r(v.ox)}" y="${r(v.showBottom - v.deep - 52)}">Show face</text>
<text class="cap" x="${r(v.ox)}" y="${r(low + 76)}">Underside<tspan class="q">, seen from below</tspan></text>
${vee(far - v.wide * .3, v.showBottom - 2, 0)}${vee(far - v.wide * .3, v.underTop + 2, 180)}${v.edge > 13 ? `<text x="${r(v.ox + v.wide / 2)}" y="${r((v.showBottom + v.underTop) / 2 + 4.5)}" text-anchor="middle" class="onwood">datum edge A</text>` : ""}
${vee(v.ox + 2, v.showBottom - v.deep * .22, 90)}${vee(v.ox + 2, v.underTop + v.deep * .22, 90)}${v.deep > 150 ? `<text transform="translate(${r(v.ox + 15)} ${r(v.showBottom - v.deep / 2)}) rotate(-90)" text-anchor="middle" class="onwood">datum edge B</text>` : ""}`;
}

/** @param {View} v */
function turned(v) {
  if (v.narrow) return "";
  const x = v.ox + v.wide + 8, y = (v.showBottom + v.underTop) / 2, h = Math.max(26, v.edge / 2 + 16);
  return `<path class="turn" d="M${r(x)} ${r(y - h)}a${r(h * .7)} ${r(h)} 0 0 1 0 ${r(2 * h - 3)}"/><path class="head" d="M${r(x - 1)} ${r(y + h)}l7.5 -6.5 3.4 6.6z"/>
<text x="${r(x + h * .7 + 8)}" y="${r(y - 10)}">turned over</text><text x="${r(x + h * .7 + 8)}" y="${r(y + 6)}">about datum</text><text x="${r(x + h * .7 + 8)}" y="${r(y + 22)}">edge A</text>`;
}

/** The pieces of the design where they lie now; drawn apart, so that a drag moves one layer and redraws nothing.
 * @param {any} doc @param {View} v */
export function designOf(doc, v) {
  const woods = new Woods(doc.woods, "a");
  const face = (/** @type {any} */ one) => one.face;
  const groups = ["show", "underside"].map(side => {
    const pieces = doc.pieces.filter((/** @type {any} */ one) => ofDesign(one) && face(one) === side);
    return pieces.length ? `<g transform="${frame(v, /** @type {any} */ (side))}">${pieces.map((/** @type {any} */ one) => pieceOf(one, woods)).join("")}</g>` : "";
  });
  return `<defs>${woods.defs()}</defs>${groups.join("")}`;
}

/** Its recess, dashed on the other face. @param {any} doc @param {View} v */
export function designThrough(doc, v) {
  return ["show", "underside"].map(side => {
    const other = side === "show" ? "underside" : "show";
    const found = doc.recesses.filter((/** @type {any} */ one) => one.kind === "picture" && one.face === side);
    return found.length ? `<g transform="${frame(v, /** @type {any} */ (other))}">${found.map((/** @type {any} */ one) => `<path class="through" vector-effect="non-scaling-stroke" d="${one.d}"/>`).join("")}</g>` : "";
  }).join("");
}

/** Findings of the chosen sentence that have a place, ringed. @param {any} doc @param {View} v @param {any} sentence */
export function ringed(doc, v, sentence) {
  let g = "";
  for (const number of sentence?.findings || []) {
    const one = doc.findings[number];
    if (!one.place) continue;
    const face = /** @type {"show"|"underside"} */ (doc.artworks[0]?.face || "show");
    const [x, y] = at(v, face, one.place[0], one.place[1]);
    g += `<circle class="halo" cx="${r(x)}" cy="${r(y)}" r="11"/><circle class="tagged ${one.severity}" cx="${r(x)}" cy="${r(y)}" r="11"/>`;
  }
  return g;
}

/** @param {string} text */
export const esc = text => text.replace(/[&<>"]/g, sign => `&#${sign.charCodeAt(0)};`);
