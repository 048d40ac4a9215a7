/* The explanation of one number: equations with its numbers, sources, assumed values, band. */

import { ask, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { minus } from "/static/tracks/value-axis.js";
import { setSymbol } from "/static/tracks/heading.js";
import { lowered } from "/static/log/values.js";

export async function showExplanation(panel, source, key, depth, back) {
  const found = await ask(`/api/soundings/${source.id}/explain?${source.query({ key, depth: depth.toFixed(4) })}`);
  panel.replaceChildren();
  const close = text("button", "key", say("log.backToValues"));
  close.addEventListener("click", back);
  panel.append(close, head(found));
  if (found.reason) panel.append(message(`${found.reason}${found.refused ? `: ${found.refused}` : ""}`, "caution"));
  if (found.ground) panel.append(text("p", "soft", found.ground));
  if (found.band) panel.append(band(found));
  if (found.assumptions.length) panel.append(listed(say("log.assumedHere"), found.assumptions, "log-assumed"));
  if (found.measured.length) panel.append(measured(found.measured));
  const steps = text("ol", "log-steps", "");
  for (const link of found.links) steps.append(step(link));
  panel.append(text("h2", "", say("log.chain")), steps, text("p", "soft", say("log.estimates")));
  close.focus();
}

function head(found) {
  const box = text("div", "log-explained", "");
  const name = text("h2", "", "");
  const symbol = text("span", "log-symbol", "");
  setSymbol(symbol, lowered(found.symbol));
  name.append(symbol, ` ${found.name}`);
  const unit = found.display_unit === "-" ? "" : ` ${found.display_unit}`;
  const number = found.value === null ? say("log.noValue") : `${minus(found.display)}${unit}`;
  box.append(name, text("p", "log-big", number), text("p", "soft", say("log.atDepth", { depth: found.depth.toFixed(3), row: found.row + 1 })));
  return box;
}

function band(found) {
  const factor = found.value && Number(found.display) ? Number(found.display) / found.value : 1;
  const show = (value) => minus(Number((value * factor).toPrecision(3)).toString());
  const unit = found.display_unit === "-" ? "" : ` ${found.display_unit}`;
  const { band: one } = found;
  const box = text("section", "log-band", "");
  const values = { low: show(one.p10), middle: show(one.p50), high: show(one.p90), unit };
  box.append(text("h2", "", say("log.band")), text("p", "log-band-line", say("log.bandLine", values)));
  const parts = text("ul", "", "");
  parts.append(
    text("li", "", say("log.bandMeasured", { low: show(one.measurement[0]), high: show(one.measurement[1]), unit })),
    text("li", "", say("log.bandRelation", { low: show(one.relation[0]), high: show(one.relation[1]), unit })),
  );
  for (const line of [...one.measured_by, ...one.related_by]) parts.append(text("li", "soft", line));
  for (const name of one.unknown) parts.append(text("li", "level-caution", say("log.bandUnknown", { name })));
  box.append(parts, text("p", "soft", say("log.bandWithout", { what: one.not_in_it })));
  return box;
}

function measured(inputs) {
  const box = text("section", "", "");
  const table = document.createElement("table");
  for (const one of inputs) table.append(input(one));
  box.append(text("h2", "", say("log.readings")), table);
  return box;
}

function input(one) {
  const row = document.createElement("tr");
  const shown = one.unit === "m" ? one.value?.toFixed(3) : figure(one.value ?? 0);
  const value = one.value === null ? say("log.noValue") : `${minus(shown)} ${one.unit === "-" ? "" : one.unit}`;
  const where = one.step ? say("log.fromStep", { step: one.step }) : one.origin;
  row.append(
    text("th", "", one.label ? `${one.name}, ${one.label}` : one.name),
    text("td", "number", value),
    text("td", one.assumed ? "log-assumed" : "soft", `${one.assumed ? "\u25C7 " : ""}${where}`),
  );
  return row;
}

function step(link) {
  const item = text("li", "", "");
  item.append(text("p", "log-formula", minus(link.formula)));
  if (link.substituted) item.append(text("p", "log-formula log-put", minus(link.substituted)));
  const unit = link.unit === "-" ? "" : ` ${link.unit}`;
  const result = link.value === null ? say("log.noValue") : `${link.gives} = ${minus(figure(link.value))}${unit}`;
  item.append(text("p", "log-result", result));
  if (link.note) item.append(text("p", "level-caution", link.note));
  const table = document.createElement("table");
  for (const one of link.inputs) table.append(input(one));
  const more = document.createElement("details");
  more.append(text("summary", "", say("log.stepMore")), table);
  if (link.source) more.append(text("p", "", [link.source, link.where].filter(Boolean).join(" ")));
  for (const [name, value] of [["check", link.check], ["validity", link.validity], ["scatter", link.scatter]]) {
    if (value) more.append(text("p", "soft", say(`log.${name}`, { text: value })));
  }
  item.append(more);
  return item;
}

function listed(title, lines, kind) {
  const box = text("section", "", "");
  const list = text("ul", kind, "");
  for (const line of lines) list.append(text("li", "", line));
  box.append(text("h2", "", title), list);
  return box;
}

function message(words, level) {
  const box = text("p", "message", words);
  box.dataset.level = level;
  return box;
}

function figure(value) {
  const shown = Math.abs(value) >= 1e5 || (value && Math.abs(value) < 1e-3) ? value.toExponential(3) : Number(value.toPrecision(6));
  return String(shown);
}
