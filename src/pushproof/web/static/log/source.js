/*
 * Values of a sounding from the server, a window at a time: what was fetched last is drawn at
 * once, better rows replace it when they come. A short sounding is fetched whole and kept.
 */

import { ask } from "/static/shell.js";
import { stripOf } from "/static/tracks/rows.js";

const WAIT = 40;
/* Rows finer than this many times what is asked are fetched anew, coarser. */
const FINEST = 8;

export class ServerSource {
  /** onready is called when better rows have come, onfault with a Fault. */
  constructor(id, { onready, onfault }) {
    this.id = id;
    this.onready = onready;
    this.onfault = onfault;
    this.names = [];
    this.bands = false;
    this.recipe = "";
    this.have = null;
    this.wanted = null;
    this.number = 0;
    this.edition = 0;
  }

  /** Say which tracks are drawn, of which recipe. What was fetched stays until the new has come. */
  choose({ names = this.names, bands = this.bands, recipe = this.recipe }) {
    this.names = names;
    this.bands = bands;
    this.recipe = recipe;
    this.stale = true;
    this.edition += 1;
    this.number += 1;
    this.wanted = null;
    clearTimeout(this.timer);
  }

  /** The sounding has grown: what is drawn is fetched anew. A fetch on its way may come first. */
  grown() {
    this.stale = true;
    this.edition += 1;
    this.onready();
  }

  strip(top, base, perPixel) {
    this.#need(top, base, perPixel);
    return this.have?.strip ?? null;
  }

  soil() {
    return this.have?.soil ?? null;
  }

  query(more) {
    const query = new URLSearchParams({ ...more });
    if (this.recipe) query.set("recipe", this.recipe);
    return query;
  }

  /** Values of the row nearest to a depth. */
  at(depth) {
    return ask(`/api/soundings/${this.id}/at?${this.query({ depth: depth.toFixed(4) })}`);
  }

  #need(top, base, perPixel) {
    const have = this.have;
    const covered = have && top >= have.top - 1e-6 && base <= have.base + 1e-6;
    const fine = have && have.perPixel <= perPixel * 1.05 && have.perPixel >= perPixel / FINEST;
    const strips = have && !have.strip.reduced && !have.soil;
    if (!this.stale && covered && (fine || strips)) return;
    const asked = this.wanted;
    if (asked && asked.top <= top && asked.base >= base && Math.abs(asked.perPixel / perPixel - 1) < 0.05) return;
    this.#fetchSoon(top - (base - top) * 0.6, base + (base - top) * 0.6, perPixel);
  }

  #fetchSoon(top, base, perPixel) {
    const wanted = { top, base, perPixel };
    this.wanted = wanted;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#fetch(wanted), this.have ? WAIT : 0);
  }

  async #fetch(wanted) {
    const { top, base, perPixel } = wanted;
    this.number += 1;
    const { number, edition } = this;
    const pixels = Math.min(8000, Math.max(1, Math.round((base - top) / perPixel)));
    const query = this.query({ top, base, pixels, names: this.names.join(",") });
    if (this.bands) query.set("bands", "true");
    try {
      const reply = await ask(`/api/soundings/${this.id}/window?${query}`);
      if (number !== this.number) return;
      this.have = { top, base, perPixel, strip: stripOf(reply), soil: reply.soil };
      this.stale = edition !== this.edition;
      if (this.wanted === wanted) this.wanted = null;
      this.onready();
    } catch (fault) {
      if (number !== this.number) return;
      if (this.wanted === wanted) this.wanted = null;
      this.onfault(fault);
    }
  }
}
