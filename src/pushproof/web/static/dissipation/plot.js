/* The plots of a dissipation test, over log time and over root time, with picks to drag. */

import { svg, text } from "/static/sounding/make.js";
import { say } from "/static/text/say.js";

const WIDTH = 640;
const HEIGHT = 380;
const BOX = { left: 52, top: 28, right: WIDTH - 12, bottom: HEIGHT - 44 };
const GRIP = 22; /* half of the 44 px that a finger needs */

/* kind: "log" or "root". picks: [{name, axis: "u"|"t", value, words, move}]. */
export function dissipationPlot(kind, test, picks) {
  const label = say(`dissipation.${kind}Label`, { number: test.number });
  const picture = svg("svg", {
    class: "dissipation-plot", viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "group", "aria-label": label,
  });
  const scale = scales(kind, test, picks);
  grid(picture, kind, scale, test);
  if (test.u0 !== null) {
    line(picture, "level", scale, [scale.t0, scale.t1], [test.u0, test.u0]);
  }
  curve(picture, "record", scale, test.time, test.u, kind);
  for (const fit of test.fits) {
    curve(picture, `fit fit-${fit.method}`, scale, fit.time, fit.u, kind);
  }
  for (const pick of picks) {
    picture.append(handle(picture, scale, pick));
  }
  mark(picture, scale, test);
  const box = text("figure", "plot dissipation", "");
  box.append(text("h3", "", say(`dissipation.${kind}`)), picture);
  return box;
}

function scales(kind, test, picks) {
  const times = test.time.filter((t) => t > 0);
  const last = Math.max(...times, 1);
  const levels = [...test.u, test.u0, test.chosen?.u_i, ...picks.filter((p) => p.axis === "u").map((p) => p.value)]
    .filter((value) => value !== null && value !== undefined);
  const least = Math.min(...levels);
  const low = Math.min(least, 0);
  const high = Math.max(...levels, low + 10);
  const pad = (high - low) * 0.06;
  const step = niceStep((high - low) / 6);
  const t0 = kind === "log" ? Math.min(1, ...times) : 0;
  const t1 = kind === "log" ? Math.max(last, (test.chosen?.t50 ?? 0) * 1.3) : last;
  const along = kind === "log" ? (t) => Math.log10(Math.max(t, t0)) : (t) => Math.sqrt(Math.max(t, 0));
  const back = kind === "log" ? (v) => 10 ** v : (v) => Math.max(v, 0) ** 2;
  const [a, b] = [along(t0), along(t1)];
  const [bottom, top] = [least >= 0 ? 0 : Math.floor((low - pad) / step) * step, Math.ceil((high + pad) / step) * step];
  return {
    t0, t1, step, bottom, top,
    x: (t) => BOX.left + ((along(t) - a) / (b - a)) * (BOX.right - BOX.left),
    y: (u) => BOX.bottom - ((u - bottom) / (top - bottom)) * (BOX.bottom - BOX.top),
    timeAt: (x) => back(a + ((x - BOX.left) / (BOX.right - BOX.left)) * (b - a)),
    levelAt: (y) => bottom + ((BOX.bottom - y) / (BOX.bottom - BOX.top)) * (top - bottom),
  };
}

function niceStep(rough) {
  const power = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 5, 10].map((k) => k * power).find((k) => k >= rough);
}

const TIMES = [[0.1, "0.1 s"], [1, "1 s"], [10, "10 s"], [60, "1 min"], [600, "10 min"], [3600, "1 h"],
  [36000, "10 h"], [360000, "100 h"]];

function grid(picture, kind, scale, test) {
  for (let u = scale.bottom; u <= scale.top + 1e-9; u += scale.step) {
    picture.append(svg("line", {
      class: "grid", x1: BOX.left, x2: BOX.right, y1: scale.y(u), y2: scale.y(u),
    }), letter(BOX.left - 8, scale.y(u) + 4, minus(Math.round(u * 100) / 100), "end"));
  }
  const ticks = kind === "log"
    ? TIMES.filter(([t]) => t >= scale.t0 && t <= scale.t1)
    : rootTicks(scale.t1);
  for (const [t, words] of ticks) {
    picture.append(svg("line", {
      class: "grid", x1: scale.x(t), x2: scale.x(t), y1: BOX.top, y2: BOX.bottom,
    }), letter(scale.x(t), BOX.bottom + 18, words));
  }
  picture.append(
    svg("rect", {
      class: "frame", x: BOX.left, y: BOX.top, width: BOX.right - BOX.left, height: BOX.bottom - BOX.top,
    }),
    letter(BOX.left, BOX.top - 10, `${test.channel} [kPa]`, "start"),
    letter(BOX.right, HEIGHT - 8, say(kind === "log" ? "dissipation.time" : "dissipation.rootTime"), "end"),
  );
}

function rootTicks(last) {
  const step = niceStep(Math.sqrt(last) / 6);
  const ticks = [];
  for (let root = 0; root <= Math.sqrt(last); root += step) {
    ticks.push([root ** 2, `√${Math.round(root ** 2)} s`]);
  }
  return ticks;
}

function curve(picture, kind, scale, time, level, axis) {
  const points = [];
  time.forEach((t, k) => {
    if (level[k] !== null && (axis === "root" || t > 0) && t <= scale.t1 * 1.001) {
      points.push(`${scale.x(t).toFixed(1)},${clip(scale.y(level[k])).toFixed(1)}`);
    }
  });
  picture.append(svg("polyline", { class: kind, points: points.join(" ") }));
}

function clip(y) {
  return Math.min(Math.max(y, BOX.top - 2), BOX.bottom + 2);
}

/* A short piece of the line of a fit, to tell the ways apart in the table. */
export function fitLine(method) {
  const picture = svg("svg", { class: "fit-line", width: 30, height: 8, "aria-hidden": "true" });
  picture.append(svg("line", { class: `fit fit-${method}`, x1: 0, x2: 30, y1: 4, y2: 4 }));
  return picture;
}

function line(picture, kind, scale, times, levels) {
  picture.append(svg("line", {
    class: kind, x1: scale.x(times[0]), x2: scale.x(times[1]), y1: scale.y(levels[0]), y2: scale.y(levels[1]),
  }));
}

function mark(picture, scale, test) {
  const chosen = test.chosen;
  if (!chosen || chosen.t50 === null || chosen.u50 === null || chosen.t50 > scale.t1) {
    return;
  }
  const [x, y] = [scale.x(chosen.t50), scale.y(chosen.u50)];
  picture.append(
    svg("line", { class: "half", x1: BOX.left, x2: x, y1: y, y2: y }),
    svg("line", { class: "half", x1: x, x2: x, y1: y, y2: BOX.bottom }),
    svg("circle", { class: "half-mark", cx: x, cy: y, r: 6 }),
  );
  // the record falls: below it at the left, or above it at the right, there is room
  const words = `t50 ${seconds(chosen.t50)}`;
  const made = x > BOX.left + 130 ? letter(x - 12, y + 22, words, "end") : letter(x + 12, y - 12, words, "start");
  made.setAttribute("class", "half-words");
  picture.append(made);
}

export function seconds(t) {
  if (t === null || t === undefined) {
    return "–";
  }
  return t < 120 ? `${Number(t.toPrecision(3))} s`
    : t < 7200 ? `${Number((t / 60).toPrecision(3))} min` : `${Number((t / 3600).toPrecision(3))} h`;
}

function letter(x, y, words, anchor = "middle") {
  const made = svg("text", { x, y, "text-anchor": anchor });
  made.textContent = words;
  return made;
}

function minus(value) {
  return `${value}`.replace("-", "−");
}

/* A pick as a slider: dragged by mouse or finger, moved by the arrow keys. */
function handle(picture, scale, pick) {
  const level = pick.axis === "u";
  const [low, high] = level ? [scale.bottom, scale.top] : [scale.t0, scale.t1];
  const group = svg("g", {
    class: `pick pick-${pick.name}${pick.given ? " given" : ""}`, tabindex: 0, role: "slider",
    "aria-label": pick.words, "aria-valuemin": low, "aria-valuemax": high, "aria-valuenow": pick.value,
    "aria-valuetext": level ? `${Math.round(pick.value)} kPa` : seconds(pick.value),
    "aria-orientation": level ? "vertical" : "horizontal",
  });
  const at = level ? scale.y(pick.value) : scale.x(pick.value);
  group.append(level
    ? svg("line", { class: "pick-line", x1: BOX.left, x2: BOX.right, y1: at, y2: at })
    : svg("line", { class: "pick-line", x1: at, x2: at, y1: BOX.top, y2: BOX.bottom }));
  const [x, y] = level ? [pick.name === "u0" ? BOX.right - 24 : BOX.left + 24, at] : [at, BOX.bottom - 24];
  group.append(
    svg("circle", { class: "pick-reach", cx: x, cy: y, r: GRIP }),
    svg("circle", { class: "pick-grip", cx: x, cy: y, r: 13 }),
  );
  const name = letter(x, y + 4, pick.sign);
  name.setAttribute("class", "pick-name");
  group.append(name);

  const value = (event) => {
    const point = new DOMPoint(event.clientX, event.clientY)
      .matrixTransform(picture.getScreenCTM().inverse());
    const found = level ? scale.levelAt(point.y) : scale.timeAt(point.x);
    return Math.min(Math.max(found, low), high);
  };
  group.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    group.focus();
    picture.setPointerCapture(event.pointerId);
    const follow = (moved) => pick.move(value(moved), false);
    const end = (last) => {
      picture.removeEventListener("pointermove", follow);
      picture.removeEventListener("pointerup", end);
      picture.removeEventListener("pointercancel", end);
      if (last.type === "pointerup") {
        pick.move(value(last), true);
      }
    };
    picture.addEventListener("pointermove", follow);
    picture.addEventListener("pointerup", end);
    picture.addEventListener("pointercancel", end);
  });
  group.addEventListener("keydown", (event) => {
    const sign = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1 }[event.key];
    if (!sign) {
      return;
    }
    event.preventDefault();
    const fine = event.shiftKey ? 0.1 : 1;
    const next = level
      ? pick.value + sign * fine * Math.max(scale.step / 10, 0.1)
      : pick.value * (1 + sign * fine * 0.05) + (pick.value === 0 && sign > 0 ? 1 : 0);
    pick.move(Math.min(Math.max(next, low), high), true);
  });
  return group;
}
