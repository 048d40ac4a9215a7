/* The decisions so far: who, when, why and what, the newest first, and the way back. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

export function showDecisions(panel, versions, actions) {
  panel.replaceChildren();
  if (versions.length < 2) panel.append(text("p", "soft", say("log.noDecisions")));
  const list = text("ol", "log-decisions", "");
  [...versions].reverse().forEach((one, k) => {
    const item = text("li", "", "");
    if (one.number === 0) item.append(text("strong", "", say("log.versionStart")));
    else {
      item.append(text("strong", "", say("log.version", { number: one.number })), text("p", "", one.reason));
      const when = one.time ? new Date(one.time).toLocaleString([], { dateStyle: "medium", timeStyle: "short" }) : "";
      item.append(text("p", "soft", [one.author, when].filter(Boolean).join(", ")));
      item.append(changeList(one.changed));
    }
    if (k && actions.editable) {
      const back = text("button", "key", say("log.back"));
      back.setAttribute("aria-label", say("log.backTo", { number: one.number }));
      back.addEventListener("click", () => actions.back(one.number));
      item.append(back);
    }
    list.append(item);
  });
  panel.append(list);
}

const METHODS = new Map();

/** Learn the words of the relations, so that a change of one reads as words. */
export function nameMethods(choices) {
  for (const method of choices.methods) {
    for (const option of method.options) METHODS.set(option.name, option.title);
  }
}

/** What changed, field by field, in words. */
function changeList(changed) {
  const list = text("ul", "log-changes", "");
  for (const one of changed) list.append(text("li", "", changeWords(one)));
  return list;
}

export function changeWords({ field, before, after }) {
  const name = fieldWords(field);
  if (field === "layers") return layerWords(after);
  if (Array.isArray(before) || Array.isArray(after)) return listWords(name, before ?? [], after ?? []);
  return say("log.change", { name, before: plain(before), after: plain(after) });
}

function layerWords(layers) {
  if (!layers) return say("log.changeSearch");
  const depths = (layers.boundaries ?? []).map((one) => one.depth.toFixed(2)).join(", ");
  return say("log.changeLayers", { depths });
}

function listWords(name, before, after) {
  const text_ = (one) => JSON.stringify(one);
  const old = new Set(before.map(text_));
  const now = new Set(after.map(text_));
  const added = after.filter((one) => !old.has(text_(one)));
  const removed = before.filter((one) => !now.has(text_(one)));
  const parts = [];
  if (added.length) parts.push(say("log.changeAdded", { what: added.map(entry).join("; ") }));
  if (removed.length) parts.push(say("log.changeRemoved", { what: removed.map(entry).join("; ") }));
  return `${name}: ${parts.join(", ") || say("log.changeOrder")}`;
}

function entry(one) {
  if (one.top !== undefined && one.base !== undefined && one.top !== null) {
    return `${Number(one.top).toFixed(2)} to ${Number(one.base).toFixed(2)} m`;
  }
  if (one.depth !== undefined) return `${Number(one.depth).toFixed(2)} m${one.name ? ` ${one.name}` : ""}`;
  return one.kind ?? JSON.stringify(one);
}

function fieldWords(field) {
  const last = field.split(".").pop();
  return last.replaceAll("_", " ");
}

function plain(value) {
  if (value === null || value === undefined) return say("log.notGiven");
  if (typeof value === "object") return say("log.given");
  return METHODS.get(value) ?? String(value);
}
