// @ts-check
/** Woods as fills: a picture of the figure from the server, baked once; its fibres turned to where they run. */

import { r } from "./layout.js";
import { here } from "./state.js";

const TILE = 240;

/** Collects the patterns that a drawing needs. */
export class Woods {
  /** @param {any} woods @param {string} name Patterns of several drawings on one page must not share names. */
  constructor(woods, name) { this.woods = woods; this.name = name; /** @type {Map<string, string>} */ this.made = new Map(); }

  /** The fill of a wood whose fibres run at an angle, about a place. @param {string} wood @param {number} [grain] @param {number} [seed] */
  fill(wood, grain = 0, seed = 0) {
    const key = `w-${this.name}-${wood}-${Math.round(grain)}-${seed % 5}`.replace(/[^\w-]/g, "");
    if (!this.made.has(key)) {
      const shift = (seed % 5) * 37;
      this.made.set(key, `<pattern id="${key}" patternUnits="userSpaceOnUse" width="${TILE}" height="${TILE}" patternTransform="rotate(${r(grain)}) translate(${shift} ${shift * 2})">
<rect width="${TILE}" height="${TILE}" fill="${this.colour(wood)}"/><image href="${picture(wood, TILE, TILE, "inlay")}" width="${TILE}" height="${TILE}" preserveAspectRatio="none"/></pattern>`);
    }
    return `url(#${key})`;
  }

  /** @param {string} wood */
  colour(wood) { return this.woods[wood]?.[here.look] || "#b48c5f"; }
  /** True where pale figures are read on it. @param {string} wood */
  dark(wood) { const c = parseInt(this.colour(wood).slice(1), 16); return .3 * (c >> 16) + .59 * (c >> 8 & 255) + .11 * (c & 255) < 125; }
  defs() { return [...this.made.values()].join(""); }
}

/** @param {string} wood @param {number} wide @param {number} high @param {string} seed */
export const picture = (wood, wide, high, seed) => `/wood/${encodeURIComponent(wood)}/${Math.ceil(wide)}x${Math.ceil(high)}/${seed}.jpg${here.look === "finished" ? "" : `?look=${here.look}`}`;
