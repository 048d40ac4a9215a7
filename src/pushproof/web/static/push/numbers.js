/* The large numbers: label, value, what stands below, and a gauge. Nothing is judged here. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { mark, NONE, number, put, show, style } from "./put.js";

const SVG = "http://www.w3.org/2000/svg";
export const SIGNS = { ok: "", caution: "\u25B2", stop: "\u25C6" };

export class Numbers {
  constructor(parent) {
    this.cells = {};
    for (const name of ["rate", "depth", "tip", "tilt", "pore", "link"]) {
      this.cells[name] = cell(parent, name);
    }
    gauge(this.cells.rate, "rate");
    gauge(this.cells.tip, "share");
    dial(this.cells.tilt);
    aside(this.cells.link);
  }

  /** Draw a state; lost says that the server is not heard, so that nothing is known now. */
  draw(state, lost) {
    const { cells } = this;
    const over = !lost && (state.recording === "ended" || state.recording === "interrupted");
    const cone = lost || (state.cone.old && !over);
    const depth = lost || (state.encoder.old && !over);
    const coneAge = over ? RECORD : stamp(state.cone, lost);
    const depthAge = over ? RECORD : stamp(state.encoder, lost);
    drawDepth(cells.depth, state, depth, depthAge);
    drawTilt(cells.tilt, state.tilt, cone, coneAge);
    drawLink(cells.link, state, cone, coneAge, lost || over);
    const tip = state.channels.find((one) => one.key === "qc");
    const sleeve = state.channels.find((one) => one.key === "fs");
    if (state.dissipation) {
      drawDissipation(cells, state.dissipation, [tip, sleeve], cone, coneAge);
      return;
    }
    drawRate(cells.rate, state.advance, depth, depthAge);
    const pore = ["u2", "u1", "u3"].map((key) => state.channels.find((one) => one.key === key)).find(Boolean);
    drawTip(cells.tip, tip, sleeve, state.advance, { cone, depth }, coneAge);
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
  const second = text("div", "cell-second", "");
  box.append(head, line, below, second);
  parent.append(box);
  return { box, label, level, value, unit, below, second, beside: 0 };
}

/** A short text in large letters right of the number, with a word below it. */
function aside(cell) {
  const box = text("span", "cell-aside", "");
  cell.aside = text("b", "", "");
  cell.asideWord = text("span", "", "");
  box.append(cell.aside, cell.asideWord);
  cell.value.parentElement.append(box);
  cell.beside = 1.3;
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
  cell.beside = 1.1;
}

/* What a push that is over left: the last of its record, neither fresh nor old. */
const RECORD = { state: "record", words: "" };

/** How old a value is: nothing while it is fresh, words while it is late, too old to be shown. */
function stamp(stream, lost) {
  if (stream.excused && !lost && stream.old) return { state: "open", words: "" };
  if (lost || stream.old) return { state: "old", words: "" };
  if (stream.freshness === "late") {
    return { state: "late", words: say("push.age", { seconds: number(stream.age, 0) }) };
  }
  return { state: "fresh", words: "" };
}

/* Widths of a digit and of a point [em], and the least width that is kept for a number. */
const DIGIT = 0.61;
const POINT = 0.32;
const LEAST = 2.15;

function draw(cell, { label, value, unit, below = "", second = "", level = "ok", old, age, strong = false }) {
  if (label) put(cell.label, label);
  const shown = old ? NONE : value;
  put(cell.value, shown);
  const points = shown.split(".").length - 1;
  const wide = Math.max((shown.length - points) * DIGIT + points * POINT, LEAST) + cell.beside;
  style(cell.value, "--wide", wide.toFixed(2));
  put(cell.unit, unit);
  put(cell.below, below);
  put(cell.second, age.words || second);
  mark(cell.box, "level", level);
  mark(cell.box, "age", age.state);
  mark(cell.box, "strong", strong && !age.words ? "yes" : "no");
  put(cell.level, level === "ok" ? "" : `${SIGNS[level]} ${say(`push.level.${level}`)}`);
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

function drawDepth(cell, { advance, encoder, forecast }, old, age) {
  const isLength = advance.depth === null && advance.length !== null;
  const known = advance.depth ?? advance.length;
  const rods = say("push.rods", { rods: advance.rods });
  const seconds = encoder.age === null ? "" : say("push.encoderAge", { seconds: number(encoder.age, 1) });
  const ahead = forecast === null ? "" : say("push.ahead.short", {
    target: number(forecast.target, 0), reached: number(forecast.reached, 0),
  });
  draw(cell, {
    label: say(isLength ? "push.cell.length" : "push.cell.depth"),
    value: number(known, 2),
    unit: "m",
    below: old
      ? last(number(known, 2))
      : say("push.length", { length: number(advance.length, 2), rods }),
    second: old ? "" : ahead || seconds,
    old,
    age,
  });
}

function drawTip(cell, channel, sleeve, advance, { cone: old, depth }, age) {
  const value = number(channel?.value ?? null, 2);
  const parts = [];
  if (channel?.share != null) parts.push(say("push.capacity", { share: number(channel.share, 0) }));
  if (sleeve) parts.push(say("push.sleeve", { value: number(sleeve.value, 0) }));
  const thrust = depth || advance.thrust == null ? "" : say("push.thrust", { force: number(advance.thrust, 0) })
    + (advance.thrust_share == null ? "" : say("push.reaction", { share: number(advance.thrust_share, 0) }));
  draw(cell, {
    label: say("push.cell.tip"),
    value,
    unit: channel?.unit ?? "MPa",
    below: old ? last(value) : parts.join(" \u00B7 "),
    second: thrust,
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
  const bearing = tilt.bearing === null
    ? ""
    : say("push.towards", { bearing: String(Math.round(tilt.bearing)).padStart(3, "0") });
  draw(cell, {
    value,
    unit: "\u00B0",
    below: old ? last(value) : bearing,
    second: old || tilt.change === null ? "" : say("push.change", { change: number(tilt.change, 1) }),
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

/** The link: level, age of the last reading, loss in the last metre, and the joint by its name. */
function drawLink(cell, { link, cone }, old, age, away) {
  const joint = link.joint === null ? "" : say("push.joint", { rod: link.joint });
  const margin = link.margin === null || old ? "" : say("push.margin", { margin: number(link.margin, 0) });
  draw(cell, {
    value: number(link.level, 0),
    unit: "dB",
    below: link.loss === null || (old && away) ? "" : say("push.loss", { loss: number(link.loss, 0) }),
    second: joint || margin,
    strong: joint !== "",
    level: link.status,
    old,
    age: { state: age.state, words: "" },
  });
  const known = cone.age !== null && !away;
  put(cell.aside, known ? say("push.seconds", { seconds: number(cone.age, cone.age < 99.5 ? 1 : 0) }) : "");
  put(cell.asideWord, known ? say("push.ago") : "");
}

function drawDissipation(cells, test, channels, old, age) {
  const u0 = test.u0 === null
    ? say("push.test.noU0")
    : say(test.u0_assumed ? "push.test.u0Assumed" : "push.test.u0", { u0: number(test.u0, 0) });
  draw(cells.rate, {
    label: say("push.cell.percent"), value: number(test.percent, 0), unit: "%", below: u0, old, age,
  });
  show(cells.rate.gauge, false);
  const others = channels.filter(Boolean).map((one) =>
    `${one.key} ${number(old ? null : one.value, one.key === "qc" ? 2 : 0)} ${one.unit}`);
  draw(cells.tip, {
    label: say("push.cell.time", { number: test.number }),
    value: number(test.elapsed / 60, 1),
    unit: "min",
    below: logged(test),
    second: test.t50 === null ? others.join(" \u00B7 ") : say("push.test.t50", { seconds: number(test.t50, 0) }),
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

function logged({ logged: count, interval }) {
  const each = interval == null ? "" : `, ${say("push.test.each", { seconds: String(interval) })}`;
  return say("push.test.logged", { count }) + each;
}
