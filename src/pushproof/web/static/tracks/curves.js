/* Curves of a track: broken at gaps, filled to zero, bands, and values beyond the axis named. */

import { rowAt } from "./rows.js";
import { minus } from "./value-axis.js";

/* Runs beyond the axis closer than this [px] share one marker. */
const APART = 26;

/** Rows of a strip that touch a window, with one more on either side. */
export function rowsIn(strip, top, base) {
  const from = Math.max(0, rowAt(strip.depth, top, strip.length) - 1);
  const to = Math.min(strip.length, rowAt(strip.depth, base, strip.length) + 1);
  return [from, to];
}

/** Draw one curve in a box { left, right } with its axes. */
export function drawCurve(ctx, strip, column, box, scale, axis, look, [from, to]) {
  if (!column || to <= from) return;
  const x = (value) => Math.min(Math.max(scale.place(value, box.left, box.right), box.left), box.right);
  if (look.fill) {
    ctx.fillStyle = look.fill;
    ctx.beginPath();
    eachRun(strip, column, from, to, (a, b) => fillRun(ctx, strip, column, a, b, x, axis, x(0)));
    ctx.fill();
  }
  ctx.strokeStyle = look.colour;
  ctx.fillStyle = look.colour;
  ctx.lineWidth = look.width;
  ctx.lineJoin = "round";
  ctx.setLineDash(look.dash ?? []);
  ctx.beginPath();
  eachRun(strip, column, from, to, (a, b) => {
    if (b - a === 1 && column.low[a] === column.high[a]) {
      const left = x(column.first[a]);
      const y = axis.y(strip.depth[a]);
      ctx.moveTo(left - 1.2, y);
      ctx.lineTo(left + 1.2, y);
      return;
    }
    traceRun(ctx, strip, column, a, b, x, axis, true);
  });
  ctx.stroke();
  ctx.setLineDash([]);
}

/** Call back with every unbroken run of rows [a, b) that has values. */
function eachRun(strip, column, from, to, back) {
  let start = -1;
  for (let k = from; k < to; k += 1) {
    const there = column.low[k] === column.low[k];
    const broken =
      start >= 0 &&
      (!there || !strip.join[k] || column.first[k] !== column.first[k] || column.last[k - 1] !== column.last[k - 1]);
    if (broken) {
      back(start, k);
      start = -1;
    }
    if (there && start < 0) start = k;
  }
  if (start >= 0) back(start, to);
}

function traceRun(ctx, strip, column, a, b, x, axis, move) {
  for (let k = a; k < b; k += 1) {
    const y = axis.y(strip.depth[k]);
    const low = column.low[k];
    const high = column.high[k];
    const begin = column.first[k] === column.first[k] ? column.first[k] : low;
    if (k === a && move) ctx.moveTo(x(begin), y);
    else ctx.lineTo(x(begin), y);
    if (low !== high) {
      ctx.lineTo(x(low), y);
      ctx.lineTo(x(high), y);
      const end = column.last[k] === column.last[k] ? column.last[k] : high;
      ctx.lineTo(x(end), y);
    }
  }
}

function fillRun(ctx, strip, column, a, b, x, axis, zero) {
  ctx.moveTo(zero, axis.y(strip.depth[a]));
  for (let k = a; k < b; k += 1) {
    const last = column.last[k] === column.last[k] ? column.last[k] : column.high[k];
    ctx.lineTo(x(last), axis.y(strip.depth[k]));
  }
  ctx.lineTo(zero, axis.y(strip.depth[b - 1]));
  ctx.closePath();
}

/** Draw a band between the lowest of one column and the highest of another. */
export function drawBand(ctx, strip, lower, upper, box, scale, axis, colour, [from, to]) {
  if (!lower || !upper) return;
  const x = (value) => Math.min(Math.max(scale.place(value, box.left, box.right), box.left), box.right);
  ctx.fillStyle = colour;
  ctx.beginPath();
  const both = { low: lower.low, first: lower.first, last: upper.last };
  eachRun(strip, both, from, to, (a, b) => {
    for (let k = a; k < b; k += 1) {
      const y = axis.y(strip.depth[k]);
      if (k === a) ctx.moveTo(x(lower.low[k]), y);
      else ctx.lineTo(x(lower.low[k]), y);
    }
    for (let k = b - 1; k >= a; k -= 1) ctx.lineTo(x(upper.high[k]), axis.y(strip.depth[k]));
    ctx.closePath();
  });
  ctx.fill();
}

/** Find the peaks of runs beyond an end of the axis, one for runs that stand close together. */
export function beyond(strip, column, scale, axis, [from, to]) {
  const found = [];
  for (let k = from; k < to; k += 1) {
    const high = column.high[k] > scale.high;
    if (!high && !(column.low[k] < scale.low)) continue;
    const value = high ? column.high[k] : column.low[k];
    const depth = strip.depth[k];
    const near = found.findLast((one) => one.high === high);
    if (near && axis.y(depth) - axis.y(near.end) <= APART) {
      near.end = depth;
      if (high ? value > near.value : value < near.value) Object.assign(near, { depth, value });
    } else {
      found.push({ depth, end: depth, value, high });
    }
  }
  return found;
}

/** Mark values beyond the axis: an arrow on the edge and the value. */
export function drawBeyond(ctx, peaks, box, axis, look, paper, decimals) {
  ctx.font = look.font;
  ctx.textBaseline = "middle";
  for (const peak of peaks) {
    const y = axis.y(peak.depth);
    const edge = peak.high ? box.right : box.left;
    const side = peak.high ? -1 : 1;
    ctx.fillStyle = look.colour;
    ctx.beginPath();
    ctx.moveTo(edge, y);
    ctx.lineTo(edge + side * 7, y - 5);
    ctx.lineTo(edge + side * 7, y + 5);
    ctx.closePath();
    ctx.fill();
    const text = minus(peak.value.toFixed(decimals));
    const width = ctx.measureText(text).width;
    const left = peak.high ? edge - 9 - width : edge + 9;
    ctx.fillStyle = paper;
    ctx.globalAlpha = 0.85;
    ctx.fillRect(left - 2, y - 8, width + 4, 16);
    ctx.globalAlpha = 1;
    ctx.fillStyle = look.colour;
    ctx.textAlign = "left";
    ctx.fillText(text, left, y);
  }
}
