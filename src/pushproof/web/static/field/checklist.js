/* The checklist of the day: what is done, by whom and when. A tick is a fact; nothing is unticked. */

import { Fault, ask, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { text } from "/static/sounding/make.js";
import { byField, clock, initials } from "./by.js";

const SIGNS = { open: "\u25CB", done: "\u2713", "in doubt": "\u25C6" };

export async function checklist(place, about) {
  const address = about.fresh ? "/api/checklist" : `/api/soundings/${encodeURIComponent(about.id)}/checklist`;
  let found = await ask(address);
  const may = about.mayEdit && found.in_job;
  const head = text("section", "verdict", "");
  const said = text("p", "said", "");
  said.setAttribute("role", "status");
  const by = byField("checklist-by");
  const lists = text("div", "tick-lists", "");
  const row = text("div", "by-row", "");
  row.append(...(may ? [by.box] : []), said);
  place.replaceChildren(head, row, lists);
  if (!found.in_job) {
    said.textContent = say("field.loose");
  }
  draw();

  function draw() {
    headline();
    lists.replaceChildren(...["before", "after"].map(list));
  }

  function headline() {
    const before = found.lines.filter((one) => one.when === "before");
    const open = before.filter((one) => one.state === "open").length;
    const doubts = found.lines.filter((one) => one.state === "in doubt");
    head.dataset.level = doubts.length ? "stop" : open ? "caution" : "clear";
    const words = doubts.length ? say("field.doubts", { n: doubts.length })
      : open ? say("field.openBefore", { n: open, all: before.length }) : say("field.allBefore", { all: before.length });
    head.replaceChildren(text("strong", "", words), text("span", "", found.local));
  }

  function list(when) {
    const section = text("section", "", "");
    const lines = found.lines.filter((one) => one.when === when);
    const done = lines.filter((one) => one.state === "done").length;
    const title = text("h2", "", say(`field.${when}`));
    title.append(text("span", "soft count", say("field.count", { done, all: lines.length })));
    const items = text("ol", "ticks", "");
    items.append(...lines.map(item));
    section.append(title, items);
    return section;
  }

  function item(one) {
    const made = text("li", "tick", "");
    made.dataset.item = one.item;
    made.dataset.state = one.state;
    const [short, ...rest] = one.words.split(":");
    const words = text("div", "tick-words", "");
    const name = text("p", "tick-name", "");
    name.append(text("strong", "", short), rest.length ? `:${rest.join(":")}` : "");
    words.append(name);
    if (one.caution) {
      words.append(text("p", "tick-caution level-caution", one.caution));
    }
    words.append(text("p", "tick-state", stateOf(one)));
    made.append(words);
    if (may) {
      made.append(keys(one, short, made));
    }
    return made;
  }

  function stateOf(one) {
    const word = say(`field.state.${one.state === "in doubt" ? "doubt" : one.state}`);
    if (one.state === "open") {
      return `${SIGNS.open} ${word}`;
    }
    const note = one.note ? `: ${one.note}` : "";
    return `${SIGNS[one.state]} ${word}, ${one.by}, ${clock(one.at)}${note}`;
  }

  function keys(one, short, made) {
    const box = text("div", "tick-keys", "");
    if (one.state !== "done") {
      const done = text("button", "key big primary", say("field.done"));
      done.setAttribute("aria-label", say("field.doneOf", { item: short }));
      done.dataset.does = "done";
      done.addEventListener("click", () => keep(one, "done", ""));
      box.append(done);
    }
    const doubt = text("button", "key", say("field.doubt"));
    doubt.setAttribute("aria-label", say("field.doubtOf", { item: short }));
    doubt.dataset.does = "doubt";
    doubt.addEventListener("click", () => why(one, short, made));
    box.append(doubt);
    return box;
  }

  /* A doubt says why; so may what is done. */
  function why(one, short, made) {
    made.querySelector(".tick-why")?.remove();
    const form = text("form", "tick-why", "");
    const input = document.createElement("textarea");
    input.id = `why-${one.item}`;
    input.rows = 2;
    input.maxLength = 2000;
    const label = text("label", "", say("field.why", { item: short }));
    label.htmlFor = input.id;
    const keys_ = text("div", "form-row", "");
    for (const [name, kind] of [["keepDoubt", "danger"], ["keepDone", ""], ["back", ""]]) {
      const key = text("button", `key ${kind}`, say(`field.${name}`));
      key.addEventListener("click", () => {
        if (name === "back") {
          form.remove();
          made.querySelector("[data-does=doubt]").focus();
        } else {
          keep(one, name === "keepDoubt" ? "doubt" : "done", input.value);
        }
      });
      keys_.append(key);
    }
    form.addEventListener("submit", (event) => event.preventDefault());
    form.append(label, input, keys_);
    made.append(form);
    input.focus();
  }

  async function keep(one, how, note) {
    if (!initials()) {
      tellFault(say("field.initialsFirst"));
      by.input.focus();
      return;
    }
    const body = { by: initials(), [how]: [one.item], note };
    try {
      const first = found.id === null;
      found = first
        ? await tell("/api/checklist", { ...body, sounding: about.name })
        : await tell(`/api/soundings/${encodeURIComponent(found.id)}/checklist`, body);
      await about.changed(found.id);
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      tellFault(error.message);
      return;
    }
    draw();
    said.className = "said";
    said.textContent = say(how === "done" ? "field.keptDone" : "field.keptDoubt", { item: one.words.split(":")[0] });
    next(one.item).focus();
  }

  /* The key that a crew needs next: that of the next open item, else that of this one. */
  function next(item_) {
    const all = [...lists.querySelectorAll(".tick")];
    const at = all.findIndex((one) => one.dataset.item === item_);
    const open = [...all.slice(at + 1), ...all.slice(0, at)].find((one) => one.dataset.state === "open");
    return (open ?? all[at]).querySelector("button");
  }

  function tellFault(words) {
    said.className = "level-stop said";
    said.textContent = words;
  }
}
