/* The report page: log, report, tables and exchange files, built and downloaded. */

import { ask, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { card, labelled, list, orTell, status, text } from "/static/sounding/make.js";
import { download } from "/static/sounding/download.js";
import { soundingLinks, soundingOf } from "/static/sounding/links.js";

const id = soundingOf();
await start({ page: "start", title: say("report.title") });
const place = document.getElementById("report");
const [site, formats] = await Promise.all([ask("/api/site"), ask("/api/formats")]);
site.soundings = site.soundings.filter((one) => !one.waiting);
const mine = site.soundings.find((one) => one.id === id);
if (mine) {
  soundingLinks("report", mine.name);
  document.title = `${mine.name} · ${document.title}`;
}
const cards = text("div", "cards", "");
cards.append(reportCard());
if (mine) {
  cards.append(singleCard(), exportCard());
}
place.replaceChildren(site.soundings.length ? cards : text("p", "message", say("report.none")));

function reportCard() {
  const form = document.createElement("form");
  const choices = text("fieldset", "", "");
  choices.append(text("legend", "", say("report.soundings")));
  for (const one of site.soundings) {
    const label = text("label", "check", "");
    const input = document.createElement("input");
    input.type = "checkbox";
    input.value = one.id;
    input.checked = !mine || one.id === id;
    label.append(input, ` ${one.name}`);
    choices.append(label);
  }
  const paper = select(say("report.paper"), [["A4", "A4"], ["Letter", "Letter"]]);
  const key = text("button", "key primary", say("report.build"));
  key.type = "submit";
  const answer = status();
  form.append(choices, paper.box, key, answer);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const ids = [...choices.querySelectorAll("input:checked")].map((input) => input.value);
    build("/api/report", { soundings: ids, paper: paper.input.value }, answer, key);
  });
  return card(say("report.reportTitle"), [text("p", "soft", say("report.reportWords")), form]);
}

function singleCard() {
  const row = text("div", "form-row", "");
  const base = `/api/soundings/${encodeURIComponent(id)}`;
  for (const [words, address] of [
    [say("report.log"), `${base}/log.pdf`],
    ["CSV", `${base}/table/csv`],
    ["Excel", `${base}/table/xlsx`],
    ["JSON", `${base}/table/json`],
  ]) {
    const link = text("a", "key", words);
    link.href = address;
    link.setAttribute("download", "");
    row.append(link);
  }
  return card(say("report.singleTitle"), row);
}

function exportCard() {
  const chosen = select(say("report.format"), formats.map((one) => [one.name, one.title]));
  const fields = text("div", "fields", "");
  const told = text("div", "", "");
  const key = text("button", "key primary", say("report.export"));
  const answer = status();
  const more = document.createElement("details");
  const address = () => `/api/soundings/${encodeURIComponent(id)}/export/${chosen.input.value}`;
  const given = () => ({
    fields: Object.fromEntries([...fields.querySelectorAll("input")]
      .filter((input) => input.value.trim())
      .map((input) => [input.name, input.value.trim()])),
  });

  async function check() {
    told.replaceChildren();
    await orTell(answer, async () => {
      const found = await tell(`${address()}/check`, given());
      const needed = found.missing.filter((one) => one.required);
      if (needed.length) {
        const box = text("div", "message", say("report.needed"));
        box.dataset.level = "caution";
        box.append(list(needed.map((one) => one.words)));
        told.append(box);
      }
      const lost = document.createElement("details");
      lost.append(
        text("summary", "", say("report.lost", { n: found.losses.length })),
        list(found.losses.map((one) => `${one.what} (${one.why})`)),
      );
      told.append(found.losses.length ? lost : text("p", "", say("report.nothingLost")));
      more.open = more.open || needed.length > 0;
      key.disabled = needed.length > 0;
    });
  }

  function ask_() {
    const format = formats.find((one) => one.name === chosen.input.value);
    fields.replaceChildren();
    for (const field of format.fields) {
      const input = document.createElement("input");
      input.name = field.name;
      input.id = `field-${field.name}`;
      input.placeholder = field.default;
      input.addEventListener("change", check);
      fields.append(labelled(field.words, input));
    }
    check();
  }

  chosen.input.addEventListener("change", ask_);
  key.addEventListener("click", () => build(address(), given(), answer, key));
  more.append(text("summary", "", say("report.fields")), fields);
  ask_();
  return card(say("report.exportTitle"), [chosen.box, more, told, key, answer], true);
}

function select(words, options) {
  const input = document.createElement("select");
  input.id = `choice-${Math.random().toString(36).slice(2)}`;
  for (const [value, shown] of options) {
    const option = text("option", "", shown);
    option.value = value;
    input.append(option);
  }
  return { box: labelled(words, input, "p"), input };
}

/* Build a file and tell how it went. */
async function build(address, body, answer, key) {
  answer.className = "soft";
  answer.textContent = say("report.building");
  key.disabled = true;
  await orTell(answer, async () => {
    answer.textContent = say("report.done", { name: await download(address, body) });
  }).finally(() => {
    key.disabled = false;
  });
}
