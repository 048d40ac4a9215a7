/* The large numbers: label, value, what stands below, and a gauge. Nothing is judged here. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { mark, NONE, number, put, show, style } from "./put.js";

const SVG = "http://www.w3.org/2000/svg";
const SIGNS = { ok: "", caution: "\u25B2", stop: "\u25C6" };

export class Numbers {
  constructor(parent) {
    this.cells = {};
    for (const name of ["rate", "depth", "tip", "tilt", "pore", "link"]) {
      this.cells[name] = cell(parent, name);
    }
    gauge(this.cells.rate, "rate");
    gauge(this.cells.tip, "share");
    dial(this.cells.tilt);
  }

  /** Draw a state; lost says that the server is not heard, so that nothing is known now. */
  draw(state, lost) {
    const { cells } = this;
    const cone = lost || state.cone.old;
    const depth = lost || state.encoder.old;
    const coneAge = stamp(state.cone, lost);
    const depthAge = stamp(state.encoder, lost);
    drawDepth(cells.depth, state, depth, depthAge);
    drawTilt(cells.tilt, state.tilt, cone, coneAge);
    drawLink(cells.link, state, cone, lost);
    if (state.dissipation) {
      drawDissipation(cells, state, cone, coneAge);
      return;
    }
    drawRate(cells.rate, state.advance, depth, depthAge);
    const tip = state.channels.find((one) => one.key === "qc");
    const pore = ["u2", "u1", "u3"].map((key) => state.channels.find((one) => one.key === key)).find(Boolean);
    drawTip(cells.tip, tip, state.advance, cone, coneAge);
    const sleeve = state.channels.find((one) => one.key === "fs");
    if (sleeve && !cone && coneAge.state === "fresh") {
      put(cells.tip.age, say("push.sleeve", { value: number(sleeve.value, 1) }));
    }
    drawPore(cells.pore, pore, cone, coneAge);
  }
}

function cell(parent, name) {
  const box = text("div", "cell", "");
  box.dataset.cell = name;
  box.setAttribute("role", "group");
  const head = text("div", "cell-head", "");
  const label = text("span", "cell-label", say(`push.cell.${name}`));
  label.id = `label-${name}`;
  box.setAttribute("aria-labelledby", label.id);
  const level = text("span", "cell-level", "");
  const unit = text("span", "cell-unit", "");
  head.append(label, unit, level);
  const line = text("div", "cell-line", "");
  const value = text("span", "cell-value", NONE);
  line.append(value);
  const below = text("div", "cell-below", "");
  const age = text("div", "cell-age", "");
  box.append(head, line, below, age);
  parent.append(box);
  return { box, label, level, value, unit, below, age };
}

function gauge(cell, kind) {
  const bar = text("div", `gauge gauge-${kind}`, "");
  bar.setAttribute("aria-hidden", "true");
  bar.append(text("span", "gauge-band", ""), text("span", "gauge-needle", ""));
  cell.below.before(bar);
  cell.gauge = bar;
}

function dial(cell) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", "-50 -50 100 100");
  svg.setAttribute("class", "dial");
  svg.setAttribute("aria-hidden", "true");
  const make = (kind, attributes) => {
    const one = document.createElementNS(SVG, kind);
    for (const [name, value] of Object.entries(attributes)) one.setAttribute(name, value);
    svg.append(one);
    return one;
  };
  make("circle", { r: 44, class: "dial-ring" });
  make("path", { d: "M0 -44V-36M44 0H36M0 44V36M-44 0H-36", class: "dial-ring" });
  cell.needle = make("path", { d: "M0 30L0 -34M-11 -20L0 -36L11 -20", class: "dial-needle" });
  cell.value.parentElement.append(svg);
}

/** How old a value is: nothing while it is fresh, words while it is late, too old to be shown. */
function stamp(stream, lost) {
  if (lost || stream.old) return { state: "old", words: "" };
  if (stream.freshness === "late") {
    return { state: "late", words: say("push.age", { seconds: number(stream.age, 0) }) };
  }
  return { state: "fresh", words: "" };
}

function draw(cell, { label, value, unit, below = "", level = "ok", old, age }) {
  if (label) put(cell.label, label);
  put(cell.value, old ? NONE : value);
  put(cell.unit, unit);
  put(cell.below, below);
  mark(cell.box, "level", level);
  mark(cell.box, "age", age.state);
  put(cell.level, level === "ok" ? "" : `${SIGNS[level]} ${say(`push.level.${level}`)}`);
  put(cell.age, age.words);
}

const last = (text) => (text === NONE ? "" : say("push.last", { value: text }));

function drawRate(cell, advance, old, age) {
  const band = say("push.band", { low: number(advance.rate_low, 0), high: number(advance.rate_high, 0) });
  draw(cell, {
    label: say("push.cell.rate"),
    value: number(advance.rate, 1),
    unit: "mm/s",
    below: old ? "" : advance.pushing ? band : say(`push.moves.${key(advance.state)}`),
    level: advance.rate_level,
    old,
    age,
  });
  // the bar runs from 0 to twice the middle of the band
  const end = advance.rate_low + advance.rate_high;
  show(cell.gauge, true);
  style(cell.gauge, "--from", advance.rate_low / end);
  style(cell.gauge, "--to", advance.rate_high / end);
  const known = !old && advance.rate !== null;
  style(cell.gauge, "--at", known ? Math.min(Math.max(advance.rate / end, 0), 1) : -1);
}

export const key = (words) => words.replace(/ (\w)/g, (_, letter) => letter.toUpperCase());

function drawDepth(cell, { advance }, old, age) {
  const known = advance.depth ?? advance.length;
  const rods = say("push.rods", { rods: advance.rods });
  draw(cell, {
    value: number(known, 2),
    unit: "m",
    below: old
      ? last(number(known, 2))
      : say("push.length", { length: number(advance.length, 2), rods }),
    old,
    age,
  });
}

function drawTip(cell, channel, advance, old, age) {
  const value = number(channel?.value ?? null, 2);
  const parts = [];
  if (channel?.share != null) parts.push(say("push.capacity", { share: number(channel.share, 0) }));
  if (advance.thrust != null) {
    parts.push(say("push.thrust", { force: number(advance.thrust, 0) })
      + (advance.thrust_share == null ? "" : say("push.reaction", { share: number(advance.thrust_share, 0) })));
  }
  draw(cell, {
    label: say("push.cell.tip"),
    value,
    unit: channel?.unit ?? "MPa",
    below: old ? last(value) : parts.join(" \u00B7 "),
    level: worst(channel?.level ?? "ok", advance.thrust_level),
    old,
    age,
  });
  show(cell.gauge, channel?.share != null);
  style(cell.gauge, "--at", old || channel?.share == null ? -1 : Math.min(channel.share / 100, 1));
}

const ORDER = ["ok", "caution", "stop"];
const worst = (a, b) => (ORDER.indexOf(a) > ORDER.indexOf(b) ? a : b);

function drawTilt(cell, tilt, old, age) {
  const value = number(tilt.angle, 1);
  const parts = [];
  if (tilt.bearing !== null) {
    parts.push(say("push.towards", { bearing: String(Math.round(tilt.bearing)).padStart(3, "0") }));
  }
  if (tilt.change !== null) parts.push(say("push.change", { change: number(tilt.change, 1) }));
  draw(cell, {
    value,
    unit: "\u00B0",
    below: old ? last(value) : parts.join(" \u00B7 "),
    level: tilt.level,
    old,
    age,
  });
  const shown = !old && tilt.bearing !== null && tilt.angle >= 0.2;
  mark(cell.box, "dial", shown ? "yes" : "no");
  if (shown) cell.needle.setAttribute("transform", `rotate(${Math.round(tilt.bearing)})`);
}

function drawPore(cell, channel, old, age) {
  const value = number(channel?.value ?? null, Math.abs(channel?.value ?? 0) < 100 ? 1 : 0);
  const share = channel?.share;
  const say_share = share == null ? "" : say("push.capacity", { share: number(share, 0) });
  draw(cell, {
    label: say("push.cell.pore", { key: channel?.key ?? "u2" }),
    value,
    unit: "kPa",
    below: channel ? (old ? last(value) : say_share) : say("push.noPore"),
    level: channel?.level ?? "ok",
    old,
    age,
  });
}

function drawLink(cell, { link, cone }, old, lost) {
  const parts = [];
  if (cone.age !== null && !lost) parts.push(say("push.ago", { seconds: number(cone.age, 1) }));
  if (link.loss !== null) parts.push(say("push.loss", { loss: number(link.loss, 0) }));
  const joint = link.joint === null ? "" : say("push.joint", { rod: link.joint });
  draw(cell, {
    value: number(link.level, 0),
    unit: "dB",
    below: joint || parts.join(" \u00B7 "),
    level: link.status,
    old,
    age: stamp(cone, lost),
  });
  if (joint) put(cell.age, parts.join(" \u00B7 "));
}

function drawDissipation(cells, { dissipation: test }, old, age) {
  const u0 = test.u0 === null
    ? say("push.test.noU0")
    : say(test.u0_assumed ? "push.test.u0Assumed" : "push.test.u0", { u0: number(test.u0, 0) });
  draw(cells.rate, {
    label: say("push.cell.percent"), value: number(test.percent, 0), unit: "%", below: u0, old, age,
  });
  show(cells.rate.gauge, false);
  const t50 = test.t50 === null ? "" : ` \u00B7 ${say("push.test.t50", { seconds: number(test.t50, 0) })}`;
  draw(cells.tip, {
    label: say("push.cell.time"),
    value: number(test.elapsed / 60, 1),
    unit: "min",
    below: say("push.test.logged", { count: test.logged }) + t50,
    old: false,
    age: { state: "fresh", words: "" },
  });
  show(cells.tip.gauge, false);
  draw(cells.pore, {
    label: say("push.cell.pore", { key: test.channel }),
    value: number(test.present, 1),
    unit: "kPa",
    below: test.start === null ? "" : say("push.test.start", { start: number(test.start, 1) }),
    old,
    age,
  });
}
