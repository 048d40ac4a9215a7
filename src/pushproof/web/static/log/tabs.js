/* Tabs of the side: arrow keys move between them, each shows one panel. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

export class Tabs {
  constructor(list, panels, names) {
    this.list = list;
    this.panels = new Map();
    for (const name of names) {
      const tab = text("button", "log-tab", say(`log.tab.${name}`));
      tab.id = `tab-${name}`;
      tab.setAttribute("role", "tab");
      tab.setAttribute("aria-controls", `panel-${name}`);
      const panel = text("div", "log-panel", "");
      panel.id = `panel-${name}`;
      panel.setAttribute("role", "tabpanel");
      panel.setAttribute("aria-labelledby", tab.id);
      panel.tabIndex = 0;
      list.append(tab);
      panels.append(panel);
      this.panels.set(name, { tab, panel });
      tab.addEventListener("click", () => this.show(name));
    }
    list.addEventListener("keydown", (event) => this.#key(event, names));
    this.show(names[0]);
  }

  panel(name) {
    return this.panels.get(name).panel;
  }

  show(name) {
    this.shown = name;
    for (const [key, { tab, panel }] of this.panels) {
      const on = key === name;
      tab.setAttribute("aria-selected", String(on));
      tab.tabIndex = on ? 0 : -1;
      panel.hidden = !on;
    }
  }

  /** Put a count behind the name of a tab. */
  count(name, number) {
    const { tab } = this.panels.get(name);
    tab.textContent = number ? `${say(`log.tab.${name}`)} ${number}` : say(`log.tab.${name}`);
  }

  #key(event, names) {
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!step) return;
    event.preventDefault();
    const next = names[(names.indexOf(this.shown) + step + names.length) % names.length];
    this.show(next);
    this.panels.get(next).tab.focus();
  }
}
