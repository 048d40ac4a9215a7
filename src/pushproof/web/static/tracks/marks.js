/* Marks that cross the tracks: what was pre-excavated, the water level, the end of the sounding. */

import { minus } from "./value-axis.js";

/** Shade the pre-excavated part over the tracks. */
export function drawRemoved(ctx, predrilled, boxes, axis, palette) {
  if (!(predrilled > axis.top)) return;
  const base = Math.min(axis.y(predrilled), axis.height);
  const top = Math.max(axis.y(0), 0);
  if (base <= top) return;
  for (const box of boxes) {
    ctx.save();
    ctx.beginPath();
    ctx.rect(box.left, top, box.right - box.left, base - top);
    ctx.clip();
    ctx.fillStyle = palette.void;
    ctx.fillRect(box.left, top, box.right - box.left, base - top);
    ctx.strokeStyle = palette.gridMajor;
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (let x = box.left - (base - top); x < box.right; x += 12) {
      ctx.moveTo(x, base);
      ctx.lineTo(x + (base - top), top);
    }
    ctx.stroke();
    ctx.restore();
  }
}

/** Write how far was pre-excavated, at the foot of the shaded part. */
export function drawRemovedWords(ctx, words, predrilled, box, axis, palette) {
  if (!words || !(predrilled > axis.top) || predrilled > axis.base) return;
  const y = axis.y(predrilled);
  if (y - Math.max(axis.y(0), 0) < 18) return;
  label(ctx, words, box.left + 6, y - 10, box.right - box.left - 12, palette.softInk, palette);
}

/** Draw intervals that a decision blanks: a slanted shade over the tracks it touches. */
export function drawBlanked(ctx, blanked, boxes, axis, palette) {
  for (const one of blanked ?? []) {
    if (one.base < axis.top || one.top > axis.base) continue;
    const top = Math.max(axis.y(one.top), 0);
    const base = Math.max(Math.min(axis.y(one.base), axis.height), top + 2);
    for (const box of boxes) {
      ctx.save();
      ctx.beginPath();
      ctx.rect(box.left, top, box.right - box.left, base - top);
      ctx.clip();
      ctx.fillStyle = palette.void;
      ctx.globalAlpha = 0.7;
      ctx.fillRect(box.left, top, box.right - box.left, base - top);
      ctx.globalAlpha = 1;
      ctx.strokeStyle = palette.second;
      ctx.lineWidth = 0.8;
      ctx.beginPath();
      for (let x = box.left - (base - top) - ((base - top) % 9); x < box.right; x += 9) {
        ctx.moveTo(x, top);
        ctx.lineTo(x + (base - top), base);
      }
      ctx.stroke();
      ctx.restore();
    }
  }
}

/** Draw the water level: the usual triangle on two strokes, and how it is known. */
export function drawWater(ctx, water, box, axis, palette) {
  if (!water || water.level < axis.top || water.level > axis.base) return;
  const y = Math.round(axis.y(water.level)) + 0.5;
  const x = box.left + 14;
  ctx.strokeStyle = palette.water;
  ctx.lineWidth = 1.2;
  ctx.fillStyle = palette.paper;
  ctx.beginPath();
  ctx.moveTo(x - 6, y - 10);
  ctx.lineTo(x + 6, y - 10);
  ctx.lineTo(x, y);
  ctx.closePath();
  ctx.fill();
  ctx.stroke();
  ctx.beginPath();
  ctx.moveTo(box.left, y);
  ctx.lineTo(box.right, y);
  ctx.moveTo(x - 6, y + 3);
  ctx.lineTo(x + 6, y + 3);
  ctx.moveTo(x - 3, y + 6);
  ctx.lineTo(x + 3, y + 6);
  ctx.stroke();
  const lines = [`${water.assumed ? "\u25C7 " : ""}${minus(water.level.toFixed(2))} m`];
  ctx.font = palette.smallFont;
  const room = box.right - x - 16;
  if (water.words && ctx.measureText(`${lines[0]} ${water.words}`).width <= room) lines[0] += ` ${water.words}`;
  else if (water.words) lines.push(water.words);
  lines.forEach((line, k) => {
    const place = y < 24 ? y + 12 + 15 * k : y - 10 - 15 * (lines.length - 1 - k);
    label(ctx, line, x + 12, place, room, palette.water, palette);
  });
}

/** Close the log under the last reading and say why the push ended. */
export function drawEnd(ctx, end, box, right, axis, palette) {
  if (!end || end.depth < axis.top || end.depth > axis.base) return;
  const y = Math.round(axis.y(end.depth)) + 0.5;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 1.2;
  ctx.beginPath();
  ctx.moveTo(box.left, y);
  ctx.lineTo(right, y);
  ctx.stroke();
  if (y + 18 <= axis.height) label(ctx, end.words, box.left + 6, y + 11, right - box.left - 12, palette.ink, palette);
}

function label(ctx, text, x, y, width, colour, palette) {
  ctx.font = palette.smallFont;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  const wide = Math.min(ctx.measureText(text).width, width);
  ctx.fillStyle = palette.paper;
  ctx.globalAlpha = 0.85;
  ctx.fillRect(x - 3, y - 9, wide + 6, 18);
  ctx.globalAlpha = 1;
  ctx.fillStyle = colour;
  ctx.fillText(text, x, y, width);
}
