/* One redraw of the tracks: the body with its curves, and the cursor over it. */

import { beyond, drawBand, drawBeyond, drawCurve, rowsIn } from "./curves.js";
import { decimalsOf } from "./depth-axis.js";
import { drawBlanked, drawEnd, drawRemoved, drawRemovedWords, drawWater } from "./marks.js";
import { drawObserved } from "./observed.js";
import { drawRail } from "./rail.js";
import { drawSoil } from "./soil.js";
import { minus } from "./value-axis.js";

/* A strip of new rows is drawn with this much around it [px]. */
const MARGIN = 3;

/** Draw the body: everything, or only between two depths. */
export function paintBody(view, part) {
  const { axis, palette } = view;
  const ctx = view.canvas.getContext("2d");
  ctx.setTransform(view.density, 0, 0, view.density, 0, 0);
  const width = view.canvas.width / view.density;
  let top = 0;
  let base = axis.height;
  if (part) {
    top = Math.max(0, Math.floor(axis.y(part.top) - MARGIN));
    base = Math.min(axis.height, Math.ceil(axis.y(part.base) + MARGIN));
    if (base <= top) return;
  }
  ctx.save();
  ctx.beginPath();
  ctx.rect(0, top, width, base - top);
  ctx.clip();
  ctx.fillStyle = palette.paper;
  ctx.fillRect(0, top, width, base - top);
  const window = { top: axis.depth(top), base: axis.depth(base) };
  const step = axis.labelStep();
  depthLabels(ctx, view, step, window);
  const perPixel = axis.perPixel / view.density;
  const strip = view.source?.strip(window.top, window.base, perPixel) ?? null;
  const other = view.overlay?.source.strip(window.top, window.base, perPixel) ?? null;
  for (const track of view.tracks) paintTrack(ctx, view, track, strip, other, window, step);
  if (view.railBox) drawRail(ctx, view.layout.rail, view.railBox.left, axis, palette);
  marks(ctx, view);
  ctx.restore();
}

function depthLabels(ctx, view, step, window) {
  const { axis, palette } = view;
  const decimals = decimalsOf(step);
  ctx.font = palette.font;
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  ctx.fillStyle = palette.ink;
  for (const depth of axis.labels(step)) {
    const y = axis.y(depth);
    if (depth < window.top - 14 * axis.perPixel || depth > window.base + 14 * axis.perPixel) continue;
    if (y > 7 && y < axis.height - 7) ctx.fillText(minus(depth.toFixed(decimals)), 38, y);
    ctx.fillRect(41, Math.round(y), 5, 1);
  }
}

function paintTrack(ctx, view, track, strip, other, window, step) {
  const { axis, palette } = view;
  const box = track.box;
  ctx.save();
  ctx.beginPath();
  ctx.rect(box.left, 0, box.right - box.left, axis.height);
  ctx.clip();
  if (track.kind === "soil") {
    grid(ctx, view, box, null, step, window);
    const soil = view.source?.soil?.(window.top, window.base, axis.perPixel);
    drawSoil(ctx, soil && view.units ? { ...soil, stretches: view.units } : soil, box, axis, palette);
  } else if (track.scale) {
    grid(ctx, view, box, track, step, window);
    drawRemoved(ctx, view.layout.marks.predrilled, [box], axis, palette);
    if (other) paintOther(ctx, view, track, other, window);
    if (strip) paintCurves(ctx, view, track, strip, window);
    drawBlanked(ctx, view.layout.marks.blanked?.filter((one) => touches(one, track)), [box], axis, palette);
  } else {
    absent(ctx, view, track);
  }
  ctx.restore();
  ctx.fillStyle = palette.softInk;
  ctx.fillRect(box.left, 0, 1, axis.height);
  ctx.fillRect(box.right - 1, 0, 1, axis.height);
}

function touches(blanked, track) {
  return !blanked.channels.length || track.curves.some((curve) => blanked.channels.includes(curve.column));
}

function paintCurves(ctx, view, track, strip, window) {
  const { axis, palette } = view;
  const rows = rowsIn(strip, window.top, window.base);
  for (const band of track.bands ?? []) {
    const [low, high] = [strip.columns.get(band.low), strip.columns.get(band.high)];
    drawBand(ctx, strip, low, high, track.box, track.scale, axis, palette.band, rows);
  }
  for (const curve of track.curves) {
    const column = strip.columns.get(curve.key);
    drawCurve(ctx, strip, column, track.box, track.scale, axis, {
      colour: palette[curve.look],
      fill: curve.fill ? palette[`${curve.look}Fill`] : null,
      width: curve.width,
      dash: curve.dash,
    }, rows);
  }
  for (const curve of track.curves) {
    const column = strip.columns.get(curve.key);
    if (!curve.marked || !column) continue;
    const look = { colour: palette[curve.look], font: palette.smallFont };
    const peaks = beyond(strip, column, track.scale, axis, rows);
    if (peaks.length) drawBeyond(ctx, peaks, track.box, axis, look, palette.paper, track.decimals ?? 0);
  }
}

/** Draw the main curve of another sounding: dashed, in a colour of its own. */
function paintOther(ctx, view, track, strip, window) {
  const main = track.curves[track.curves.length - 1];
  const column = main && strip.columns.get(main.key);
  if (!column) return;
  const look = { colour: view.palette.overlay, width: 1.4, dash: [7, 3] };
  drawCurve(ctx, strip, column, track.box, track.scale, view.axis, look, rowsIn(strip, window.top, window.base));
}

/*
 * Grid lines are filled boxes of one pixel: stroking them as one path costs more than all curves.
 * They are cut to the strip that is drawn.
 */
function grid(ctx, view, box, track, step, window) {
  const { axis, palette } = view;
  const width = box.right - box.left;
  const top = axis.y(window.top);
  const height = axis.y(window.base) - top;
  const across = (colour, pitch) => {
    ctx.fillStyle = colour;
    for (const depth of axis.labels(pitch)) {
      const y = Math.round(axis.y(depth));
      if (y >= top - 1 && y <= top + height + 1) ctx.fillRect(box.left, y, width, 1);
    }
  };
  const down = (colour, values) => {
    ctx.fillStyle = colour;
    for (const value of values) ctx.fillRect(Math.round(track.scale.place(value, box.left, box.right)), top, 1, height);
  };
  across(palette.grid, step / (step / axis.perPixel > 60 ? 5 : 2));
  if (track) {
    down(palette.grid, track.scale.between(track.parts ?? 2));
    down(palette.gridMajor, track.scale.ticks());
  }
  across(palette.gridMajor, step);
}

function absent(ctx, view, track) {
  const { axis, palette } = view;
  ctx.fillStyle = palette.void;
  ctx.fillRect(track.box.left, 0, track.box.right - track.box.left, axis.height);
  ctx.save();
  ctx.translate((track.box.left + track.box.right) / 2, axis.height / 2);
  ctx.rotate(-Math.PI / 2);
  ctx.font = palette.font;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.fillStyle = palette.softInk;
  ctx.fillText((track.absent ?? "").replace(/_\{([^}]*)\}/g, "$1"), 0, 0);
  ctx.restore();
}

function marks(ctx, view) {
  const { axis, palette } = view;
  const curves = view.tracks.filter((track) => track.kind !== "soil" && track.scale);
  if (!curves.length) return;
  const { marks } = view.layout;
  drawRemovedWords(ctx, marks.predrilledWords, marks.predrilled, curves[0].box, axis, palette);
  const pore = view.tracks.find((track) => track.name === marks.waterTrack) ?? curves[0];
  drawWater(ctx, marks.water, pore.box, axis, palette);
  drawEnd(ctx, marks.end, curves[0].box, view.right, axis, palette);
  drawObserved(ctx, view.layout.observed, view.tracks, pore, axis, palette);
}

/** Draw the cursor: its line, a dot and the number on each track, and a marked interval. */
export function paintCursor(view) {
  const { axis, palette } = view;
  const ctx = view.over.getContext("2d");
  ctx.setTransform(view.density, 0, 0, view.density, 0, 0);
  ctx.clearRect(0, 0, view.over.width, view.over.height);
  if (view.marked) interval(ctx, view);
  const depth = view.reading?.depth ?? view.cursorDepth;
  if (view.cursorDepth === null || depth < axis.top || depth > axis.base) return;
  const y = axis.y(depth);
  ctx.strokeStyle = palette.cursor;
  ctx.lineWidth = 1.2;
  ctx.beginPath();
  ctx.moveTo(0, Math.round(y) + 0.5);
  ctx.lineTo(view.right, Math.round(y) + 0.5);
  ctx.stroke();
  depthTag(ctx, depth, y, palette);
  for (const track of view.tracks) if (track.scale && track.kind !== "soil") spot(ctx, view, track, y);
}

function spot(ctx, view, track, y) {
  const { palette } = view;
  const main = track.curves[track.curves.length - 1];
  for (const curve of track.curves) {
    const value = view.reading?.values?.[curve.key];
    if (!value || value.shown === null || value.shown === undefined) continue;
    const at = track.scale.place(value.shown, track.box.left, track.box.right);
    const x = Math.min(Math.max(at, track.box.left), track.box.right);
    ctx.fillStyle = palette.paper;
    ctx.strokeStyle = palette[curve.look];
    ctx.lineWidth = 1.6;
    ctx.beginPath();
    ctx.arc(x, y, 3.2, 0, 7);
    ctx.fill();
    ctx.stroke();
    if (curve !== main) continue;
    const right = x < (track.box.left + track.box.right) / 2;
    tag(ctx, value.text, right ? x + 7 : x - 7, y, palette, right ? "left" : "right");
  }
}

function tag(ctx, text, x, y, palette, align) {
  ctx.font = palette.smallFont;
  ctx.textAlign = align;
  ctx.textBaseline = "middle";
  const width = ctx.measureText(text).width;
  const left = align === "left" ? x : x - width;
  ctx.fillStyle = palette.paper;
  ctx.globalAlpha = 0.88;
  ctx.fillRect(left - 3, y - 9, width + 6, 18);
  ctx.globalAlpha = 1;
  ctx.fillStyle = palette.ink;
  ctx.fillText(text, x, y + 0.5);
}

function interval(ctx, view) {
  const { axis, palette } = view;
  const top = axis.y(view.marked.top);
  const height = Math.max(axis.y(view.marked.base) - top, 1);
  ctx.fillStyle = palette.cursor;
  ctx.globalAlpha = view.marked.faint ? 0.06 : 0.16;
  ctx.fillRect(0, top, view.right, height);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = palette.cursor;
  ctx.lineWidth = 1;
  ctx.strokeRect(0.5, Math.round(top) + 0.5, view.right - 1, Math.round(height));
  depthTag(ctx, view.marked.top, top, palette);
  depthTag(ctx, view.marked.base, top + height, palette);
}

/** Write a depth over the labels of the axis. */
function depthTag(ctx, depth, y, palette) {
  ctx.fillStyle = palette.cursor;
  ctx.fillRect(0, y - 10, 45, 20);
  ctx.font = palette.font;
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  ctx.fillStyle = palette.paper;
  ctx.fillText(minus(depth.toFixed(2)), 41, y + 0.5);
}
