/*
 * The draft: decisions that are looked at and not yet saved. Every change is sent for its effect at
 * once and can be taken back; saving needs an author and a reason and names the version it began
 * with, so that nobody is overwritten unknowingly.
 */

import { ask, tell } from "/static/shell.js";
import { merge } from "/static/log/merge.js";

export class Draft {
  /** onchange() is awaited after every change: it shows the effect. */
  constructor(id, onchange) {
    this.id = id;
    this.onchange = onchange;
    this.version = 0;
    this.base = {};
    this.document = {};
    this.past = [];
    this.versions = [];
    this.changed = [];
    this.recipe = "";
    this.choices = null;
  }

  get dirty() {
    return this.changed.length > 0;
  }

  /** Read the newest version; what was drafted is dropped. */
  async load() {
    const found = await ask(`/api/soundings/${this.id}/recipe`);
    this.version = found.version;
    this.versions = found.versions;
    this.base = found.document;
    this.document = structuredClone(found.document);
    this.past = [];
    this.changed = [];
    this.recipe = "";
    this.choices = found.choices;
  }

  /** Change the document by a function; changes with one mark in a row are undone together. */
  async change(edit, mark = "") {
    const before = structuredClone(this.document);
    edit(this.document);
    const last = this.past[this.past.length - 1];
    if (!mark || last?.mark !== mark) this.past.push({ document: before, mark });
    try {
      await this.#effect();
    } catch (fault) {
      this.document = before;
      if (!mark || last?.mark !== mark) this.past.pop();
      throw fault;
    }
  }

  async undo() {
    const last = this.past.pop();
    if (!last) return;
    this.document = last.document;
    await this.#effect();
  }

  async discard() {
    this.document = structuredClone(this.base);
    this.past = [];
    await this.#effect();
  }

  async #effect() {
    const document = structuredClone(this.document);
    const effect = await tell(`/api/soundings/${this.id}/preview`, { document });
    if (JSON.stringify(document) !== JSON.stringify(this.document)) return;
    this.changed = effect.changed;
    this.recipe = effect.changed.length ? effect.recipe : "";
    this.choices = effect.choices;
    await this.onchange(effect);
  }

  /** Save; a Fault of status 409 tells what somebody else changed meanwhile. */
  async save(author, reason) {
    const document = structuredClone(this.document);
    for (const boundary of document.layers?.boundaries ?? []) {
      if (!boundary.author && boundary.reason === PENDING) Object.assign(boundary, { author, reason });
    }
    await tell(`/api/soundings/${this.id}/recipe`, { document, author, reason, based_on: this.version }, "PUT");
    await this.load();
  }

  async back(to, author, reason) {
    await tell(`/api/soundings/${this.id}/undo`, { to, author, reason, based_on: this.version });
    await this.load();
  }

  /** Put the draft onto the newest version; return the fields that both changed. */
  async rebase() {
    const base = this.base;
    const mine = this.document;
    const past = this.past;
    const found = await ask(`/api/soundings/${this.id}/recipe`);
    const { document, both } = merge(base, mine, found.document);
    this.version = found.version;
    this.versions = found.versions;
    this.base = found.document;
    this.document = document;
    this.past = past.length ? [{ document: structuredClone(found.document), mark: "" }] : [];
    await this.#effect();
    return both;
  }

  /** Tell whether somebody saved a newer version: the version, or null. */
  async newer() {
    const found = await ask(`/api/soundings/${this.id}/recipe`);
    return found.version > this.version ? found.versions[found.versions.length - 1] : null;
  }
}

/* Reason of a boundary that was moved and not saved yet; saving puts the reason of the decision. */
export const PENDING = "moved on the log";
