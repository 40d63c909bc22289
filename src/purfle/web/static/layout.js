// @ts-check
/** Where everything lies on the bench, in CSS px: pure arithmetic, no drawing. */

/**
 * @typedef {{s: number, ox: number, showBottom: number, underTop: number, wide: number, deep: number, edge: number,
 *   narrow: boolean, beside: boolean, height: number, slots: Slot[], shelves: {x: number, y: number, w: number}[]}} View
 * @typedef {{offcut: any, x: number, y: number, w: number, h: number, upright: boolean}} Slot
 */

const GAP = 20, LABEL = 44, NAME = 66, CAP = 84, FOOT = 92, TURN = 118;
/** The smallest and largest scale, px a mm. */
const LEAST = .08, MOST = 6;

/** Room left of the board on a narrow bench, px: the longest figure of each unit beside it, "10 15/64", is never cut. */
const BESIDE = /** @type {Record<string, number>} */ ({ inch: 76, "inch-decimal": 60 });

/** Lay the board and its rack out in a bench of a width and height.
 * @param {any} doc @param {number} width @param {number} height @param {boolean} paged One screen, or a page that scrolls.
 * @returns {View} */
export function layOut(doc, width, height, paged) {
  const narrow = width <= 720, left = narrow ? BESIDE[doc.job.unit] || 46 : 80, right = narrow ? 18 : 40;
  const { length, width: deep, thickness } = doc.board, rack = doc.rack || [];
  const facesHigh = 2 * deep + thickness;
  /** @param {number} s */
  const below = s => {
    if (length * s > width - left - right) return null;
    const top = CAP + facesHigh * s + FOOT, made = shelvesOf(rack, s, left, width - left - right, top);
    return !paged || made.bottom + 12 <= height ? { s, top, made, beside: false } : null;
  };
  /** @param {number} s */
  const beside = s => {
    const x = left + length * s + TURN, room = width - right - x;
    if (narrow || !rack.length || room < 90) return null;
    if (CAP + facesHigh * s + FOOT > height) return null;
    const made = shelvesOf(rack, s, x, room, CAP - 40);
    return made.bottom <= Math.max(height - 12, CAP + facesHigh * s + FOOT) && made.fits ? { s, top: CAP - 40, made, beside: true } : null;
  };
  const one = widest(below), two = paged ? widest(beside) : null;
  const took = two && (!one || two.s > one.s * 1.04) ? two : one || /** @type {any} */ (below(LEAST)) || { s: LEAST, made: shelvesOf([], LEAST, left, width, 0), beside: false };
  const { s, made } = took, used = CAP + facesHigh * s + FOOT;
  const spareX = took.beside ? Math.max(0, width - made.right - right) * .4 : Math.max(0, width - left - right - length * s) * (narrow || rack.length ? 0 : .5);
  const spareY = paged && took.beside ? Math.max(0, height - Math.max(used, made.bottom)) * .4 : 0;
  const ox = left + spareX, showTop = CAP + spareY, showBottom = showTop + deep * s;
  const slots = made.slots.map(slot => ({ ...slot, x: slot.x + spareX, y: slot.y + spareY }));
  const shelves = made.shelves.map(shelf => ({ ...shelf, x: shelf.x + spareX, y: shelf.y + spareY }));
  return {
    s, ox, showBottom, underTop: showBottom + thickness * s, wide: length * s, deep: deep * s, edge: thickness * s, narrow,
    beside: took.beside, height: Math.ceil(Math.max(used + spareY, made.bottom + spareY + 12, paged ? height : 0)), slots, shelves,
  };
}

/** The largest scale that something fits at.
 * @template T @param {(s: number) => T|null} fits @returns {T|null} */
function widest(fits) {
  let low = LEAST, high = MOST, best = null;
  for (let i = 0; i < 26; i++) {
    const s = (low + high) / 2, made = fits(s);
    if (made) { best = made; low = s; } else high = s;
  }
  return best;
}

/** Offcuts on shelves, row after row in the order of the rack; one that is too long for its row stands upright.
 * @param {any[]} rack @param {number} s @param {number} x0 @param {number} room @param {number} y0 */
function shelvesOf(rack, s, x0, room, y0) {
  /** @type {Slot[]} */ const slots = [];
  const shelves = []; let y = y0, row = [], x = x0, right = x0, fits = true;
  const close = () => {
    if (!row.length) return;
    const high = Math.max(...row.map(one => one.h));
    for (const one of row) slots.push({ ...one, y: y + high - one.h });
    shelves.push({ x: x0, y: y + high, w: room });
    y += high + LABEL; row = []; x = x0;
  };
  for (const offcut of rack) {
    const [long, wide] = offcut.size, upright = long * s > room && wide * s <= room;
    const w = (upright ? wide : long) * s, h = (upright ? long : wide) * s, takes = Math.max(w, NAME);
    if (w > room) fits = false;
    if (row.length && x + takes > x0 + room) close();
    row.push({ offcut, x, y: 0, w, h, upright });
    x += takes + GAP; right = Math.max(right, x - GAP);
  }
  close();
  return { slots, shelves: shelves.map(one => ({ ...one, w: Math.min(room, right - x0) })), bottom: rack.length ? y : y0, right, fits };
}

/** From the board frame (mm, y up from edge A) to px, on either face.
 * @param {View} v @param {"show"|"underside"} face @param {number} x @param {number} y @returns {[number, number]} */
export const at = (v, face, x, y) => [v.ox + x * v.s, face === "show" ? v.showBottom - y * v.s : v.underTop + y * v.s];

/** The transform of a group whose paths are in the board frame.
 * @param {View} v @param {"show"|"underside"} face */
export const frame = (v, face) => face === "show" ? `translate(${r(v.ox)} ${r(v.showBottom)}) scale(${v.s} ${-v.s})` : `translate(${r(v.ox)} ${r(v.underTop)}) scale(${v.s})`;

/** @param {number} n */
export const r = n => Math.round(n * 100) / 100;
