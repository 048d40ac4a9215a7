/*
 * What is drawn: strips of rows. A strip has a depth for each row and, for each column, the first,
 * lowest, highest and last value of that row. Full rows have the four the same. A row is joined to
 * the one before it only if no gap lies between; a missing value is NaN and is never bridged.
 */

const FIRST_ROOM = 1024;

/** Index of the first row at or below a depth. */
export function rowAt(depth, value, length = depth.length) {
  let low = 0;
  let high = length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (depth[middle] < value) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Numbers as a server sends them; null is a missing value. */
export function numbers(list) {
  const found = new Float64Array(list.length);
  for (let k = 0; k < list.length; k += 1) found[k] = list[k] === null ? NaN : list[k];
  return found;
}

/** A strip from a reply of the server: full rows, or rows reduced to pixels. */
export function stripOf(reply) {
  const columns = new Map();
  for (const [key, one] of Object.entries(reply.columns)) {
    if (Array.isArray(one)) {
      const values = numbers(one);
      columns.set(key, { first: values, low: values, high: values, last: values });
    } else {
      columns.set(key, {
        first: numbers(one.first),
        low: numbers(one.min),
        high: numbers(one.max),
        last: numbers(one.last),
      });
    }
  }
  const depth = numbers(reply.depth);
  const join = reply.join ? Uint8Array.from(reply.join) : joined(depth, reply.gap);
  return { depth, join, columns, length: depth.length, gap: reply.gap, top: reply.top, base: reply.base, reduced: reply.reduced };
}

function joined(depth, gap) {
  const join = new Uint8Array(depth.length);
  for (let k = 1; k < depth.length; k += 1) join[k] = depth[k] - depth[k - 1] <= gap ? 1 : 0;
  return join;
}

/** Rows that grow at the end, for a push; a row that comes late is put in its place. */
export class Rows {
  constructor(keys, gap = 0.15) {
    this.keys = [...keys];
    this.gap = gap;
    this.length = 0;
    this.depth = new Float64Array(FIRST_ROOM);
    this.values = new Map(this.keys.map((key) => [key, new Float64Array(FIRST_ROOM)]));
    this.highest = new Map();
    this.lowest = new Map();
  }

  get last() {
    return this.length ? this.depth[this.length - 1] : NaN;
  }

  /**
   * Add rows: { depth: [...], qc: [...], ... } in display units. Return the depths between which
   * something is new, or null.
   */
  append(block) {
    const count = block.depth.length;
    if (!count) return null;
    this.#grow(this.length + count);
    const before = this.last;
    let late = false;
    for (let k = 0; k < count; k += 1) {
      const row = this.length;
      this.depth[row] = block.depth[k];
      if (row && this.depth[row] < this.depth[row - 1]) late = true;
      for (const key of this.keys) {
        const value = block[key]?.[k] ?? NaN;
        this.values.get(key)[row] = value;
        if (value > (this.highest.get(key) ?? -Infinity)) this.highest.set(key, value);
        if (value < (this.lowest.get(key) ?? Infinity)) this.lowest.set(key, value);
      }
      this.length += 1;
    }
    if (late) {
      this.#sort();
      return { top: this.depth[0], base: this.last };
    }
    return { top: Number.isNaN(before) ? this.depth[0] : before, base: this.last };
  }

  /** The value nearest to a depth, or NaN where none is near. */
  nearest(depth, within = this.gap) {
    const after = rowAt(this.depth, depth, this.length);
    let best = -1;
    for (const row of [after - 1, after]) {
      if (row < 0 || row >= this.length) continue;
      const far = Math.abs(this.depth[row] - depth);
      if (far <= within && (best < 0 || far < Math.abs(this.depth[best] - depth))) best = row;
    }
    return best;
  }

  /** The rows between two depths as a strip, brought to pixel rows where they are denser. */
  strip(top, base, perPixel) {
    const from = Math.max(0, rowAt(this.depth, top, this.length) - 1);
    const to = Math.min(this.length, rowAt(this.depth, base, this.length) + 1);
    return to - from > (2 * (base - top)) / perPixel
      ? this.#reduced(from, to, perPixel)
      : this.#full(from, to);
  }

  #full(from, to) {
    const depth = this.depth.subarray(from, to);
    const columns = new Map();
    for (const [key, array] of this.values) {
      const values = array.subarray(from, to);
      columns.set(key, { first: values, low: values, high: values, last: values });
    }
    return { depth, join: joined(depth, this.gap), columns, length: depth.length, gap: this.gap, reduced: false };
  }

  #reduced(from, to, perPixel) {
    const starts = [];
    let here = -Infinity;
    for (let k = from; k < to; k += 1) {
      const pixel = Math.floor(this.depth[k] / perPixel);
      if (pixel !== here) starts.push(k);
      here = pixel;
    }
    starts.push(to);
    const n = starts.length - 1;
    const depth = new Float64Array(n);
    const join = new Uint8Array(n);
    for (let j = 0; j < n; j += 1) {
      const a = starts[j];
      depth[j] = (this.depth[a] + this.depth[starts[j + 1] - 1]) / 2;
      join[j] = j && this.depth[a] - this.depth[a - 1] <= this.gap ? 1 : 0;
    }
    const columns = new Map();
    for (const [key, values] of this.values) columns.set(key, reduceColumn(values, starts, n));
    return { depth, join, columns, length: n, gap: this.gap, reduced: true };
  }

  #grow(rows) {
    if (rows <= this.depth.length) return;
    const room = Math.max(rows, this.depth.length * 2);
    const larger = (array) => {
      const next = new Float64Array(room);
      next.set(array.subarray(0, this.length));
      return next;
    };
    this.depth = larger(this.depth);
    for (const key of this.keys) this.values.set(key, larger(this.values.get(key)));
  }

  #sort() {
    const order = Uint32Array.from({ length: this.length }, (_, k) => k);
    order.sort((a, b) => this.depth[a] - this.depth[b] || a - b);
    const sorted = (array) => {
      const next = new Float64Array(array.length);
      for (let k = 0; k < this.length; k += 1) next[k] = array[order[k]];
      return next;
    };
    for (const key of this.keys) this.values.set(key, sorted(this.values.get(key)));
    this.depth = sorted(this.depth);
  }
}

function reduceColumn(values, starts, n) {
  const first = new Float64Array(n);
  const low = new Float64Array(n);
  const high = new Float64Array(n);
  const last = new Float64Array(n);
  for (let j = 0; j < n; j += 1) {
    const a = starts[j];
    const b = starts[j + 1];
    let least = Infinity;
    let most = -Infinity;
    for (let k = a; k < b; k += 1) {
      const value = values[k];
      if (value < least) least = value;
      if (value > most) most = value;
    }
    first[j] = values[a];
    last[j] = values[b - 1];
    low[j] = least === Infinity ? NaN : least;
    high[j] = most === -Infinity ? NaN : most;
  }
  return { first, low, high, last };
}
