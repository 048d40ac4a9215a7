/* Which tracks are shown: those of the sheet, or any quantity of the sounding. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

const KEY = "log-tracks";
const GROUPS = ["log", "derived", "record"];
const MOST = 10;

export class TrackSheet {
  constructor(page) {
    this.page = page;
    this.sheet = document.getElementById("tracks-sheet");
    document.getElementById("tracks-done").addEventListener("click", () => this.sheet.close());
    document.getElementById("tracks-usual").addEventListener("click", () => this.#usual());
    this.sheet.addEventListener("close", () => {
      document.getElementById("choose-tracks").setAttribute("aria-expanded", "false");
    });
  }

  /** The tracks chosen last on this device, or null. */
  kept() {
    const kept = localStorage.getItem(KEY);
    return kept ? kept.split(",") : null;
  }

  open() {
    const box = document.getElementById("tracks-choices");
    box.replaceChildren();
    for (const group of GROUPS) {
      const choices = this.page.log.choices.filter((one) => one.group === group);
      if (!choices.length) continue;
      const set = document.createElement("fieldset");
      set.append(text("legend", "", say(`log.group.${group}`)));
      for (const one of choices) set.append(this.#tick(one));
      box.append(set);
    }
    document.getElementById("choose-tracks").setAttribute("aria-expanded", "true");
    this.sheet.showModal();
  }

  #tick(one) {
    const label = text("label", "log-tick", "");
    const input = document.createElement("input");
    Object.assign(input, { type: "checkbox", value: one.name, checked: this.page.names.includes(one.name) });
    input.addEventListener("change", () => this.#change(input));
    label.append(input, ` ${one.title}`);
    return label;
  }

  async #change(input) {
    const { page } = this;
    const order = page.log.choices.map((one) => one.name);
    let names = page.names.filter((name) => name !== input.value);
    if (input.checked) {
      names = [...names, input.value].slice(-MOST);
      names.sort((a, b) => order.indexOf(a) - order.indexOf(b));
    }
    if (!names.length) {
      input.checked = true;
      return;
    }
    await this.#take(names);
  }

  async #take(names) {
    this.page.names = names;
    localStorage.setItem(KEY, names.join(","));
    await this.page.showTracks();
  }

  async #usual() {
    localStorage.removeItem(KEY);
    this.page.names = this.page.log.usual;
    await this.page.showTracks();
    this.sheet.close();
  }
}
