/* The day: what the record tells of it, what the crew says of it, and the report to hand over. */

import { Fault, ask, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { card, number, table, text } from "/static/sounding/make.js";
import { byField, initials } from "./by.js";
import { strip } from "./strip.js";

export async function day(place, about) {
  const address = new URLSearchParams(location.search);
  let days = await ask(`/api/days${query(address.get("job"))}`);
  let chosen = address.get("day") ?? days.days.at(-1) ?? days.today;
  const head = text("div", "day-head", "");
  const body = text("div", "", "");
  place.replaceChildren(head, body);
  await show();

  function query(job) {
    return job ? `?job=${encodeURIComponent(job)}` : "";
  }

  function at(path) {
    return `/api/days/${chosen}${path}${days.jobs.length > 1 ? query(days.job) : ""}`;
  }

  async function show() {
    const now = new URLSearchParams(location.search);
    now.set("day", chosen);
    history.replaceState(null, "", `/field?${now}`);
    head.replaceChildren(...chooser());
    if (!days.days.includes(chosen)) {
      body.replaceChildren(text("p", "message", say("field.nothingOfDay", { day: chosen })), words(null));
      return;
    }
    draw(await ask(at("")));
  }

  function chooser() {
    const all = [...new Set([...days.days, days.today, chosen])].sort();
    const made = [];
    if (days.jobs.length > 1) {
      made.push(select("job", days.jobs, days.job, async (value) => {
        days = await ask(`/api/days${query(value)}`);
        chosen = days.days.at(-1) ?? days.today;
        const now = new URLSearchParams(location.search);
        now.set("job", value);
        history.replaceState(null, "", `/field?${now}`);
        await show();
      }));
    }
    const step = (by, name) => {
      const key = text("button", "key", say(`field.${name}`));
      const next = all[all.indexOf(chosen) + by];
      key.disabled = next === undefined;
      key.addEventListener("click", async () => {
        chosen = next;
        await show();
        head.querySelector("select[id$=day]").focus();
      });
      return key;
    };
    made.push(step(-1, "earlier"), select("day", all, chosen, async (value) => {
      chosen = value;
      await show();
      head.querySelector("select[id$=day]").focus();
    }), step(1, "later"));
    if (days.days.includes(chosen)) {
      const files = text("div", "day-files", "");
      for (const [name, path] of [["daySheet", "/sheet.pdf"], ["dayBook", "/book.xlsx"]]) {
        const link = text("a", "key", say(`field.${name}`));
        link.href = at(path);
        link.setAttribute("download", "");
        files.append(link);
      }
      made.push(files);
    }
    return made;
  }

  function select(name, options, value, change) {
    const box = text("div", "", "");
    const input = document.createElement("select");
    input.id = `field-${name}`;
    const label = text("label", "", say(`field.${name}Of`));
    label.htmlFor = input.id;
    input.append(...options.map((one) => text("option", "", one)));
    input.value = value;
    input.addEventListener("change", () => change(input.value));
    box.append(label, input);
    return box;
  }

  function draw(found) {
    const verdict = text("section", "verdict", "");
    verdict.dataset.level = "clear";
    verdict.append(text("strong", "", found.head), text("span", "", found.text));
    const cards = text("div", "cards day-cards", "");
    if (found.soundings.length) {
      cards.append(card(say("field.asItWent"), strip(found, body.clientWidth - 36), true), card(say("field.soundings"), soundings(found), true));
      cards.lastChild.classList.add("day-soundings");
    }
    cards.append(card(say("field.diary"), diary(found)), words(found));
    body.replaceChildren(verdict, cards, text("p", "soft local", found.caution));
  }

  function soundings(found) {
    const heads = ["name", "from", "to", "metres", "down", "rods", "tests", "standing", "rate", "alarms", "reason", "hole"];
    const kinds = ["", "number", "number", "number", "number", "number", "number", "number", "number", "number", "", ""];
    return table(heads.map((name) => say(`field.head.${name}`)), found.soundings.map((one) => [
      one.name, one.first_clock, one.last_clock, number(one.metres, 2), minutes(one.pushing),
      say("field.rodsIn", { n: one.rod_changes, minutes: minutes(one.rod_time) }), minutes(one.testing), minutes(one.standing),
      number(one.rate, 1), `${one.alarms.reduce((sum, each) => sum + each.count, 0)}`, one.reason || say("field.notSaid"), holeOf(one),
    ]), kinds);
  }

  function holeOf(one) {
    if (one.closed) {
      return say("field.closedWith", { litres: number(one.grout, 0) });
    }
    const link = text("a", "jump level-caution", say("field.holeOpen"));
    link.href = `/field?part=closing&s=${encodeURIComponent(one.id)}`;
    return link;
  }

  function diary(found) {
    const list = text("ol", "diary", "");
    for (const one of found.diary) {
      const line = text("li", "", "");
      line.append(text("time", "", one.clock), text("strong", "", one.sounding), text("span", "", wordsOf(one)));
      list.append(line);
    }
    return found.diary.length ? list : text("p", "soft", say("field.nothing"));
  }

  function wordsOf(one) {
    const where = one.length === null ? "" : say("field.atDepth", { depth: number(one.length, 2) });
    const long = one.duration === null ? "" : say("field.minutes", { n: minutes(one.duration) });
    const what = [say(`field.kind.${one.kind}`), where, long].filter(Boolean).join(", ");
    return [what, one.text].filter(Boolean).join(": ");
  }

  function words(found) {
    const parts = [];
    for (const [name, lines] of [["weather", found?.weather], ["crew", found?.crew], ["note", found?.notes]]) {
      for (const one of lines ?? []) {
        const line = text("p", "day-word", "");
        line.append(text("span", "soft", `${say(`field.${name}`)} `), one.text);
        parts.push(line);
      }
    }
    if (!parts.length) {
      parts.push(text("p", "soft", say("field.nothingSaid")));
    }
    if (about.mayEdit) {
      parts.push(form());
    }
    return card(say("field.wordsOfDay"), parts);
  }

  function form() {
    const made = text("form", "", "");
    const typed = {};
    for (const [name, tag] of [["weather", "input"], ["crew", "input"], ["note", "textarea"]]) {
      const box = text("div", "field-row whole", "");
      const input = document.createElement(tag);
      input.id = `day-${name}`;
      input.maxLength = 2000;
      input.autocomplete = "off";
      const label = text("label", "", say(`field.${name}`));
      label.htmlFor = input.id;
      typed[name] = input;
      box.append(label, input);
      made.append(box);
    }
    const by = byField("day-by");
    const key = text("button", "key big primary", say("field.keep"));
    key.type = "submit";
    const said = text("p", "said", "");
    said.setAttribute("role", "status");
    const row = text("div", "form-row", "");
    row.append(by.box, key);
    made.append(row, said);
    made.addEventListener("submit", async (event) => {
      event.preventDefault();
      const told = Object.fromEntries(Object.entries(typed).map(([name, input]) => [name, input.value.trim()]));
      if (!Object.values(told).some(Boolean)) {
        said.className = "level-stop said";
        said.textContent = say("field.saySomething");
        typed.weather.focus();
        return;
      }
      try {
        const found = await tell(at(""), { ...told, by: initials() });
        days = await ask(`/api/days${days.jobs.length > 1 ? query(days.job) : ""}`);
        head.replaceChildren(...chooser());
        draw(found);
        const again = body.querySelector("form .said");
        again.textContent = say("field.keptWords");
        body.querySelector("#day-weather").focus();
      } catch (error) {
        if (!(error instanceof Fault)) {
          throw error;
        }
        said.className = "level-stop said";
        said.textContent = error.message;
      }
    });
    return made;
  }

  function minutes(seconds) {
    return seconds === null ? "\u2013" : number(seconds / 60, seconds < 600 && seconds > 0 ? 1 : 0);
  }
}
