/*
 * The stream of a push: events of the server, resumed by the number of the last row. A page that
 * heard nothing for a while says so and tries again; what it missed comes after, without a gap.
 */

import { client, showConnection } from "/static/shell.js";

/* The server speaks at least four times a second: silence for longer than this [ms] is a loss. */
export const SILENCE = 1500;
const AGAIN = 500;

export class PushStream {
  /** Told: state(document), rows(block), rail(document), push({ sounding }), silent(seconds). */
  constructor(told) {
    this.told = told;
    this.last = 0;
    this.sounding = "";
    this.heard = performance.now();
    this.source = null;
    this.gaps = 0;
    this.opened = 0;
    setInterval(() => this.#watch(), 250);
    document.addEventListener("visibilitychange", () => this.#watch());
  }

  open() {
    this.source?.close();
    clearTimeout(this.again);
    this.opened += 1;
    this.begun = performance.now();
    const asked = new URLSearchParams({ after: this.last, sounding: this.sounding, client });
    const source = new EventSource(`/api/push/stream?${asked}`);
    this.source = source;
    source.addEventListener("push", (event) => this.#push(JSON.parse(event.data)));
    source.addEventListener("rows", (event) => this.#rows(JSON.parse(event.data)));
    source.addEventListener("rail", (event) => this.told.rail(JSON.parse(event.data)));
    source.addEventListener("state", (event) => {
      this.#hear();
      this.told.state(JSON.parse(event.data));
    });
    source.addEventListener("error", () => {
      source.close();
      if (this.source === source) this.again = setTimeout(() => this.open(), AGAIN);
    });
  }

  /** Seconds since the server was last heard. */
  get silence() {
    return (performance.now() - this.heard) / 1000;
  }

  get lost() {
    return this.silence * 1000 > SILENCE;
  }

  #hear() {
    const wasLost = this.lost;
    this.heard = performance.now();
    if (wasLost) this.told.silent(0);
    showConnection(true);
  }

  #push(what) {
    if (what.sounding !== this.sounding) {
      this.sounding = what.sounding;
      this.last = 0;
    }
    this.told.push(what, this.last === 0);
  }

  #rows(block) {
    this.#hear();
    if (block.sounding !== this.sounding || block.after !== this.last) {
      // not what comes next: ask again from where we are
      this.gaps += 1;
      this.open();
      return;
    }
    this.last = block.last;
    this.told.rows(block);
  }

  #watch() {
    if (!this.lost) return;
    showConnection(false);
    this.told.silent(this.silence);
    // a connection that hangs without an error is given up too
    if (performance.now() - this.begun > 4000) this.open();
  }
}
