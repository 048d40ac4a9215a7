/* Writing to the page only what changed: a push goes on for hours. */

const kept = new WeakMap();

export function put(element, text) {
  if (kept.get(element) === text) return;
  kept.set(element, text);
  element.textContent = text;
}

export function mark(element, name, value) {
  if (element.dataset[name] !== value) element.dataset[name] = value;
}

export function show(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}

export function style(element, name, value) {
  const text = String(value);
  if (element.style.getPropertyValue(name) !== text) element.style.setProperty(name, text);
}

export const NONE = "\u2013\u2013";

/** A number with its decimals and a true minus; two dashes where it is not known. */
export function number(value, decimals) {
  if (value === null || value === undefined || !Number.isFinite(value)) return NONE;
  const text = value.toFixed(decimals);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", "\u2212");
}

/** Seconds as people say them. */
export function span(seconds) {
  if (seconds < 100) return `${Math.floor(seconds)} s`;
  if (seconds < 6000) return `${Math.floor(seconds / 60)} min`;
  return `${Math.floor(seconds / 3600)} h`;
}
