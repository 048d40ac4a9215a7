/*
 * The axis of one track, from low to high with a labelled step, in display units. The log page
 * gets it from the server (the same as on paper); the push page lets it grow with the values.
 */

const ENDS = [1, 1.5, 2, 3, 4, 5, 6, 8, 10];
const STEPS = { 1: 0.2, 1.5: 0.5, 2: 0.5, 3: 1, 4: 1, 5: 1, 6: 2, 8: 2 };

export class ValueAxis {
  constructor({ low, high, step }) {
    this.low = low;
    this.high = high;
    this.step = step;
  }

  /** Position between left and right; not clipped. */
  place(value, left, right) {
    return left + ((value - this.low) / (this.high - this.low)) * (right - left);
  }

  /** The labelled values; every second one only where there is no room for all. */
  ticks(room = Infinity) {
    const first = Math.ceil(this.low / this.step - 1e-9);
    const last = Math.floor(this.high / this.step + 1e-9);
    let every = 1;
    while ((last - first) / every + 1 > Math.max(2, room)) every += 1;
    const found = [];
    for (let k = first; k <= last; k += 1) {
      if (k % every === 0) found.push(Math.round(k * this.step * 1e10) / 1e10);
    }
    return found;
  }

  /** The fine grid, labelled values left out. */
  between(parts) {
    const fine = this.step / parts;
    const found = [];
    const last = Math.floor(this.high / fine + 1e-9);
    for (let k = Math.ceil(this.low / fine - 1e-9); k <= last; k += 1) {
      if (k % parts) found.push(k * fine);
    }
    return found;
  }

  tickText(value) {
    const decimals = Math.max(0, -Math.floor(Math.log10(this.step) + 1e-9));
    return minus((value + 0).toFixed(decimals));
  }
}

/** A number with a true minus sign. */
export function minus(text) {
  return String(text).replace(/-/g, "\u2212");
}

/** The nearest round number at or above a value at which an axis may end. */
function axisEnd(value) {
  if (!(value > 0) || !Number.isFinite(value)) return 1;
  const power = 10 ** Math.floor(Math.log10(value));
  for (const mantissa of ENDS) {
    if (value <= mantissa * power * (1 + 1e-9)) return round(mantissa * power);
  }
  return round(10 * power);
}

/** The axis from zero (or a negative low) to the round end above the values. */
export function axisFor(high, low = 0) {
  const end = axisEnd(high);
  const power = 10 ** Math.floor(Math.log10(end) + 1e-9);
  const step = round(STEPS[round(end / power)] * power);
  const below = low < -0.02 * end ? Math.ceil((-low / step) * 2 - 1e-9) * (step / 2) : 0;
  return new ValueAxis({ low: below ? -round(below) : 0, high: end, step });
}

function round(value) {
  return Math.round(value * 1e10) / 1e10;
}
