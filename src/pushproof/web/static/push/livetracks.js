/* The depth tracks of a push: rows as they come, axes that grow, the window follows or is held. */

import { DepthTracks } from "/static/tracks/depth-tracks.js";
import { Rows } from "/static/tracks/rows.js";
import { axisFor } from "/static/tracks/value-axis.js";
import { say } from "/static/text/say.js";
import { number, put } from "./put.js";

/* A window of this many metres at first. */
const WINDOW = 4;
/* What each track shows: columns of the rows, how it looks, the least end of its axis. */
const TRACKS = [
  { name: "qc", look: "measured", fill: true, weight: 1.5, least: 5 },
  { name: "fs", look: "measured", weight: 1, least: 50 },
  { name: "u2", look: "pore", weight: 1.15, least: 100 },
  { name: "rate", look: "second", weight: 0.9, least: 30 },
  { name: "tilt", look: "ratio", weight: 0.8, least: 5 },
  { name: "link_level", look: "blows", weight: 0.9, least: 60 },
];
/* What a telephone has room for. */
const NARROW = ["qc", "fs", "u2", "rate"];

export class LiveTracks {
  constructor(parent, { follow, closer, farther, cursor }, columns) {
    this.columns = new Map(columns.map((one) => [one.key, one]));
    this.cursor = cursor;
    this.parent = parent;
    this.view = new DepthTracks(parent, {
      words: say,
      readAt: (depth) => this.#readAt(depth),
      onCursor: (reading) => put(cursor, reading?.says ?? ""),
      onFindings: (numbers) => this.#findings(numbers),
      onFollow: (on) => this.#following(on),
      rowStep: () => 0.02,
    });
    this.followKey = follow;
    follow.addEventListener("click", () => this.view.follow(!this.view.axis.following, this.tip));
    closer.addEventListener("click", () => this.#zoom(0.6));
    farther.addEventListener("click", () => this.#zoom(1.7));
    document.addEventListener("theme", () => this.view.refreshTheme());
    this.narrow = matchMedia("(max-width: 700px)");
    this.narrow.addEventListener("change", () => this.#tracks());
    this.reset();
  }

  /** Begin anew, for another sounding. */
  reset() {
    this.rows = new Rows(TRACKS.map((one) => one.name));
    this.rail = { spans: [], rate: [], marks: [], findings: [] };
    this.scales = new Map();
    this.tip = 0;
    this.#tracks();
    this.view.setSource({ strip: (top, base, perPixel) => this.rows.strip(top, base, perPixel) });
    this.view.axis.setEnds(0, WINDOW);
    this.view.axis.show(0, WINDOW);
    this.view.follow(true, WINDOW * 0.7);
  }

  /** Add a block of rows; what was recorded while the rods stood still is not drawn. */
  add(block) {
    const keep = [];
    for (let k = 0; k < block.depth.length; k += 1) {
      // a row above the deepest is one of rods drawn back and pushed again: drawn in its place
      if (block.pushing[k]) keep.push(k);
    }
    if (!keep.length) return;
    const taken = { depth: keep.map((k) => block.depth[k]) };
    for (const { name } of TRACKS) taken[name] = keep.map((k) => block.columns[name][k] ?? NaN);
    const range = this.rows.append(taken);
    if (!range) return;
    this.tip = Math.max(this.tip, range.base);
    this.#grow();
    // the window may run a little ahead of the tip, so that new rows have room
    this.view.axis.high = Math.max(this.view.axis.high, this.tip + 0.4 * this.view.axis.span);
    this.view.extend(range);
  }

  /** Take what is new of the rail. */
  addRail(part) {
    const names = ["spans", "rate", "marks", "findings"];
    let top = Infinity;
    names.forEach((name, place) => {
      const list = this.rail[name];
      list.length = part.begins[place];
      for (const one of part[name]) {
        list.push(one);
        const from = one.top ?? one.depth;
        if (from !== null && from !== undefined) top = Math.min(top, name === "spans" ? one.base - 0.3 : from);
      }
    });
    if (top < Infinity) this.view.invalidate({ top: top - 0.3, base: this.tip + 0.3 });
  }

  #tracks() {
    const chosen = this.narrow.matches ? TRACKS.filter((one) => NARROW.includes(one.name)) : TRACKS;
    const shown = chosen.filter((one) => this.columns.has(one.name));
    this.view.setTracks(shown.map((one) => this.#track(one)), { rail: this.rail, marks: {} });
  }

  #track({ name, look, fill, weight, least }) {
    const column = this.columns.get(name);
    const scale = this.scales.get(name) ?? axisFor(least);
    this.scales.set(name, scale);
    return {
      name,
      kind: "curves",
      title: say(`push.track.${name}`),
      unit: column.unit,
      weight,
      scale: { low: scale.low, high: scale.high, step: scale.step },
      decimals: Math.min(column.decimals, 1),
      curves: [{ key: name, column: name, text: symbol(column.symbol), look, width: 1.8, fill, marked: false }],
    };
  }

  /** Let an axis grow where values leave it; it never shrinks during a push. */
  #grow() {
    for (const { name, least } of TRACKS) {
      const high = this.rows.highest.get(name);
      const low = this.rows.lowest.get(name);
      const scale = this.scales.get(name);
      if (!scale || high === undefined || (high <= scale.high && low >= scale.low)) continue;
      const next = axisFor(Math.max(high * 1.05, least), Math.min(low, 0));
      if (next.high === scale.high && next.low === scale.low) continue;
      this.scales.set(name, next);
      this.view.setScale(name, next);
    }
  }

  #zoom(factor) {
    const { axis } = this.view;
    const following = axis.following;
    axis.high = Math.max(axis.high, this.tip + 0.4 * axis.span * factor);
    axis.zoom(factor);
    if (following) this.view.follow(true, this.tip);
  }

  #following(on) {
    this.followKey.setAttribute("aria-pressed", String(on));
    put(this.followKey, say(on ? "push.following" : "push.held"));
    this.parent.dataset.follow = on ? "tip" : "held";
  }

  #readAt(depth) {
    const row = this.rows.nearest(depth, 0.05);
    if (row < 0) return { depth, values: {}, says: say("push.nothingAt", { depth: number(depth, 2) }) };
    const at = this.rows.depth[row];
    const parts = TRACKS.map(({ name }) => {
      const column = this.columns.get(name);
      const value = this.rows.values.get(name)[row];
      if (!column || Number.isNaN(value)) return null;
      return `${column.symbol} ${number(value, Math.min(column.decimals, 2))} ${column.unit}`;
    }).filter(Boolean);
    return { depth: at, values: {}, says: `${number(at, 2)} m: ${parts.join(", ")}` };
  }

  #findings(numbers) {
    const found = this.rail.findings.filter((one) => numbers.includes(one.number));
    put(this.cursor, found.map((one) => `${one.number} ${one.found}`).join("; "));
  }
}

/** "qc" as the symbol q with a lowered c. */
function symbol(text) {
  return text.length > 1 && /^[a-zA-Z][a-z0-9]+$/.test(text) ? `${text[0]}_{${text.slice(1)}}` : text;
}
