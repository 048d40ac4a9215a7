/*
 * The depth tracks: all tracks of a log on one depth axis, on a canvas of our own. Drawn only when
 * something changed, once per frame; new rows at the end draw only their own strip. The cursor has
 * a canvas of its own, so that reading values redraws no curve.
 *
 * Words come from the caller (one catalogue for all pages), data from a source with
 * strip(top, base, perPixel) and, if there is a soil column, soil(top, base, perPixel).
 */

import { DepthAxis } from "./depth-axis.js";
import { listen } from "./gestures.js";
import { Handles } from "./handles.js";
import { element, heading, setTicks } from "./heading.js";
import { paintBody, paintCursor } from "./paint.js";
import { readPalette } from "./palette.js";
import { RAIL_WIDTH, signs } from "./rail.js";
import { silhouette } from "./soil.js";
import { ValueAxis } from "./value-axis.js";

const LABELS = 46;
const LANE = 50;
const APART = 7;
const LEAST_TRACK = 62;

export class DepthTracks {
  /**
   * Options: words(key, values) gives text; readAt(depth) gives { depth, values, says } or a
   * promise of it; onCursor(reading), onPick(reading, track), onFindings(numbers), onMark(top, base),
   * onWindow(axis), onBoundary(index, from, depth), onBoundaryMove(index, depth),
   * onBoundaryOpen(index), onReleased(), onFollow(on) are told; tip() is where the window follows to.
   */
  constructor(parent, options) {
    this.options = options;
    this.words = options.words;
    this.axis = new DepthAxis();
    this.tracks = [];
    this.layout = { rail: null, marks: {} };
    this.source = null;
    this.overlay = null;
    this.reading = null;
    this.cursorDepth = null;
    this.chosen = null;
    this.marking = false;
    this.marked = null;
    this.stats = { redraws: 0, strips: 0, milliseconds: 0 };
    this.#build(parent);
    this.axis.onchange = () => {
      this.invalidate();
      this.options.onWindow?.(this.axis);
    };
    this.#watch();
  }

  /** Show tracks: an array of { name, kind, title, unit, scale, curves, bands, ... }. */
  setTracks(tracks, layout = {}) {
    this.tracks = tracks.map((track) => ({ ...track, scale: track.scale ? new ValueAxis(track.scale) : null }));
    this.layout = { rail: null, marks: {}, ...layout };
    this.heads.replaceChildren();
    this.railHead = this.layout.rail ? element("div", "track-head rail-head") : null;
    const depthHead = element("div", "track-head depth-head");
    depthHead.append(element("div", "track-title", this.words("tracks.depthTitle")), element("div", "track-unit", "[m]"));
    this.heads.append(depthHead);
    if (this.railHead) {
      this.railHead.append(element("div", "track-title", this.words("tracks.railTitle")));
      this.heads.append(this.railHead);
    }
    for (const track of this.tracks) {
      track.heading = heading(track, track.scale, this.words);
      this.heads.append(track.heading.head);
    }
    this.choose(this.chosen);
    this.#place();
    this.invalidate();
  }

  /** Choose the track that Enter explains, as a click on it does; null or one not shown: none. */
  choose(name) {
    this.chosen = this.tracks.some((one) => one.name === name) ? name : null;
    for (const one of this.tracks) one.heading.head.classList.toggle("chosen", one.name === this.chosen);
    this.#tellCursor();
  }

  /** Whether a hand is on the tracks: a finger or a button is down, or a boundary is dragged. */
  get busy() {
    return this.touched() || this.handles.drag !== null;
  }

  /** Show another rail and other marks beside the same tracks. */
  setLayout(layout) {
    this.layout = { ...this.layout, ...layout };
    this.invalidate();
  }

  /** Change the axis of a track, where values grow out of it. */
  setScale(name, scale) {
    const track = this.tracks.find((one) => one.name === name);
    if (!track) return;
    track.scale = track.heading.scale = scale;
    if (track.box) setTicks(track.heading, track.box.right - track.box.left, false);
    this.invalidate();
  }

  setSource(source) {
    this.source = source;
    this.invalidate();
  }

  /** Show the curves of another sounding over these; null takes them away. */
  setOverlay(overlay) {
    this.overlay = overlay;
    this.invalidate();
  }

  /** Name the units beside the soil column: [{ top, base, words, main }]; null names the zones. */
  setUnits(units) {
    this.units = units;
    this.invalidate();
  }

  setBoundaries(depths, editable = true) {
    this.handles.set(depths, editable);
    this.#place();
    this.invalidate();
  }

  /** Let the window follow the tip, or hold it. */
  follow(on, tip = this.options.tip?.() ?? this.axis.high) {
    this.axis.following = on;
    if (on) {
      this.axis.show(tip - this.axis.span * 0.7, tip + this.axis.span * 0.3);
    }
    this.options.onFollow?.(on);
  }

  /** Tell that rows between two depths are new. */
  extend(range) {
    if (!range) return;
    if (range.base > this.axis.high) {
      this.axis.high = Math.max(range.base, this.axis.low + 0.2);
    }
    this.axis.followTip(range.base);
    this.invalidate(range);
  }

  /** Ask for a redraw, of everything or between two depths. */
  invalidate(range = null) {
    if (!range) this.dirty = { top: -Infinity, base: Infinity };
    else if (!this.dirty) this.dirty = { top: range.top, base: range.base };
    else this.dirty = { top: Math.min(this.dirty.top, range.top), base: Math.max(this.dirty.base, range.base) };
    this.#schedule();
  }

  /** Put the cursor at a depth and read the values there; null takes it away. */
  setCursor(depth) {
    this.cursorDepth = depth;
    this.#schedule();
    if (depth === null) {
      this.reading = null;
      this.options.onCursor?.(null);
      return Promise.resolve();
    }
    this.asking ??= this.#read();
    return this.asking;
  }

  /** Read until the depth read is the one that is asked for: never more than one at a time. */
  async #read() {
    try {
      let asked;
      do {
        asked = this.cursorDepth;
        const reading = await this.options.readAt?.(asked);
        if (this.cursorDepth === null) return;
        this.reading = reading ?? null;
        this.#tellCursor();
      } while (asked !== this.cursorDepth);
    } finally {
      this.asking = null;
      this.#schedule();
    }
  }

  /** Let the next drag mark an interval instead of panning. */
  mark(on) {
    this.marking = on;
    this.marked = null;
    this.cursor.classList.toggle("marking", on);
    this.#schedule();
  }

  /** Show an interval [m] as marked; a faint one only points. Null takes it away. */
  showMarked(top, base, faint = false) {
    this.marked = top === null ? null : { top, base, faint };
    this.#schedule();
  }

  refreshTheme() {
    this.palette = readPalette(this.root);
    this.themed = (this.themed ?? 0) + 1;
    this.invalidate();
  }

  // Parts

  #build(parent) {
    this.root = element("div", "depth-tracks");
    this.heads = element("div", "track-heads");
    this.body = element("div", "track-body");
    this.canvas = element("canvas", "track-canvas");
    this.canvas.setAttribute("aria-hidden", "true");
    this.over = element("canvas", "track-over");
    this.over.setAttribute("aria-hidden", "true");
    this.cursor = element("div", "track-cursor");
    this.cursor.tabIndex = 0;
    this.cursor.setAttribute("role", "slider");
    this.cursor.setAttribute("aria-orientation", "vertical");
    this.cursor.setAttribute("aria-label", this.words("tracks.cursor"));
    this.body.append(this.canvas, this.over, this.cursor);
    this.root.append(this.heads, this.body);
    parent.append(this.root);
    this.handles = new Handles(this.body, this.axis, this.words, {
      move: (index, depth) => this.options.onBoundaryMove?.(index, depth),
      done: (index, from, depth) => this.options.onBoundary?.(index, from, depth),
      released: () => this.options.onReleased?.(),
      open: (index) => this.options.onBoundaryOpen?.(index),
    });
    this.palette = readPalette(this.root);
    this.touched = listen(this.cursor, this.axis, this.#actions());
    this.#tellCursor();
  }

  #watch() {
    this.observer = new ResizeObserver(() => this.#place());
    this.observer.observe(this.body);
    const density = () => {
      matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener("change", () => {
        this.#place();
        density();
      }, { once: true });
    };
    density();
  }

  #actions() {
    return {
      cursor: (y) => this.setCursor(this.axis.depth(y)),
      leave: (gone) => {
        if (gone || !this.held) this.setCursor(null);
        if (gone) {
          this.held = false;
          this.choose(null);
        }
      },
      tap: (x, y) => this.#tap(x, y),
      marking: () => this.marking,
      mark: (a, b, done) => {
        const [top, base] = [this.axis.depth(Math.min(a, b)), this.axis.depth(Math.max(a, b))];
        this.showMarked(top, base);
        if (done) this.options.onMark?.(top, base);
      },
      step: (rows) => this.#step(rows),
      jump: (depth) => {
        this.axis.reveal(depth);
        this.setCursor(depth);
      },
      across: (step) => {
        const at = this.tracks.findIndex((one) => one.name === this.chosen);
        const next = at < 0 ? (step > 0 ? 0 : this.tracks.length - 1) : at + step;
        this.choose(this.tracks[Math.min(Math.max(next, 0), this.tracks.length - 1)]?.name ?? null);
      },
      pick: () => this.options.onPick?.(this.reading, this.chosen),
      follow: () => this.follow(!this.axis.following),
      moved: () => {
        if (this.wasFollowing !== this.axis.following) this.options.onFollow?.(this.axis.following);
        this.wasFollowing = this.axis.following;
      },
    };
  }

  async #tap(x, y) {
    this.showMarked(null);
    const depth = this.axis.depth(y);
    if (this.railBox && x >= this.railBox.left && x <= this.railBox.right) {
      const group = signs(this.layout.rail.findings, this.axis).find((one) => Math.abs(one.y - y) < 22);
      if (group) {
        this.options.onFindings?.(group.items.map((one) => one.number));
        return;
      }
    }
    this.held = true;
    await this.setCursor(depth);
    const track = this.tracks.find((one) => x >= one.box.left && x <= one.box.right) ?? null;
    this.options.onPick?.(this.reading, track?.name ?? null);
  }

  #step(rows) {
    const from = this.reading?.depth ?? this.cursorDepth ?? (this.axis.top + this.axis.base) / 2;
    const step = this.options.rowStep?.() ?? this.axis.perPixel;
    const depth = Math.min(Math.max(from + rows * step, this.axis.low), this.axis.high);
    this.held = true;
    this.axis.reveal(depth);
    this.setCursor(depth);
  }

  #tellCursor() {
    const at = this.reading?.depth ?? this.cursorDepth;
    this.cursor.setAttribute("aria-valuemin", this.axis.low.toFixed(2));
    this.cursor.setAttribute("aria-valuemax", this.axis.high.toFixed(2));
    this.cursor.setAttribute("aria-valuenow", (at ?? this.axis.top).toFixed(3));
    const says = this.reading?.says ?? this.words("tracks.noCursor");
    const title = this.tracks.find((one) => one.name === this.chosen)?.title;
    this.cursor.setAttribute("aria-valuetext", title ? this.words("tracks.chosen", { title, says }) : says);
    if (this.reading) this.options.onCursor?.(this.reading);
  }

  /** Give every part its place: labels, rail, tracks by weight, and the lane of boundaries. */
  #place() {
    const width = this.body.clientWidth;
    const height = this.body.clientHeight;
    if (!width || !height) {
      this.right = 0; // hidden: nothing is drawn until there is a place again
      return;
    }
    const lane = this.handles.depths.length ? LANE : 6;
    const rail = this.layout.rail ? RAIL_WIDTH + APART : 0;
    const room = width - LABELS - rail - lane - this.tracks.length * APART;
    const widths = shares(this.tracks.map((track) => track.weight ?? 1), room);
    this.railBox = rail ? { left: LABELS, right: LABELS + RAIL_WIDTH } : null;
    let x = LABELS + rail;
    this.tracks.forEach((track, k) => {
      track.box = { left: Math.round(x), right: Math.round(x + widths[k]) };
      x = track.box.right + APART;
    });
    this.right = x - APART;
    this.axis.height = height;
    this.placed = (this.placed ?? 0) + 1;
    this.#placeHeads();
    this.handles.lane.style.left = `${this.right}px`;
    this.handles.lane.style.setProperty("--across", `${this.right - LABELS - rail}px`);
    this.#size(width, height);
    this.invalidate();
  }

  #placeHeads() {
    const put = (head, left, width) => {
      head.style.left = `${left}px`;
      head.style.width = `${width}px`;
    };
    const [depthHead] = this.heads.children;
    if (depthHead) put(depthHead, 0, LABELS);
    if (this.railHead) put(this.railHead, LABELS, RAIL_WIDTH);
    for (const track of this.tracks) {
      const wide = track.box.right - track.box.left;
      put(track.heading.head, track.box.left, wide);
      const shape = track.kind === "soil" ? silhouette(track.box) : track.box;
      setTicks(track.heading, shape.right - shape.left, track.kind === "soil");
    }
  }

  #size(width, height) {
    const density = window.devicePixelRatio || 1;
    for (const canvas of [this.canvas, this.over]) {
      canvas.width = Math.round(width * density);
      canvas.height = Math.round(height * density);
      canvas.style.width = `${width}px`;
      canvas.style.height = `${height}px`;
    }
    this.density = density;
  }

  #schedule() {
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      this.#redraw();
    });
  }

  /** The cursor is drawn again only if something of it changed. */
  #redrawCursor() {
    const { axis, reading, cursorDepth, marked } = this;
    const state = [axis.top, axis.base, axis.height, cursorDepth, this.right, this.density, this.themed, this.placed];
    const shown = this.cursorShown;
    const same = shown && shown.reading === reading && shown.marked === marked && shown.state.every((one, k) => one === state[k]);
    if (same) return;
    this.cursorShown = { state, reading, marked };
    paintCursor(this);
  }

  #redraw() {
    const begun = performance.now();
    if (this.dirty && this.right) {
      const dirty = this.dirty;
      this.dirty = null;
      const whole = dirty.base === Infinity;
      paintBody(this, whole ? null : dirty);
      if (whole) this.handles.place();
      this.stats.redraws += 1;
      if (!whole) this.stats.strips += 1;
    }
    if (this.right && this.over) this.#redrawCursor();
    this.stats.milliseconds += performance.now() - begun;
  }
}

/** Share a width by weight, with no track under its least width while there is room for that. */
function shares(weights, room) {
  const least = Math.min(LEAST_TRACK, room / weights.length);
  const fixed = new Set();
  for (;;) {
    const rest = weights.reduce((sum, weight, k) => sum + (fixed.has(k) ? 0 : weight), 0) || 1;
    const left = room - fixed.size * least;
    const small = weights.findIndex((weight, k) => !fixed.has(k) && (weight / rest) * left < least - 1e-9);
    if (small < 0) return weights.map((weight, k) => (fixed.has(k) ? least : (weight / rest) * left));
    fixed.add(small);
  }
}

export { LABELS };
