/* The layers: units with their names, and boundaries that can be typed, added and taken away. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { minus } from "/static/tracks/value-axis.js";

/** Actions: move(index, depth), add(), remove(index), name(unit, name), search(). */
export function showLayers(panel, found, actions) {
  const focused = panel.contains(document.activeElement) ? document.activeElement.id : "";
  panel.replaceChildren();
  if (!found || !found.units.length) {
    panel.append(text("p", "soft", say("log.noLayers")));
    return;
  }
  panel.append(text("p", "soft", say(found.automatic ? "log.layersFound" : "log.layersSet")));
  const keys = text("div", found.automatic ? "log-one" : "log-pair", "");
  const add = text("button", "key", say("log.layerAdd"));
  add.addEventListener("click", () => actions.add());
  keys.append(add);
  if (!found.automatic) {
    const search = text("button", "key", say("log.layerSearch"));
    search.addEventListener("click", () => actions.search());
    keys.append(search);
  }
  panel.append(keys);
  const list = text("ol", "log-layers", "");
  found.units.forEach((unit, k) => {
    list.append(unitItem(unit, found.parameters, actions));
    if (k < found.boundaries.length) list.append(edgeItem(found, k, actions));
  });
  panel.append(list);
  for (const note of found.notes) panel.append(text("p", "level-caution", note));
  if (focused) document.getElementById(focused)?.focus();
}

function statistics(numbers, headings) {
  const list = text("ul", "log-statistics", "");
  for (const [key, one] of numbers) {
    const values = { name: headings[key], middle: figure(one.p50), low: figure(one.p10), high: figure(one.p90) };
    list.append(text("li", "", say("log.statistic", values)));
  }
  return list;
}

function figure(value) {
  return minus(String(Number(value.toPrecision(3))));
}

function unitItem(unit, headings, actions) {
  const item = text("li", "log-unit", "");
  const id = `unit-${unit.number}`;
  const label = text("label", "", say("log.unit", { number: unit.number, top: unit.top.toFixed(2), base: unit.base.toFixed(2) }));
  label.htmlFor = id;
  const name = document.createElement("input");
  Object.assign(name, { id, type: "text", maxLength: 80, value: unit.name });
  name.disabled = unit.kind !== "ground";
  name.addEventListener("change", () => actions.name(unit, name.value.trim()));
  item.append(label, name);
  const numbers = Object.entries(unit.statistics ?? {}).slice(0, 4);
  if (numbers.length) item.append(statistics(numbers, headings));
  for (const note of unit.notes) item.append(text("p", "soft", note));
  return item;
}

function edgeItem(found, index, actions) {
  const edge = found.boundaries[index];
  const item = text("li", "log-edge", "");
  const id = `edge-${index}`;
  const label = text("label", "", say("log.edge", { number: index + 1 }));
  label.htmlFor = id;
  const depth = document.createElement("input");
  Object.assign(depth, { id, type: "number", step: "0.01", inputMode: "decimal", value: edge.depth.toFixed(2) });
  depth.addEventListener("change", () => actions.move(index, Number(depth.value)));
  const remove = text("button", "key", say("log.edgeRemove"));
  remove.setAttribute("aria-label", say("log.edgeRemoveOne", { number: index + 1, depth: edge.depth.toFixed(2) }));
  remove.addEventListener("click", () => actions.remove(index));
  if (edge.origin === "record") depth.disabled = remove.disabled = true;
  const decided = edge.origin === "set" ? [edge.author, edge.reason].filter(Boolean).join(": ") : "";
  const about = [decided || say(`log.edgeOrigin.${edge.origin}`)];
  if (edge.spread !== null) about.push(say("log.edgeSpread", { spread: edge.spread.toFixed(2) }));
  if (edge.confidence !== null) about.push(say("log.edgeFirm", { share: edge.confidence.toFixed(2) }));
  item.append(label, depth, remove, text("p", "soft", about.join("; ")));
  return item;
}
