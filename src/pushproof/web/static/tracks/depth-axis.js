/* The one depth axis that all tracks share: a window of depth [m] on a height of pixels. */

const LEAST_SPAN = 0.2;
const STEPS = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50];
/* Room [m] that may be seen beyond the ends, as a share of the window. */
const BEYOND = 0.04;

export class DepthAxis {
  constructor(low = 0, high = 10) {
    this.low = low;
    this.high = high;
    this.top = low;
    this.base = high;
    this.height = 1;
    this.following = false;
    this.onchange = () => {};
  }

  get span() {
    return this.base - this.top;
  }

  /** Depth [m] of one CSS pixel. */
  get perPixel() {
    return this.span / this.height;
  }

  y(depth) {
    return ((depth - this.top) / this.span) * this.height;
  }

  depth(y) {
    return this.top + (y / this.height) * this.span;
  }

  /** Say what depths there are [m]; the window stays, cut to them. */
  setEnds(low, high) {
    this.low = low;
    this.high = Math.max(high, low + LEAST_SPAN);
    this.show(this.top, this.base);
  }

  /** Show a window; it is moved or cut so that it stays near what there is. */
  show(top, base) {
    const most = (this.high - this.low) * (1 + 2 * BEYOND);
    const span = Math.min(Math.max(base - top, LEAST_SPAN), most);
    const middle = (top + base) / 2;
    let start = base - top === span ? top : middle - span / 2;
    const room = span * BEYOND;
    start = Math.min(start, this.high + room - span);
    start = Math.max(start, this.low - room);
    if (Math.abs(start - this.top) < 1e-9 && Math.abs(start + span - this.base) < 1e-9) return;
    this.top = start;
    this.base = start + span;
    this.onchange();
  }

  showAll() {
    this.show(this.low - (this.high - this.low) * BEYOND, this.high + (this.high - this.low) * BEYOND);
  }

  pan(metres) {
    this.show(this.top + metres, this.base + metres);
  }

  /** Zoom so that the depth under a pixel stays there; a factor under 1 shows more detail. */
  zoom(factor, y = this.height / 2) {
    const most = (this.high - this.low) * (1 + 2 * BEYOND);
    const span = Math.min(Math.max(this.span * factor, LEAST_SPAN), most);
    const still = this.depth(y);
    const top = still - (y / this.height) * span;
    this.show(top, top + span);
  }

  /** Bring a depth into the window, in its middle if it was outside. */
  reveal(depth) {
    const edge = this.span * 0.06;
    if (depth >= this.top + edge && depth <= this.base - edge) return;
    this.show(depth - this.span / 2, depth + this.span / 2);
  }

  /**
   * Follow the tip: when it nears the bottom the window moves by a good part of itself, so that
   * most new rows are drawn into a window that stands still.
   */
  followTip(depth) {
    if (!this.following) return;
    if (depth > this.base - this.span * 0.05 || depth < this.top) {
      const top = depth - this.span * 0.7;
      this.show(top, top + this.span);
    }
  }

  /** Distance of depth labels [m], given the least distance in pixels. */
  labelStep(least = 34) {
    return STEPS.find((step) => step / this.perPixel >= least) ?? STEPS[STEPS.length - 1];
  }

  /** Depths of the labels in the window. */
  labels(step = this.labelStep()) {
    const first = Math.ceil(this.top / step - 1e-9);
    const last = Math.floor(this.base / step + 1e-9);
    const found = [];
    for (let k = first; k <= last; k += 1) found.push(Math.round(k * step * 1e6) / 1e6);
    return found;
  }
}

/** Decimals that labels need at a step. */
export function decimalsOf(step) {
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
}
