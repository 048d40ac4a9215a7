/* The findings with their numbers on the rail, and what was observed elsewhere; each jumps to its depth. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { minus } from "/static/tracks/value-axis.js";

export function showFindings(panel, log, jump) {
  panel.replaceChildren();
  const findings = log.findings;
  panel.append(text("p", "soft", findings.length ? say("log.findingsCount", { count: findings.length }) : say("log.noFindings")));
  const list = text("ol", "log-findings", "");
  for (const one of findings) list.append(item(one, jump));
  panel.append(list, classes(log.classes));
  if (log.observed.length) panel.append(observed(log.observed, jump));
}

function observed(found, jump) {
  const box = text("section", "log-classes", "");
  box.append(text("h2", "", say("log.observed")));
  const list = text("ol", "log-findings", "");
  for (const one of found) {
    const row = text("li", "", "");
    const button = text("button", "log-finding log-observed", "");
    const words = text("span", "log-finding-words", "");
    words.append(text("strong", "", `${say(`log.observedKind.${one.kind}`)} ${minus(one.value)}`));
    // a water level is its own depth
    if (one.kind !== "water") words.append(text("span", "soft", say("log.jump", { where: minus(one.where) })));
    const from = [one.test, one.source].filter(Boolean).join(", ");
    if (from) words.append(text("span", "soft", from));
    const sign = text("span", "log-sign", one.kind === "layer" ? "\u2504" : "\u25CB");
    sign.setAttribute("aria-hidden", "true");
    button.append(sign, words);
    button.addEventListener("click", () => jump(one.kind === "water" ? { ...one, top: one.at, base: one.at } : one));
    row.append(button);
    list.append(row);
  }
  box.append(list);
  return box;
}

function item(one, jump) {
  const row = text("li", "", "");
  row.id = `finding-${one.number}`;
  const placed = one.top !== null;
  const button = text(placed ? "button" : "div", "log-finding", "");
  const sign = text("span", `log-sign level-${one.severity}`, `${one.number}`);
  sign.setAttribute("aria-label", say("log.findingSign", { number: one.number, severity: say(`log.severity.${one.severity}`) }));
  const words = text("span", "log-finding-words", "");
  words.append(text("strong", "", minus(one.found)));
  if (one.where) words.append(text("span", "soft", placed ? say("log.jump", { where: one.where }) : one.where));
  if (one.expected) words.append(text("span", "", minus(one.expected)));
  if (one.source) words.append(text("span", "soft", one.source));
  button.append(sign, words);
  if (placed) button.addEventListener("click", () => jump(one));
  row.append(button);
  return row;
}

function classes(found) {
  const box = text("section", "log-classes", "");
  box.append(text("h2", "", say("log.classes")));
  for (const one of found) {
    const more = document.createElement("details");
    const achieved = one.achieved === null ? say("log.noClass") : say(one.proved ? "log.classProved" : "log.classAtBest", { name: one.achieved });
    const summary = text("summary", "", `${one.scheme}: `);
    summary.append(text("strong", "", achieved));
    const list = text("ul", "", "");
    for (const verdict of one.verdicts) list.append(text("li", "", minus(verdict.text)));
    more.append(summary, list);
    box.append(more);
  }
  return box;
}

/** Show one of the findings, by its number. */
export function pointAt(panel, numbers) {
  for (const old of panel.querySelectorAll(".pointed")) old.classList.remove("pointed");
  numbers.forEach((number, k) => {
    const row = panel.querySelector(`#finding-${number}`);
    row?.classList.add("pointed");
    if (!k) {
      row?.scrollIntoView({ block: "nearest" });
      row?.querySelector("button")?.focus();
    }
  });
}
