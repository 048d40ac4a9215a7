/* The relations and factors of the recipe; a choice shows its effect at once. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { lowered } from "/static/log/values.js";
import { setSymbol } from "/static/tracks/heading.js";

/** Actions: method(field, name, column), factor(field, value or null). */
export function showMethods(panel, choices, actions) {
  const open = panel.querySelector("details")?.open ?? false;
  const focused = panel.contains(document.activeElement) ? document.activeElement.id : "";
  const scroll = panel.scrollTop;
  panel.replaceChildren();
  panel.append(text("p", "soft", say("log.methodsExplain")));
  for (const one of choices.methods) panel.append(method(one, actions));
  const more = document.createElement("details");
  more.open = open;
  more.append(text("summary", "", say("log.factors")));
  for (const one of choices.factors) more.append(factor(one, actions));
  panel.append(more);
  panel.scrollTop = scroll;
  if (focused) document.getElementById(focused)?.focus();
}

function method(one, actions) {
  const box = text("div", "log-method", "");
  const id = `method-${one.field}`;
  const label = document.createElement("label");
  label.htmlFor = id;
  const symbol = text("span", "log-symbol", "");
  setSymbol(symbol, lowered(one.symbol));
  label.append(`${one.title}, `, symbol);
  const select = document.createElement("select");
  select.id = id;
  for (const option of one.options) {
    const made = text("option", "", option.name === one.usual ? say("log.usual", { name: option.title }) : option.title);
    made.value = option.name;
    made.selected = option.name === one.chosen;
    select.append(made);
  }
  const about = text("p", "log-about soft", "");
  about.id = `${id}-about`;
  select.setAttribute("aria-describedby", about.id);
  const chosen = one.options.find((option) => option.name === one.chosen);
  if (chosen?.formula) about.append(text("span", "log-formula", chosen.formula));
  if (chosen?.source) about.append(text("span", "", `${chosen.source} ${chosen.where} (${chosen.mark})`));
  if (chosen?.validity) about.append(text("span", "", say("log.validity", { text: chosen.validity })));
  select.addEventListener("change", () => actions.method(one.field, select.value === one.usual ? null : select.value, one.column));
  box.append(label, select, about);
  if (one.chosen !== one.usual) box.classList.add("changed");
  return box;
}

function factor(one, actions) {
  const box = text("div", "log-factor", "");
  const id = `factor-${one.field}`;
  const label = text("label", "", `${one.field}, ${one.text}`);
  label.htmlFor = id;
  const input = document.createElement("input");
  Object.assign(input, { id, type: "number", step: "any", inputMode: "decimal" });
  input.placeholder = say("log.assumedValue", { value: one.value });
  if (one.given !== null) input.value = one.given;
  input.addEventListener("change", () => actions.factor(one.field, input.value === "" ? null : Number(input.value)));
  box.append(label, input);
  return box;
}
