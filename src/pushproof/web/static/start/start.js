/* The start page: the soundings that are served, on a plan and in a table, and a place for files. */

import { ask, start, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { intake } from "/static/intake/intake.js";
import { level } from "/static/sounding/make.js";
import { record } from "/static/start/record.js";
import { plan } from "/static/start/plan.js";

/* How often the state of what is being pushed is asked again [ms]. */
const AGAIN = 5000;
const RUNS = ["here", "elsewhere"];
/* Ids of the soundings that are being pushed. */
let pushed = [];

const me = await start({ page: "start", title: say("start.title") });
record(document.getElementById("verify"), document.getElementById("proved"));
await draw();
setInterval(again, AGAIN);
if (me.role !== "view") {
  document.getElementById("bring").hidden = false;
  intake(document.getElementById("intake"), draw);
}

async function draw() {
  const site = await ask("/api/site");
  const table = document.getElementById("soundings");
  table.hidden = site.soundings.length === 0;
  // one file holds them all: its name on every row would say nothing
  const oneFile = site.is_job;
  table.querySelector("[data-say='start.file']").hidden = oneFile;
  document.getElementById("record").hidden =
    !oneFile && !site.soundings.some((one) => one.is_job);
  document.getElementById("none").hidden = site.soundings.length > 0;
  document.getElementById("all").hidden = site.soundings.length === 0;
  table.tBodies[0].replaceChildren(...site.soundings.map((one) => row(one, oneFile)));
  const unread = document.getElementById("unread");
  unread.hidden = site.unread.length === 0;
  unread.querySelector("ul").replaceChildren(
    ...site.unread.map((one) => text("li", "", `${one.file}: ${one.fault}`)));
  document.getElementById("plan").replaceChildren();
  tellField((await ask("/api/field")).soundings);
  const summaries = [];
  for (const one of site.soundings) {
    const summary = one.waiting ? null : await summarise(one.id);
    if (summary) summaries.push(summary);
  }
  const place = document.getElementById("plan");
  place.replaceChildren(plan(summaries, place.clientWidth));
  pushed = summaries.filter((one) => RUNS.includes(one.recording)).map((one) => one.id);
}

async function summarise(id) {
  try {
    const summary = await ask(`/api/soundings/${encodeURIComponent(id)}/summary`);
    complete(id, summary);
    return { ...summary, id };
  } catch (error) {
    complete(id, { fault: error.message });
    return null;
  }
}

/** Tell again how those stand that are being pushed. */
async function again() {
  if (document.hidden) return;
  for (const id of [...pushed]) {
    const summary = await summarise(id);
    if (summary && !RUNS.includes(summary.recording)) pushed.splice(pushed.indexOf(id), 1);
  }
}

/* What the crew has left to do: a hole that is open, a sounding that is not pushed yet. */
function tellField(soundings) {
  for (const one of soundings) {
    const made = document.querySelector(`tr[data-id="${CSS.escape(one.id)}"]`);
    if (made && one.hole_open) {
      const link = text("a", "jump level-caution", say("start.holeOpen"));
      link.href = `/field?part=closing&s=${encodeURIComponent(one.id)}`;
      link.setAttribute("aria-label", say("start.closeHole", { name: one.name }));
      made.querySelector(".crew").replaceChildren(link);
    } else if (made && one.waiting) {
      const link = text("a", "jump", say("start.notPushed", { n: one.open_before }));
      link.href = `/field?part=checklist&s=${encodeURIComponent(one.id)}`;
      made.querySelector(".crew").replaceChildren(link);
      made.querySelector(".state").replaceChildren();
      for (const cell of made.querySelectorAll(".depth, .tests")) {
        cell.textContent = "\u2013";
      }
    }
  }
}

function row(one, oneFile) {
  const made = document.createElement("tr");
  made.dataset.id = one.id;
  const name = document.createElement("td");
  const link = text("a", "key", one.name);
  const which = `s=${encodeURIComponent(one.id)}`;
  link.href = one.waiting ? `/field?part=checklist&${which}` : `/log?${which}`;
  link.setAttribute("aria-label", say(one.waiting ? "start.checklist" : "start.open", { name: one.name }));
  name.append(link);
  const pages = text("td", "", "");
  const links = text("div", "start-pages", "");
  pages.append(links);
  for (const page of one.waiting ? [] : ["proof", "dissipation", "equipment", "report"]) {
    const other = text("a", "", say(`start.${page}`));
    other.href = `/${page}?s=${encodeURIComponent(one.id)}`;
    links.append(other);
  }
  const file = text("td", "file", one.file);
  file.hidden = oneFile;
  const state = text("td", "", "");
  state.append(text("div", "state soft", say("start.reading")), text("div", "crew", ""));
  made.append(name, text("td", "number depth", "…"), state,
    text("td", "number tests", ""), file, pages);
  return made;
}

function complete(id, summary) {
  const made = document.querySelector(`tr[data-id="${CSS.escape(id)}"]`);
  if (!made) {
    return;
  }
  made.querySelector(".depth").textContent = summary.depth == null ? "–" : summary.depth.toFixed(2);
  made.querySelector(".tests").textContent = summary.tests ?? "–";
  const state = made.querySelector(".state");
  state.classList.remove("soft");
  if (summary.fault) {
    state.replaceChildren(level("caution"), `: ${summary.fault}`);
    return;
  }
  const parts = [];
  if (RUNS.includes(summary.recording)) parts.push(text("span", "pushed", say("start.pushed")));
  if (summary.recording === "interrupted") parts.push(text("span", "level-caution", say("start.interrupted")));
  const about = document.createElement("span");
  if (summary.empty) about.append(say("start.empty"));
  else if (summary.worst && summary.worst !== "info") about.append(level(summary.worst), `: ${summary.words}`);
  else about.append(text("span", "level-info", summary.words));
  parts.push(about);
  state.replaceChildren(...parts.flatMap((part, k) => (k ? [", ", part] : [part])));
}
