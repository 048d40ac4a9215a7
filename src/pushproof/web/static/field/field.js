/* The field page: the checklist, closing the hole and the day; one place for the hands of the crew. */

import { ask, start } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { drawOrTell, text } from "/static/sounding/make.js";
import { checklist } from "./checklist.js";
import { closing } from "./closing.js";
import { day } from "./day.js";

const PARTS = { checklist, closing, day };
const NEW = "\u2026";

const me = await start({ page: "field", title: say("field.title") });
const mayEdit = me.role === "edit" || me.role === "control";
const place = document.getElementById("field");
const address = new URLSearchParams(location.search);
const bar = text("div", "field-bar", "");
const part = text("div", "field-part", "");
place.replaceChildren(bar, part);
document.querySelector("main").classList.add("field");

let site = null;
/* the sounding by its id; a new one by its name, as it is not in the job yet */
let chosen = address.get("s") ?? "";
let fresh = "";
let shown = Object.hasOwn(PARTS, address.get("part") ?? "") ? address.get("part") : "";

await drawOrTell(place, async () => {
  await look();
  const named = address.get("name");
  if (named) {
    chosen = site.soundings.find((one) => one.name === named)?.id ?? "";
    fresh = chosen || !site.takes_new || !mayEdit ? "" : named.slice(0, 80);
  }
  const last = site.soundings.findLast((one) => !one.recording) ?? site.soundings.at(-1);
  chosen ||= fresh ? "" : last?.id ?? "";
  shown ||= mine()?.hole_open ? "closing" : "checklist";
  await show();
});

function mine() {
  return site.soundings.find((one) => one.id === chosen);
}

/* The soundings of the field record; those of loose files have none, but may have a hole. */
async function look() {
  const [found, all] = await Promise.all([ask("/api/field"), ask("/api/site")]);
  const loose = all.soundings.filter((one) => !one.is_job);
  site = { ...found, soundings: [...found.soundings, ...loose] };
}

async function show() {
  bar.replaceChildren(parts(), choice());
  keepAddress();
  const here = mine();
  document.title = [here?.name ?? fresh, say(`field.${shown}`), say("shell.name")].filter(Boolean).join(" \u00B7 ");
  const about = {
    id: chosen, name: here?.name ?? fresh, fresh: fresh !== "", mayEdit, state: here,
    changed: async (id) => {
      [chosen, fresh] = [id ?? chosen, ""];
      await look();
      bar.replaceChildren(parts(), choice());
      keepAddress();
    },
  };
  if (shown !== "day" && !chosen && !fresh) {
    part.replaceChildren(text("p", "message", say(site.takes_new && mayEdit ? "field.noneYet" : "field.none")));
    return;
  }
  await drawOrTell(part, () => PARTS[shown](part, about));
}

function keepAddress() {
  const now = new URLSearchParams({ part: shown });
  if (chosen) {
    now.set("s", chosen);
  }
  const day_ = new URLSearchParams(location.search).get("day");
  if (shown === "day" && day_) {
    now.set("day", day_);
  }
  history.replaceState(null, "", `/field?${now}`);
}

function parts() {
  const nav = text("nav", "field-parts", "");
  nav.setAttribute("aria-label", say("field.parts"));
  const here = mine();
  const left = {
    checklist: leftOf(here),
    closing: here?.hole_open ? say("field.holeOpen") : here?.closed ? say("field.holeClosed") : "",
    day: "",
  };
  for (const name of Object.keys(PARTS)) {
    const link = text("a", "", "");
    link.href = `/field?part=${name}${chosen ? `&s=${encodeURIComponent(chosen)}` : ""}`;
    link.append(text("span", "", say(`field.${name}`)));
    if (left[name]) {
      const sign = name === "closing" && here.hole_open ? "level-caution" : "soft";
      link.append(text("span", `part-left ${sign}`, left[name]));
    }
    if (name === shown) {
      link.setAttribute("aria-current", "page");
    }
    link.addEventListener("click", async (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey) {
        return;
      }
      event.preventDefault();
      shown = name;
      await show();
      bar.querySelector("[aria-current=page]").focus();
    });
    nav.append(link);
  }
  return nav;
}

function leftOf(here) {
  if (here?.open_before === undefined) {
    return "";
  }
  const open = here.pushed ? here.open_before + here.open_after : here.open_before;
  return open ? say("field.open", { n: open }) : say("field.nothingOpen");
}

/* Which sounding: those here, or a new one by its name. */
function choice() {
  const box = text("div", "field-choice", "");
  if (shown === "day") {
    return box;
  }
  const label = text("label", "", say("field.sounding"));
  const input = document.createElement("select");
  input.id = "field-sounding";
  label.htmlFor = input.id;
  for (const one of site.soundings) {
    const state = one.recording ? say("field.recording") : one.hole_open ? say("field.holeOpen") : "";
    const option = text("option", "", [one.name, state].filter(Boolean).join(" \u00B7 "));
    option.value = one.id;
    input.append(option);
  }
  if (!site.soundings.length) {
    input.append(text("option", "", ""));
  }
  const may = shown === "checklist" && site.takes_new && mayEdit;
  if (may) {
    const option = text("option", "", fresh || say("field.new"));
    option.value = NEW;
    input.append(option);
  }
  input.value = fresh ? NEW : chosen;
  const field = newName();
  input.addEventListener("change", async () => {
    if (input.value === NEW) {
      field.hidden = false;
      field.querySelector("input").focus();
      return;
    }
    [chosen, fresh] = [input.value, ""];
    await show();
    document.getElementById("field-sounding").focus();
  });
  field.hidden = !(may && (!site.soundings.length || fresh));
  box.append(label, input, field);
  return box;
}

function newName() {
  const form = text("form", "field-new", "");
  const input = document.createElement("input");
  input.id = "field-new-name";
  input.maxLength = 80;
  input.autocomplete = "off";
  input.required = true;
  input.value = fresh;
  const label = text("label", "", say("field.newName"));
  label.htmlFor = input.id;
  const key = text("button", "key", say("field.begin"));
  key.type = "submit";
  form.append(label, input, key);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const name = input.value.trim();
    const known = site.soundings.find((one) => one.name === name);
    [chosen, fresh] = known ? [known.id, ""] : ["", name];
    await show();
  });
  return form;
}
