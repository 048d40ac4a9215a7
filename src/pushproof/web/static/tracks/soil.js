/*
 * The soil column: a silhouette as wide as Ic, coloured by the ramp of the sheets, hatched by zone
 * and named in words, so that it can be read without any colour.
 */

import { BOUNDARIES, IC_HIGH, IC_LOW, IC_STEP, RAMP, ZONES } from "./soil-ramp.js";
import { ValueAxis } from "./value-axis.js";

export const SOIL_AXIS = new ValueAxis({ low: IC_LOW, high: IC_HIGH, step: 1 });

const PITCH = 7;
/* Share of the track that the silhouette takes; the words take the rest. */
const SHARE = 0.44;
const DARK = "#3a3320";
const LIGHT_ZONES = new Set([1, 2, 3]);

/** Colour of the ramp for an Ic. */
export function soilColour(ic) {
  const step = Math.round((Math.min(Math.max(ic, IC_LOW), IC_HIGH) - IC_LOW) / IC_STEP);
  return RAMP[step];
}

/** Box of the silhouette in a track. */
export function silhouette(box) {
  return { left: box.left, right: box.left + (box.right - box.left) * (box.right - box.left < 110 ? 1 : SHARE) };
}

/**
 * Draw the column. Soil is { top, step, ic: [...], zone: [...], stretches: [{ top, base, words,
 * main }] }: one entry for each row of equal height from top, null or 0 where there is none.
 */
export function drawSoil(ctx, soil, box, axis, palette) {
  if (!soil || !soil.ic.length) return;
  const shape = silhouette(box);
  const x = (ic) => SOIL_AXIS.place(Math.min(Math.max(ic, IC_LOW + 0.12), IC_HIGH), shape.left, shape.right);
  const from = Math.max(0, Math.floor((axis.top - soil.top) / soil.step));
  const to = Math.min(soil.ic.length, Math.ceil((axis.base - soil.top) / soil.step));
  fill(ctx, soil, shape, x, axis, from, to);
  guides(ctx, shape, axis, palette);
  hatches(ctx, soil, shape, x, axis);
  outline(ctx, soil, x, axis, palette, from, to);
  if (shape.right < box.right) words(ctx, soil.stretches ?? [], box, shape, axis, palette);
}

function fill(ctx, soil, shape, x, axis, from, to) {
  for (let k = from; k < to; k += 1) {
    const ic = soil.ic[k];
    if (ic === null || ic !== ic) continue;
    const top = axis.y(soil.top + k * soil.step);
    const base = axis.y(soil.top + (k + 1) * soil.step);
    ctx.fillStyle = soilColour(ic);
    ctx.fillRect(shape.left, top, x(ic) - shape.left, base - top + 0.4);
  }
}

function guides(ctx, shape, axis, palette) {
  ctx.strokeStyle = palette.gridMajor;
  ctx.lineWidth = 0.6;
  ctx.setLineDash([3, 3]);
  ctx.beginPath();
  for (const edge of BOUNDARIES) {
    const at = Math.round(SOIL_AXIS.place(edge, shape.left, shape.right)) + 0.5;
    ctx.moveTo(at, 0);
    ctx.lineTo(at, axis.height);
  }
  ctx.stroke();
  ctx.setLineDash([]);
}

function outline(ctx, soil, x, axis, palette, from, to) {
  ctx.strokeStyle = palette.softInk;
  ctx.lineWidth = 0.8;
  ctx.beginPath();
  let open = false;
  for (let k = from; k < to; k += 1) {
    const ic = soil.ic[k];
    if (ic === null || ic !== ic) {
      open = false;
      continue;
    }
    const edge = x(ic);
    if (open) ctx.lineTo(edge, axis.y(soil.top + k * soil.step));
    else ctx.moveTo(edge, axis.y(soil.top + k * soil.step));
    ctx.lineTo(edge, axis.y(soil.top + (k + 1) * soil.step));
    open = true;
  }
  ctx.stroke();
}

function hatches(ctx, soil, shape, x, axis) {
  const first = Math.floor(axis.top / (PITCH * axis.perPixel));
  const last = Math.ceil(axis.base / (PITCH * axis.perPixel));
  for (let line = first; line <= last; line += 1) {
    const from = Math.floor((line * PITCH * axis.perPixel - soil.top) / soil.step);
    const to = Math.ceil(((line + 1) * PITCH * axis.perPixel - soil.top) / soil.step);
    const found = ruling(soil, Math.max(0, from), Math.min(soil.ic.length, Math.max(to, from + 1)));
    if (!found) continue;
    const y = axis.y((line + 0.5) * PITCH * axis.perPixel);
    const left = shape.left + 2;
    const right = x(found.least) - 1.5;
    if (right - left < 3) continue;
    ctx.strokeStyle = ctx.fillStyle = LIGHT_ZONES.has(found.zone) ? "#ffffff" : DARK;
    ctx.lineWidth = LIGHT_ZONES.has(found.zone) ? 0.9 : 0.7;
    hatchLine(ctx, ZONES[found.zone].hatch, line, left, right, y);
  }
}

/** The zone that fills most of some rows, and the least Ic there. */
function ruling(soil, from, to) {
  const counts = new Map();
  let least = Infinity;
  for (let k = from; k < to; k += 1) {
    if (!soil.zone[k]) continue;
    counts.set(soil.zone[k], (counts.get(soil.zone[k]) ?? 0) + 1);
    least = Math.min(least, soil.ic[k]);
  }
  let zone = 0;
  for (const [one, count] of counts) if (!zone || count > counts.get(zone)) zone = one;
  return zone ? { zone, least } : null;
}

/** Draw one line of the hatch of a zone. */
function hatchLine(ctx, hatch, line, left, right, y) {
  const odd = ((line % 2) + 2) % 2;
  const half = ((Math.floor(line / 2) % 2) + 2) % 2;
  if (hatch === "circles") circles(ctx, along(left, right, 9, odd), y);
  else if (hatch === "dots") dots(ctx, along(left, right, 7.5, odd), y);
  else if (hatch === "dots-dashes") {
    if (odd) dashes(ctx, left, right, y, 5.5, 7, half);
    else dots(ctx, along(left, right, 7.5, half), y);
  } else if (hatch === "dashes") dashes(ctx, left, right, y, 7, 5, odd);
  else if (hatch === "lines") dashes(ctx, left - 2, right + 1.5, y, right - left + 4, 1, 0);
  else if (hatch === "broken") {
    dashes(ctx, left, right, y, 14, 3.5, odd);
    ctx.beginPath();
    for (const at of along(left, right, 17.5, odd)) {
      ctx.moveTo(at, y - 2);
      ctx.lineTo(at, y + 2);
    }
    ctx.stroke();
  } else if (hatch === "waves") waves(ctx, left, right, y);
  else {
    ctx.beginPath();
    for (const at of along(left, right - 3, 7.5, odd)) {
      ctx.moveTo(at, y + 2.2);
      ctx.lineTo(at + 2.7, y - 2.2);
    }
    ctx.stroke();
    if (hatch === "slashes-dots") dots(ctx, along(left, right, 7.5, 1 - odd), y);
  }
}

function along(left, right, pitch, odd) {
  const found = [];
  for (let at = left + 1 + (odd ? pitch / 2 : 0); at <= right; at += pitch) found.push(at);
  return found;
}

function dots(ctx, places, y) {
  ctx.beginPath();
  for (const at of places) {
    ctx.moveTo(at + 0.8, y);
    ctx.arc(at, y, 0.8, 0, 7);
  }
  ctx.fill();
}

function circles(ctx, places, y) {
  ctx.beginPath();
  for (const at of places) {
    ctx.moveTo(at + 1.7, y);
    ctx.arc(at, y, 1.7, 0, 7);
  }
  ctx.stroke();
}

function dashes(ctx, left, right, y, dash, gap, odd) {
  ctx.beginPath();
  for (let start = left - (odd ? (dash + gap) / 2 : 0); start < right; start += dash + gap) {
    const a = Math.max(start, left);
    const b = Math.min(start + dash, right);
    if (b - a > 1) {
      ctx.moveTo(a, y);
      ctx.lineTo(b, y);
    }
  }
  ctx.stroke();
}

function waves(ctx, left, right, y) {
  ctx.beginPath();
  let up = false;
  for (let at = left; at <= right; at += 2.5) {
    if (at === left) ctx.moveTo(at, y + 1.2);
    else ctx.lineTo(at, y + (up ? -1.2 : 1.2));
    up = !up;
  }
  ctx.stroke();
}

function words(ctx, stretches, box, shape, axis, palette) {
  const left = shape.right + 5;
  const width = box.right - left - 3;
  ctx.font = palette.smallFont;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  for (const stretch of stretches) {
    const top = axis.y(stretch.top);
    const base = axis.y(stretch.base);
    if (base < 0 || top > axis.height) continue;
    ctx.strokeStyle = palette.gridMajor;
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (const y of [top, base]) {
      ctx.moveTo(shape.right, Math.round(y) + 0.5);
      ctx.lineTo(box.right, Math.round(y) + 0.5);
    }
    ctx.stroke();
    const seenTop = Math.max(top, 0);
    const seenBase = Math.min(base, axis.height);
    const room = Math.min(3, Math.floor((seenBase - seenTop) / 14));
    if (room < 1) continue;
    let lines = wrap(ctx, stretch.words, width);
    if (lines.length > room) lines = wrap(ctx, stretch.main, width);
    if (lines.length > room) lines = [shorten(ctx, stretch.main, width)];
    const middle = (seenTop + seenBase) / 2 - ((lines.length - 1) * 14) / 2;
    ctx.fillStyle = palette.ink;
    lines.forEach((line, k) => ctx.fillText(line, left, middle + 14 * k));
  }
}

function wrap(ctx, text, width) {
  const lines = [];
  let line = "";
  for (const word of text.split(" ")) {
    const longer = line ? `${line} ${word}` : word;
    if (line && ctx.measureText(longer).width > width) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  if (line) lines.push(line);
  return lines;
}

function shorten(ctx, text, width) {
  let short = text;
  while (short.length > 1 && ctx.measureText(`${short}\u2026`).width > width) short = short.slice(0, -1);
  return short === text ? text : `${short}\u2026`;
}
