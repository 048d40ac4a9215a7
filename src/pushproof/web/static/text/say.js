/* Words of the catalogue, with numbers put in. Another language is another catalogue. */

import { words } from "/static/text/en.js";

export function say(name, values = {}) {
  const text = name.split(".").reduce((part, key) => part?.[key], words);
  if (typeof text !== "string") {
    throw new Error(`no words for ${name}`);
  }
  return text.replace(/\{(\w+)\}/g, (whole, key) => (key in values ? String(values[key]) : whole));
}

/* Fill every element that names its words: data-say for its text, data-say-label for its label. */
export function fill(root = document) {
  for (const element of root.querySelectorAll("[data-say]")) {
    element.textContent = say(element.dataset.say);
  }
  for (const element of root.querySelectorAll("[data-say-label]")) {
    element.setAttribute("aria-label", say(element.dataset.sayLabel));
  }
}
