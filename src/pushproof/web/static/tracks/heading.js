/* Headings of the tracks: title, symbols with their line, unit and the numbers of the axis. */

import { SOIL_AXIS, soilColour } from "./soil.js";
import { IC_HIGH, IC_LOW } from "./soil-ramp.js";

const SVG = "http://www.w3.org/2000/svg";

/** Put text with lowered parts, "q_{t}", into an element. */
export function setSymbol(element, text) {
  element.replaceChildren();
  for (const part of text.split(/(_\{[^}]*\})/)) {
    if (part.startsWith("_{")) {
      const low = document.createElement("sub");
      low.textContent = part.slice(2, -1);
      element.append(low);
    } else if (part) element.append(part);
  }
}

/** Make the heading of one track. */
export function heading(track, scale, words) {
  const head = element("div", "track-head");
  head.dataset.track = track.name;
  const title = element("div", "track-title", track.title);
  title.title = track.title;
  const symbols = element("div", "track-symbols");
  if (track.kind === "soil") symbols.append(element("span", "", words("tracks.soilWidth")), rampBar());
  if (track.unit && track.unit !== "-") symbols.append(element("span", "track-unit", `[${track.unit}]`));
  for (const curve of [...(track.curves ?? [])].reverse()) symbols.append(symbolOf(curve));
  head.append(title, symbols);
  if (track.notes?.length) {
    const note = element("div", "track-note");
    setSymbol(note, track.notes.join("; "));
    head.append(note);
  }
  const axis = element("div", "track-axis");
  axis.setAttribute("aria-hidden", "true");
  head.append(axis);
  return { head, axis, scale };
}

/** Write the numbers of an axis over a width [px]. */
export function setTicks({ axis, scale }, width, soil) {
  axis.replaceChildren();
  if (!scale) return;
  const used = soil ? SOIL_AXIS : scale;
  const room = Math.floor(width / 34);
  const ticks = used.ticks(room);
  ticks.forEach((value) => {
    const tick = element("span", "tick", used.tickText(value));
    const at = used.place(value, 0, width);
    tick.style.left = `${at}px`;
    if (at < 10) tick.dataset.end = "left";
    else if (at > width - 10) tick.dataset.end = "right";
    axis.append(tick);
  });
}

function symbolOf(curve) {
  const one = element("span", "track-symbol");
  const line = document.createElementNS(SVG, "svg");
  line.setAttribute("width", "22");
  line.setAttribute("height", "8");
  line.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(SVG, "path");
  path.setAttribute("d", "M0 4H22");
  path.setAttribute("class", `look-${curve.look}`);
  path.setAttribute("stroke-width", String(curve.width));
  if (curve.dash) path.setAttribute("stroke-dasharray", curve.dash.join(" "));
  line.append(path);
  const text = element("span");
  setSymbol(text, curve.text);
  one.append(line, text);
  return one;
}

function rampBar() {
  const bar = document.createElement("canvas");
  bar.className = "track-ramp";
  bar.width = 64;
  bar.height = 1;
  bar.setAttribute("aria-hidden", "true");
  const ctx = bar.getContext("2d");
  for (let k = 0; k < 64; k += 1) {
    ctx.fillStyle = soilColour(IC_LOW + ((IC_HIGH - IC_LOW) * k) / 63);
    ctx.fillRect(k, 0, 1, 1);
  }
  return bar;
}

export function element(tag, name = "", text = "") {
  const made = document.createElement(tag);
  if (name) made.className = name;
  if (text) made.textContent = text;
  return made;
}
