/* The plan of the soundings: their positions in one plane system, north up, with a scale. */

import { svg, text } from "/static/sounding/make.js";
import { say } from "/static/text/say.js";

const EDGE = 60;
const LETTER = 9;

/* Draw the plan as wide as its place [px], so that marks and names keep their size there. */
export function plan(summaries, place) {
  const placed = summaries.filter((one) => one.x != null && one.y != null);
  if (!placed.length) {
    return text("p", "soft", say("start.noPlan"));
  }
  const crs = placed[0].crs;
  const wide = Math.max(place, 320);
  const high = Math.min(Math.max(wide * 0.4, 260), 460);
  const shown = placed.filter((one) => one.crs === crs);
  const [left, right] = ends(shown.map((one) => one.x));
  const [low, top] = ends(shown.map((one) => one.y));
  const perPixel = Math.max((right - left) / (wide - 2 * EDGE), (top - low) / (high - 2 * EDGE), 0.02);
  const x = (value) => wide / 2 + (value - (left + right) / 2) / perPixel;
  const y = (value) => high / 2 - (value - (low + top) / 2) / perPixel;
  const picture = svg("svg", {
    class: "plan", viewBox: `0 0 ${wide} ${high}`, role: "group",
    "aria-label": say("start.planLabel", { names: shown.map((one) => one.name).join(", ") }),
  });
  picture.append(svg("rect", { class: "frame", x: 1, y: 1, width: wide - 2, height: high - 2 }));
  // the arrow and the scale take their corners: left, top, right, bottom
  const taken = [[wide - 56, 0, wide, 66], [0, high - 58, 220, high], ...shown.map((one) => around(x(one.x), y(one.y)))];
  for (const one of shown) {
    const link = svg("a", { href: `/log?s=${encodeURIComponent(one.id)}`, "aria-label": one.name });
    link.append(
      svg("circle", { class: "reach", cx: x(one.x), cy: y(one.y), r: 24 }),
      svg("circle", { class: `place place-${one.worst ?? "none"}`, cx: x(one.x), cy: y(one.y), r: 9 }),
      name(x(one.x), y(one.y), one.name, taken, wide),
    );
    picture.append(link);
  }
  north(picture, wide - 34);
  bar(picture, perPixel, high - 28);
  const box = text("figure", "plot", "");
  box.append(picture, text("figcaption", "soft", [crs,
    shown.length < placed.length ? say("start.several", { crs }) : ""].filter(Boolean).join(" · ")));
  return box;
}

function around(x, y) {
  return [x - 10, y - 10, x + 10, y + 10];
}

/* The name of a sounding where it covers neither another nor the edge: right, left, above, below. */
function name(x, y, words, taken, edge) {
  const wide = words.length * LETTER;
  const places = [
    [x + 15, y + 5, "start", [x + 15, y - 9, x + 15 + wide, y + 9]],
    [x - 15, y + 5, "end", [x - 15 - wide, y - 9, x - 15, y + 9]],
    [x, y - 16, "middle", [x - wide / 2, y - 30, x + wide / 2, y - 12]],
    [x, y + 27, "middle", [x - wide / 2, y + 13, x + wide / 2, y + 31]],
  ];
  const free = ([, , , box]) => box[0] > 2 && box[2] < edge - 2 && taken.every((other) =>
    box[2] < other[0] || box[0] > other[2] || box[3] < other[1] || box[1] > other[3]);
  const [left, base, anchor, box] = places.find(free) ?? places[0];
  taken.push(box);
  return letter(left, base, words, anchor);
}

function ends(values) {
  return [Math.min(...values), Math.max(...values)];
}

function letter(x, y, words, anchor) {
  const made = svg("text", { x, y, "text-anchor": anchor });
  made.textContent = words;
  return made;
}

function north(picture, x) {
  picture.append(svg("path", { class: "north", d: `M${x} 18 l9 24 -9 -6 -9 6 z` }), letter(x, 58, "N", "middle"));
}

function bar(picture, perPixel, y) {
  const rough = 160 * perPixel;
  const power = 10 ** Math.floor(Math.log10(rough));
  const length = [5, 2, 1].map((k) => k * power).find((k) => k <= rough);
  const [x, wide] = [28, length / perPixel];
  picture.append(
    svg("path", { class: "bar-line", d: `M${x} ${y - 5} v10 M${x} ${y} h${wide} M${x + wide} ${y - 5} v10` }),
    letter(x + wide / 2, y - 9, `${length} m`, "middle"),
  );
}
