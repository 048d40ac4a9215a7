/* Layer boundaries of the draft: moved on the tracks or typed, added, taken away, named. */

import { ask, Fault } from "/static/shell.js";
import { PENDING } from "/static/log/draft.js";
import { showLayers } from "/static/log/layers.js";

export class LayerEdits {
  constructor(page) {
    this.page = page;
    this.found = null;
    this.at = [];
    this.turn = 0;
    this.typing = false;
    this.#listen(page.tabs.panel("layers"));
  }

  /** Notice when a field is being typed in: from its focus until it is done or left. */
  #listen(panel) {
    const typing = (on) => (event) => {
      if (event.target.tagName === "INPUT") this.typing = on;
    };
    panel.addEventListener("focusin", typing(true));
    panel.addEventListener("input", typing(true));
    panel.addEventListener("change", typing(false));
    panel.addEventListener("focusout", () => {
      this.typing = false;
      setTimeout(() => this.late(), 300);
    });
  }

  /** Show what came while a boundary was in a hand, or a depth was being typed. */
  async late() {
    if (!this.waiting || this.page.working) return;
    this.waiting = false;
    try {
      await this.show();
    } catch (fault) {
      if (!(fault instanceof Fault)) throw fault;
      this.waiting = true;
    }
  }

  /**
   * Read the layers of the draft and show them, on the tracks and in the table. What is in a hand
   * or being typed is numbered as it was when that began, so it is shown when that is done.
   */
  async show() {
    const { page } = this;
    this.turn += 1;
    const { turn } = this;
    const query = page.draft.recipe ? `?recipe=${page.draft.recipe}` : "";
    const found = await ask(`/api/soundings/${page.id}/layers${query}`);
    if (turn !== this.turn) return;
    this.waiting = page.view.handles.drag !== null || this.typing;
    if (this.waiting) return;
    this.found = found;
    const edges = this.found.boundaries;
    this.at = edges.map((edge, k) => (edge.origin === "record" ? -1 : k)).filter((k) => k >= 0);
    page.view.setUnits(named(this.found.units));
    page.view.setBoundaries(this.at.map((k) => edges[k].depth), page.editable);
    showLayers(page.tabs.panel("layers"), this.found, {
      move: (index, depth) => this.move(this.at.indexOf(index), depth),
      add: () => this.add(),
      remove: (index) => this.#edit((list) => list.splice(this.at.indexOf(index), 1)),
      name: (unit, name) => this.#name(unit, name),
      search: () => page.change((document_) => delete document_.layers),
    });
    this.typing = false; // the field has its focus again, but nothing was typed in it yet
  }

  /** Move the boundary of a handle; moves of one handle in a row are undone together. */
  move(index, depth) {
    return this.#edit((list) => {
      list[index] = { depth, reason: PENDING };
    }, `boundary ${index}`);
  }

  /** Add a boundary at the cursor, else in the middle of the window. */
  add() {
    const { view } = this.page;
    const depth = view.reading?.depth ?? (view.axis.top + view.axis.base) / 2;
    return this.#edit((list) => list.push({ depth: Math.round(depth * 100) / 100, reason: PENDING }));
  }

  /** Edit the list of boundaries; boundaries found by the search become decisions first. */
  #edit(edit, mark = "") {
    return this.page.change((document_) => {
      const layers = structuredClone(document_.layers ?? {});
      if (!layers.boundaries) layers.boundaries = structuredClone(this.found.choice.boundaries);
      edit(layers.boundaries);
      layers.boundaries.sort((a, b) => a.depth - b.depth);
      document_.layers = layers;
    }, mark);
  }

  #name(unit, name) {
    const depth = Math.round(((unit.top + unit.base) / 2) * 1000) / 1000;
    return this.page.change((document_) => {
      const layers = structuredClone(document_.layers ?? {});
      const others = (layers.names ?? []).filter((one) => one.depth < unit.top || one.depth >= unit.base);
      layers.names = name ? [...others, { depth, name }] : others;
      document_.layers = layers;
    });
  }
}


/** The units as they are named beside the soil column; null leaves that to the zones. */
function named(units) {
  const ground = units.filter((unit) => unit.kind === "ground");
  if (!ground.length) return null;
  return ground.map(({ top, base, name }) => ({ top, base, words: name, main: name.split(" / ")[0] }));
}
