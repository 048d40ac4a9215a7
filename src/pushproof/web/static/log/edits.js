/* Settings of the recipe and intervals that are left out, each with its reason. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { minus } from "/static/tracks/value-axis.js";

const SETTINGS = ["water_level", "area_ratio", "predrilled", "gamma_constant"];
const CHANNELS = ["qc", "fs", "u2"];

export class Edits {
  /** Actions: setting(field, value or null), blank(interval), restore(index), mark(on). */
  constructor(panel, actions) {
    this.panel = panel;
    this.actions = actions;
    this.marked = null;
  }

  show(document_) {
    const typed = this.#typed();
    this.panel.replaceChildren();
    this.panel.append(text("h2", "", say("log.settings")));
    for (const field of SETTINGS) this.panel.append(this.#setting(field, document_[field]));
    this.panel.append(text("h2", "", say("log.blankTitle")), this.#form(typed), this.#list(document_.blanked ?? []));
  }

  /** Put a marked interval [m] into the form. */
  setInterval(top, base) {
    this.panel.querySelector("#blank-top").value = top.toFixed(2);
    this.panel.querySelector("#blank-base").value = base.toFixed(2);
  }

  #typed() {
    const read = (id) => this.panel.querySelector(id)?.value ?? "";
    return { top: read("#blank-top"), base: read("#blank-base"), reason: read("#blank-reason") };
  }

  #setting(field, value) {
    const box = text("div", "log-factor", "");
    const label = text("label", "", say(`log.setting.${field}`));
    const input = document.createElement("input");
    Object.assign(input, { id: `setting-${field}`, type: "number", step: "any", inputMode: "decimal" });
    label.htmlFor = input.id;
    input.placeholder = say("log.asStated");
    if (value !== undefined && value !== null) input.value = value;
    input.addEventListener("change", () => this.actions.setting(field, input.value === "" ? null : Number(input.value)));
    box.append(label, input);
    return box;
  }

  #form(typed) {
    const form = text("form", "log-blank", "");
    const mark = text("button", "key", say("log.mark"));
    mark.id = "mark";
    mark.setAttribute("aria-pressed", "false");
    mark.addEventListener("click", () => {
      const on = mark.getAttribute("aria-pressed") !== "true";
      mark.setAttribute("aria-pressed", String(on));
      this.actions.mark(on);
    });
    const pair = text("div", "log-pair", "");
    pair.append(field("blank-top", say("log.blankTop"), typed.top), field("blank-base", say("log.blankBase"), typed.base));
    const channels = document.createElement("fieldset");
    channels.append(text("legend", "", say("log.blankChannels")));
    for (const channel of CHANNELS) channels.append(tick(channel));
    const reason = field("blank-reason", say("log.blankReason"), typed.reason, "text");
    reason.querySelector("input").minLength = 3;
    const put = text("button", "key primary", say("log.blankPut"));
    put.type = "submit";
    form.append(mark, pair, channels, reason, put);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const [a, b] = ["#blank-top", "#blank-base"].map((id) => Number(form.querySelector(id).value));
      const chosen = [...form.querySelectorAll("input[type=checkbox]")].filter((one) => one.checked).map((one) => one.value);
      const interval = { top: Math.min(a, b), base: Math.max(a, b), reason: form.querySelector("#blank-reason").value.trim() };
      if (chosen.length) interval.channels = chosen;
      for (const id of ["#blank-top", "#blank-base", "#blank-reason"]) form.querySelector(id).value = "";
      this.actions.blank(interval);
    });
    return form;
  }

  #list(blanked) {
    const list = text("ul", "log-blanked", "");
    if (!blanked.length) list.append(text("li", "soft", say("log.blankNone")));
    blanked.forEach((one, k) => {
      const row = text("li", "", "");
      const what = one.channels?.length ? one.channels.join(", ") : say("log.blankAll");
      const words = say("log.blankOne", { top: minus(one.top.toFixed(2)), base: minus(one.base.toFixed(2)), what, reason: one.reason });
      const remove = text("button", "key", say("log.blankRemove"));
      remove.setAttribute("aria-label", say("log.blankRemoveOne", { top: one.top.toFixed(2), base: one.base.toFixed(2) }));
      remove.addEventListener("click", () => this.actions.restore(k));
      row.append(text("span", "", words), remove);
      list.append(row);
    });
    return list;
  }
}

function field(id, words, value, type = "number") {
  const box = text("div", "", "");
  const label = text("label", "", words);
  label.htmlFor = id;
  const input = document.createElement("input");
  Object.assign(input, { id, type, required: true, value });
  if (type === "number") Object.assign(input, { step: "0.01", inputMode: "decimal" });
  box.append(label, input);
  return box;
}

function tick(channel) {
  const label = text("label", "log-tick", "");
  const input = document.createElement("input");
  Object.assign(input, { type: "checkbox", value: channel });
  label.append(input, ` ${channel}`);
  return label;
}
