/* Observations from elsewhere on the tracks, as on paper: rings at their value with a bar over
 * their interval, dashed lines at the ends of a logged layer. What each is stands in the findings. */

import { silhouette } from "./soil.js";

const RADIUS = 4.5;
const DASH = [8, 4.5];
/* A water level stands to the right of the triangle of the level in use [px]. */
const BESIDE_WATER = 30;

/** Draw observations: [{ kind, top, base, at, shown }], values in display units. */
export function drawObserved(ctx, observed, tracks, pore, axis, palette) {
  for (const one of observed ?? []) {
    if (one.kind === "layer") layer(ctx, one, tracks, axis, palette);
    else if (one.kind === "water") ring(ctx, pore.box.left + BESIDE_WATER, axis.y(one.at), palette);
    else for (const track of tracks) if (shows(track, one.kind)) value(ctx, one, track, axis, palette);
  }
}

function shows(track, kind) {
  return track.scale && track.kind !== "soil" && (track.name === kind || track.curves.some((curve) => curve.column === kind));
}

/* A value beyond the axis stands at its end. */
function value(ctx, one, track, axis, palette) {
  const { left, right } = track.box;
  const x = Math.min(Math.max(track.scale.place(one.shown, left, right), left), right);
  if (one.base > one.top) {
    ctx.fillStyle = palette.ink;
    const top = axis.y(one.top);
    ctx.fillRect(x - 0.8, top, 1.6, axis.y(one.base) - top);
  }
  ring(ctx, x, axis.y(one.at), palette);
}

function ring(ctx, x, y, palette) {
  ctx.fillStyle = palette.paper;
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 2;
  ctx.beginPath();
  ctx.arc(x, y, RADIUS, 0, 7);
  ctx.fill();
  ctx.stroke();
}

function layer(ctx, one, tracks, axis, palette) {
  const soil = tracks.find((track) => track.kind === "soil");
  if (!soil) return;
  const shape = silhouette(soil.box);
  ctx.strokeStyle = palette.stop;
  ctx.lineWidth = 1.6;
  ctx.setLineDash(DASH);
  ctx.beginPath();
  for (const depth of [one.top, one.base]) {
    ctx.moveTo(shape.left, axis.y(depth));
    ctx.lineTo(soil.box.right, axis.y(depth));
  }
  ctx.stroke();
  ctx.setLineDash([]);
}
