/*
 * Every value at the cursor with unit and origin: the equivalent of the curves in text. A value is
 * a button that explains it.
 */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { setSymbol } from "/static/tracks/heading.js";

const GROUPS = ["measured", "corrected", "stress", "derived", "record", "position"];

export class Values {
  /** Actions: go(depth) reads another depth, explain(key, depth). */
  constructor(panel, actions) {
    this.panel = panel;
    this.actions = actions;
    this.rows = new Map();
    this.shape = "";
    const form = text("form", "log-depth", "");
    const label = text("label", "", say("log.depth"));
    label.htmlFor = "cursor-depth";
    this.input = document.createElement("input");
    Object.assign(this.input, { id: "cursor-depth", type: "number", step: "0.01", inputMode: "decimal" });
    const read = text("button", "key", say("log.read"));
    read.type = "submit";
    form.append(label, this.input, read);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const depth = Number(this.input.value);
      if (this.input.value && Number.isFinite(depth)) actions.go(depth);
    });
    this.where = text("p", "log-where", say("log.noCursor"));
    this.table = document.createElement("table");
    this.table.className = "log-values";
    this.table.append(text("caption", "visually-hidden", say("log.valuesCaption")));
    panel.append(form, this.where, this.table);
  }

  /** Show a reading of the server, or that there is none. */
  show(reading) {
    if (!reading) return;
    this.reading = reading;
    if (document.activeElement !== this.input) this.input.value = reading.depth.toFixed(2);
    const depth = reading.depth.toFixed(3);
    this.where.textContent = reading.row === null
      ? say("log.nothingHere", { depth })
      : say("log.where", { depth, row: reading.row + 1, origin: reading.origin });
    const keys = Object.keys(reading.values).join();
    if (keys !== this.shape) this.#build(reading.values);
    this.shape = keys;
    for (const [key, row] of this.rows) this.#fill(row, reading.values[key]);
  }

  #build(values) {
    this.rows.clear();
    for (const body of [...this.table.tBodies]) body.remove();
    for (const group of GROUPS) {
      const keys = Object.keys(values).filter((key) => values[key].kind === group);
      if (!keys.length) continue;
      const body = document.createElement("tbody");
      const head = text("th", "", say(`log.kind.${group}`));
      head.colSpan = 2;
      head.scope = "rowgroup";
      const first = document.createElement("tr");
      first.append(head);
      body.append(first);
      for (const key of keys) body.append(this.#row(key, values[key]));
      this.table.append(body);
    }
  }

  #row(key, value) {
    const row = document.createElement("tr");
    const name = text("th", "log-value-name", "");
    name.scope = "row";
    const button = text("button", "log-value", "");
    const symbol = text("span", "log-symbol", "");
    setSymbol(symbol, lowered(value.symbol));
    button.append(symbol, text("span", "soft", value.name));
    button.addEventListener("click", () => this.actions.explain(key, this.reading.depth));
    name.append(button);
    const cell = text("td", "log-value-cell", "");
    const number = text("span", "log-number", "");
    const origin = text("span", "log-origin", "");
    cell.append(number, origin);
    row.append(name, cell);
    this.rows.set(key, { row, button, number, origin, explained: ["measured", "corrected", "stress", "derived"].includes(value.kind) });
    button.disabled = !this.rows.get(key).explained;
    return row;
  }

  #fill({ number, origin }, value) {
    if (!value) return;
    const unit = value.unit === "-" ? "" : ` ${value.unit}`;
    number.textContent = value.shown === null ? "\u2013" : `${value.text}${unit}`;
    const assumed = value.assumed ? `\u25C7 ${say("log.assumed")}; ` : "";
    origin.textContent = value.shown === null ? value.reason : `${assumed}${value.origin}`;
  }
}

/** One line for the cursor of the tracks: what a screen reader says. */
export function says(reading) {
  if (reading.row === null) return say("log.nothingHere", { depth: reading.depth.toFixed(2) });
  const told = ["qc", "qt", "fs", "u2", "Rf", "Ic", "zone"]
    .filter((key) => reading.values[key] && reading.values[key].shown !== null)
    .map((key) => {
      const value = reading.values[key];
      return `${value.symbol} ${value.text}${value.unit === "-" ? "" : ` ${value.unit}`}`;
    });
  return say("log.says", { depth: reading.depth.toFixed(2), values: told.join(", ") });
}

/** "qt" as "q_{t}": the first letter stands, the rest is lowered, as on the sheets. */
export function lowered(symbol) {
  const match = /^([A-Za-z\u0370-\u03FF]['\u2032]?)([a-z0-9]+)$/.exec(symbol);
  return match && !["zone", "group", "clamp", "engine"].includes(symbol) ? `${match[1]}_{${match[2]}}` : symbol;
}
