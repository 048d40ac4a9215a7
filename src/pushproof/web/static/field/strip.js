/* The day along the clock: one bar for each sounding, with its stops and tests. */

import { text } from "/static/shell.js";
import { svg } from "/static/sounding/make.js";
import { say } from "/static/text/say.js";

const LEFT = 110;
const ROW = 44;
const TOP = 34;

/* Drawn for the width it gets, so that its letters are as large as those around it. */
export function strip(found, room) {
  const wide = Math.round(Math.max(room, 480));
  const rows = found.soundings;
  const ends = rows.flatMap((one) => [one.first, ...one.stops.map((stop) => stop.at + stop.duration), one.last]);
  const [first, last] = [Math.min(...ends), Math.max(...ends)];
  const step = stepOf(last - first, (wide - LEFT) / 80);
  const begin = Math.floor(first / step) * step;
  const end = Math.max(Math.ceil(last / step), begin / step + 1) * step;
  const x = (at) => LEFT + ((at - begin) / (end - begin)) * (wide - LEFT - 12);
  const height = TOP + rows.length * ROW + 8;
  const picture = svg("svg", {
    class: "day-strip", viewBox: `0 0 ${wide} ${height}`, role: "img",
    "aria-label": say("field.stripLabel", { names: rows.map(told).join("; ") }),
  });
  picture.append(hatch());
  /* the clock of the record: that of the surface computer, as the server tells it */
  const offset = offsetOf(rows[0]);
  for (let at = begin; at <= end; at += step) {
    picture.append(
      svg("line", { class: "grid", x1: x(at), x2: x(at), y1: TOP - 6, y2: height - 6 }),
      letter(x(at), TOP - 13, clock(at + offset), at === begin ? "start" : at + step > end ? "end" : "middle"),
    );
  }
  rows.forEach((one, k) => {
    const y = TOP + k * ROW;
    picture.append(letter(0, y + 26, one.name, "start", "name"));
    picture.append(svg("rect", { class: "pushed", x: x(one.first), y: y + 8, width: Math.max(x(one.last) - x(one.first), 3), height: 26 }));
    for (const stop of one.stops) {
      picture.append(svg("rect", {
        class: stop.tested ? "tested" : "stood", x: x(stop.at), y: y + 8,
        width: Math.max(x(stop.at + stop.duration) - x(stop.at), 2), height: 26,
      }));
    }
  });
  const key = text("p", "strip-key soft", "");
  for (const name of ["pushed", "tested", "stood"]) {
    const sample = svg("svg", { class: "day-strip sample", viewBox: "0 0 28 16", "aria-hidden": "true" });
    sample.append(svg("rect", { class: name, x: 1, y: 1, width: 26, height: 14 }));
    const one = text("span", "", "");
    one.append(sample, ` ${say(`field.strip.${name}`)}`);
    key.append(one);
  }
  const box = text("figure", "plot", "");
  box.append(picture, key);
  return box;
}

function told(one) {
  return say("field.stripRow", { name: one.name, from: one.first_clock, to: one.last_clock });
}

function hatch() {
  const made = svg("defs", {});
  const pattern = svg("pattern", { id: "stood-hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
  pattern.append(svg("rect", { class: "hatch-ground", width: 7, height: 7 }), svg("rect", { class: "hatch-line", width: 3, height: 7 }));
  made.append(pattern);
  return made;
}

/* A step of the clock that gives no more than so many of them. */
function stepOf(span, most) {
  return [60, 120, 300, 600, 900, 1800, 3600, 7200, 14400].find((step) => span / step <= most) ?? 28800;
}

/* What to add to a time so that its UTC clock is that of the record. */
function offsetOf(one) {
  const [hours, minutes] = one.first_clock.split(":").map(Number);
  const utc = Math.floor(one.first / 60) % 1440;
  const ahead = hours * 60 + minutes - utc;
  return (((ahead + 720 + 1440) % 1440) - 720) * 60;
}

function clock(at) {
  const minutes = Math.round(at / 60) % 1440;
  return `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
}

function letter(x, y, words, anchor, kind = "") {
  const made = svg("text", { x, y, "text-anchor": anchor, class: kind });
  made.textContent = words;
  return made;
}
