// @ts-check
/** Looks: the woods of the drawing freshly planed, finished, or after years of light. Nothing of the job changes. */

import { unfolded } from "./docket.js";
import { changed, here } from "./state.js";
import { el } from "./words.js";

const LOOKS = { fresh: "freshly planed", finished: "finished", aged: "after years" };

unfolded.set("woods", () => {
  const choices = Object.entries(LOOKS).map(([key, words]) => {
    const input = /** @type {HTMLInputElement} */ (el("input", { type: "radio", name: "look", value: key, id: `look-${key}`, ...(here.look === key ? { checked: "" } : {}) }));
    input.addEventListener("change", () => { here.look = key; changed("here"); });
    return el("label", {}, input, el("span", {}, words));
  });
  return [el("fieldset", { class: "units looks" }, el("legend", {}, "Shown"), ...choices)];
});
