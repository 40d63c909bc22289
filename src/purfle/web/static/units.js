// @ts-check
/** Lengths as people read them; the server has the last word, this is for what moves under the pointer. */

/** @typedef {"mm"|"inch"|"inch-decimal"} Unit */

/** The bare number of a length in mm, as `purfle.units.number` says it.
 * @param {number} mm @param {Unit} unit @param {string} [figure] @returns {string} */
export function said(mm, unit, figure = "dimension") {
  if (unit === "mm") return figure === "seam" ? mm.toFixed(2) : String(+mm.toFixed(figure === "depth" ? 2 : 1));
  if (unit === "inch-decimal" || figure === "seam") return figure === "seam" ? (mm / 25.4).toFixed(3) : String(+(mm / 25.4).toFixed(3));
  const parts = Math.round(Math.abs(mm) / 25.4 * 64), whole = Math.floor(parts / 64);
  let over = parts % 64, under = 64;
  while (over && over % 2 === 0) { over /= 2; under /= 2; }
  const words = [...(whole || !over ? [String(whole)] : []), ...(over ? [`${over}/${under}`] : [])];
  return (mm < 0 && parts ? "-" : "") + words.join(" ");
}

/** @param {Unit} unit */
export const word = unit => unit === "mm" ? "mm" : "in";

/** A length to write into the job: exact in the unit of the job.
 * @param {number} mm @param {Unit} unit @returns {string} */
export function written(mm, unit) {
  if (unit === "mm") return `${+mm.toFixed(2)} mm`;
  return unit === "inch" ? `${said(mm, unit)} in` : `${+(mm / 25.4).toFixed(4)} in`;
}

/** How far one press of an arrow key goes, in mm; finer with Shift.
 * @param {Unit} unit @param {boolean} fine @param {string} [figure] @returns {number} */
export function step(unit, fine, figure = "dimension") {
  if (figure === "seam") return unit === "mm" ? (fine ? .001 : .01) : (fine ? .0001 : .001) * 25.4;
  if (unit === "mm") return fine ? .1 : 1;
  return unit === "inch" ? 25.4 / (fine ? 64 : 16) : 25.4 * (fine ? .005 : .05);
}

/** A typed length in mm, null where only the server can tell.
 * @param {string} text @param {Unit} unit @returns {number|null} */
export function read(text, unit) {
  const found = /^\s*(?:(\d+)[\s-]+)?(\d+)\/(\d+)\s*(?:in|")?\s*$|^\s*(\d+(?:[.,]\d*)?)\s*(mm|cm|in|")?\s*$/.exec(text);
  if (!found) return null;
  if (found[2]) return (Number(found[1] || 0) + Number(found[2]) / Number(found[3])) * 25.4;
  const each = { mm: 1, cm: 10, in: 25.4, '"': 25.4 }[found[5] || word(unit)] || 1;
  return Number(found[4].replace(",", ".")) * each;
}
