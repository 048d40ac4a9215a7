/*
 * The proof rail, as on the paper log: where each value came from, rate outside the band, rod
 * changes, pauses, dissipations, tilt steps and numbered findings. Shapes before colours.
 */

const TRACE = [0, 14];
const MARK = [14, 32];
const BAR_X = 36;
const SIGN_X = 44;
export const RAIL_WIDTH = 74;
/* Findings closer than this [px] share a sign. */
const APART = 20;

/**
 * Draw the rail. It is { spans: [{ trace, top, base }], rate: [{ fast, top, base }], marks:
 * [{ kind, depth, seconds }], findings: [{ number, severity, top, base, found }] }.
 */
export function drawRail(ctx, rail, left, axis, palette) {
  if (!rail) return;
  for (const span of rail.spans) {
    if (span.base > axis.top && span.top < axis.base) {
      const top = Math.max(axis.y(span.top), -2);
      const base = Math.min(axis.y(span.base), axis.height + 2);
      fillTrace(ctx, span.trace, left + TRACE[0], top, left + TRACE[1], base, palette);
    }
  }
  for (const one of rail.rate) {
    if (one.base > axis.top && one.top < axis.base) rateBar(ctx, one, left, axis, palette);
  }
  for (const mark of rail.marks) {
    if (mark.depth >= axis.top && mark.depth <= axis.base) drawMark(ctx, mark, left, axis.y(mark.depth), palette);
  }
  ctx.fillStyle = palette.gridMajor;
  for (const at of [TRACE[1], MARK[1]]) ctx.fillRect(left + at, 0, 1, axis.height);
  for (const group of signs(rail.findings, axis)) drawSign(ctx, group, left, palette);
  for (const finding of rail.findings) findingBar(ctx, finding, left, axis, palette);
}

/** Fill a stretch of the first lane; every kind differs in grey or in pattern. */
function fillTrace(ctx, trace, left, top, right, base, palette) {
  const box = [left, top, right - left, Math.max(base - top, 0.6)];
  const paint = (colour) => {
    ctx.fillStyle = colour;
    ctx.fillRect(...box);
  };
  if (trace === "live") paint(palette.measured);
  else if (trace === "cone memory") {
    paint(palette.measuredFill);
    slant(ctx, box, palette.measured, 1.6, 5, false);
  } else if (trace === "imported") paint(palette.second);
  else if (trace === "simulated") {
    paint(palette.blowsFill);
    slant(ctx, box, palette.blows, 0.8, 6, false);
    slant(ctx, box, palette.blows, 0.8, 6, true);
  } else if (trace === "origin not stated") paint(palette.gridMajor);
  else if (trace === "blanked") {
    paint(palette.paper);
    slant(ctx, box, palette.ink, 1, 5, true);
  } else if (trace === "pre-excavated") {
    paint(palette.void);
    ctx.fillStyle = palette.softInk;
    for (let y = Math.ceil(top / 6) * 6; y < base - 1; y += 6) {
      for (const x of (y / 6) % 2 ? [7] : [4, 10]) ctx.fillRect(left + x - 0.8, y - 0.8, 1.6, 1.6);
    }
  } else {
    paint(palette.paper);
    ctx.strokeStyle = palette.stop;
    ctx.lineWidth = 1.4;
    ctx.setLineDash([3, 3]);
    ctx.beginPath();
    ctx.moveTo((left + right) / 2, top);
    ctx.lineTo((left + right) / 2, base);
    ctx.stroke();
    ctx.setLineDash([]);
  }
}

function slant(ctx, [left, top, width, height], colour, weight, pitch, rising) {
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
  ctx.strokeStyle = colour;
  ctx.lineWidth = weight;
  ctx.beginPath();
  for (let y = Math.floor((top - width) / pitch) * pitch; y < top + height; y += pitch) {
    ctx.moveTo(rising ? left + width : left, y);
    ctx.lineTo(rising ? left : left + width, y + width);
  }
  ctx.stroke();
  ctx.restore();
}

/** Too slow is an open bar at the left, too fast a solid one at the right. */
function rateBar(ctx, one, left, axis, palette) {
  const top = axis.y(one.top);
  const height = Math.max(axis.y(one.base) - top, 2);
  if (one.fast) {
    ctx.fillStyle = palette.caution;
    ctx.fillRect(left + 25, top, 5, height);
  } else {
    ctx.fillStyle = palette.cautionFill;
    ctx.fillRect(left + 16.5, top, 5, height);
    ctx.strokeStyle = palette.caution;
    ctx.lineWidth = 1;
    ctx.strokeRect(left + 16.5, top, 5, height);
  }
}

/** Draw a mark of the second lane. */
function drawMark(ctx, mark, left, y, palette) {
  const middle = left + (MARK[0] + MARK[1]) / 2;
  if (mark.kind === "rod-change") {
    ctx.fillStyle = palette.ink;
    ctx.fillRect(left, Math.round(y), MARK[1], 1);
  } else if (mark.kind === "pause") {
    ctx.fillStyle = palette.paper;
    ctx.fillRect(middle - 6, y - 5.5, 12, 11);
    ctx.fillStyle = palette.ink;
    ctx.fillRect(middle - 4, y - 4, 3, 8);
    ctx.fillRect(middle + 1, y - 4, 3, 8);
  } else if (mark.kind === "dissipation") {
    ctx.fillStyle = palette.pore;
    ctx.fillRect(middle - 7, y - 7, 14, 14);
    ctx.fillStyle = palette.paper;
    ctx.font = palette.boldFont;
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.fillText("D", middle, y + 0.5);
  } else if (mark.kind === "tilt-step") {
    ctx.strokeStyle = palette.stop;
    ctx.lineWidth = 2;
    ctx.beginPath();
    ctx.moveTo(middle - 5, y + 5);
    ctx.lineTo(middle + 5, y - 5);
    ctx.moveTo(middle - 5, y + 5);
    ctx.lineTo(middle - 5, y - 5);
    ctx.stroke();
  }
}

function findingBar(ctx, finding, left, axis, palette) {
  if (finding.top === null || !(finding.base > finding.top)) return;
  if (finding.base < axis.top || finding.top > axis.base) return;
  ctx.strokeStyle = palette[finding.severity];
  ctx.lineWidth = { info: 1, caution: 2, stop: 3 }[finding.severity];
  ctx.beginPath();
  ctx.moveTo(left + BAR_X, axis.y(finding.top));
  ctx.lineTo(left + BAR_X, Math.max(axis.y(finding.base), axis.y(finding.top) + 1.5));
  ctx.stroke();
}

/** Group findings with a depth in the window by the sign they share: [{ y, items, worst }]. */
export function signs(findings, axis) {
  const order = { info: 1, caution: 2, stop: 3 };
  const groups = [];
  const placed = findings
    .filter((one) => one.top !== null && (one.base ?? one.top) >= axis.top && one.top <= axis.base)
    .map((one) => ({ one, y: Math.max(axis.y(one.top), 0) }))
    .sort((a, b) => a.y - b.y);
  for (const { one, y } of placed) {
    const last = groups[groups.length - 1];
    if (last && y - last.y < APART) {
      last.items.push(one);
      if (order[one.severity] > order[last.worst]) last.worst = one.severity;
    } else {
      groups.push({ y, items: [one], worst: one.severity });
    }
  }
  for (const group of groups) group.y = Math.min(Math.max(group.y, 9), axis.height - 9);
  return groups;
}

function drawSign(ctx, group, left, palette) {
  const x = left + SIGN_X;
  severitySign(ctx, group.worst, x, group.y, palette);
  ctx.fillStyle = palette[group.worst];
  ctx.font = palette.boldFont;
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  const number = group.items[0].number;
  ctx.fillText(`${number}${group.items.length > 1 ? "+" : ""}`, x + 7, group.y + 0.5, RAIL_WIDTH - SIGN_X - 7);
}

/** A ring (info), a triangle (caution) or a solid square on its corner (stop). */
function severitySign(ctx, severity, x, y, palette) {
  ctx.strokeStyle = palette[severity];
  ctx.lineWidth = 1.4;
  ctx.beginPath();
  if (severity === "stop") {
    ctx.moveTo(x, y - 7);
    ctx.lineTo(x + 6.5, y);
    ctx.lineTo(x, y + 7);
    ctx.lineTo(x - 6.5, y);
    ctx.closePath();
    ctx.fillStyle = palette.stop;
    ctx.fill();
    ctx.fillStyle = palette.paper;
    ctx.fillRect(x - 0.9, y - 3.6, 1.8, 4.4);
    ctx.fillRect(x - 0.9, y + 1.8, 1.8, 1.8);
  } else if (severity === "caution") {
    ctx.moveTo(x, y - 6);
    ctx.lineTo(x + 6, y + 5);
    ctx.lineTo(x - 6, y + 5);
    ctx.closePath();
    ctx.fillStyle = palette.cautionFill;
    ctx.fill();
    ctx.stroke();
    ctx.fillStyle = palette.caution;
    ctx.fillRect(x - 0.8, y - 2, 1.6, 3.4);
    ctx.fillRect(x - 0.8, y + 2.4, 1.6, 1.6);
  } else {
    ctx.arc(x, y, 4.6, 0, 7);
    ctx.fillStyle = palette.paper;
    ctx.fill();
    ctx.stroke();
    ctx.fillStyle = palette.info;
    ctx.fillRect(x - 0.9, y - 0.9, 1.8, 1.8);
  }
}
