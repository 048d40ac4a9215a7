/* Closing the hole: the grout to have ready while numbers are typed, and the record of what went in. */

import { Fault, ask, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { card, level, number, oneAtATime, table, text } from "/static/sounding/make.js";
import { download } from "/static/sounding/download.js";
import { byField, clock, initials } from "./by.js";

/* name in the order, unit shown, factor to the unit inside, step, decimals shown */
const HOLE = [
  ["depth", "m", 1, 0.01, 2],
  ["reducer", "mm", 0.001, 0.1, 1],
  ["water_level", "m", 1, 0.01, 2],
];
const MORE_HOLE = [
  ["tip_area", "cm²", 0.0001, 0.1, 1],
  ["rods", "mm", 0.001, 0.1, 1],
  ["casing_depth", "m", 1, 0.01, 2],
  ["casing", "mm", 0.001, 0.1, 1],
  ["predrilled", "m", 1, 0.01, 2],
  ["predrilled_diameter", "mm", 0.001, 0.1, 1],
];
const GROUT = [
  ["loss", "", 1, 0.05, 2],
  ["batch", "L", 1, 1, 0],
  ["cement_bag", "kg", 1, 0.1, 1],
  ["bentonite_bag", "kg", 1, 0.1, 1],
];
/* name in the record, unit, step, whether it is needed */
const TAKE = [
  ["take", "L", 0.1, true],
  ["lowest", "m", 0.01, false],
  ["density", "kg/L", 0.01, false],
  ["batches", "", 1, false],
  ["top_up", "L", 0.1, false],
];

export async function closing(place, about) {
  const base = `/api/soundings/${encodeURIComponent(about.id)}/closing`;
  if (about.fresh) {
    place.replaceChildren(text("p", "message", say("field.notPushed")));
    return;
  }
  let found = await ask(base);
  const inputs = {};
  const fault = text("p", "level-stop said", "");
  fault.setAttribute("role", "status");
  const answer = text("div", "grout", "");
  answer.setAttribute("aria-live", "polite");
  const work = oneAtATime(async () => {
    try {
      drawPlan(await tell(`${base}/plan`, order()));
      fault.textContent = "";
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      fault.textContent = error.message;
    }
  });

  const record = text("div", "record", "");
  const history = text("div", "", "");
  const form = text("div", "order", "");
  form.append(holeCard(), groutCard(), methodCard());
  const grid = text("div", "field-grid", "");
  const worked = text("div", "worked", "");
  worked.append(fault, answer);
  grid.append(worked, form, record);
  place.replaceChildren(history, grid, text("p", "soft local", found.local));
  drawHistory();
  drawRecord();
  if (found.plan) {
    drawPlan(found.plan);
  } else {
    fault.textContent = say("field.depthNeeded");
  }

  function order() {
    const made = {};
    for (const [name, , factor] of [...HOLE, ...MORE_HOLE, ...GROUT]) {
      const value = inputs[name].value.trim();
      if (value !== "") {
        made[name] = Number((Number(value) * factor).toPrecision(12));
      }
    }
    made.mix = inputs.mix.value;
    made.method = form.querySelector("input[name=method]:checked").value;
    made.artesian = inputs.artesian.checked;
    return made;
  }

  function holeCard() {
    const made = card(say("field.hole"), [fields(HOLE)]);
    const more = document.createElement("details");
    more.append(text("summary", "", say("field.moreHole")), fields(MORE_HOLE));
    made.append(more);
    return made;
  }

  function groutCard() {
    const box = text("div", "field-row whole", "");
    const label = text("label", "", say("field.mix"));
    const mix = document.createElement("select");
    mix.id = "closing-mix";
    label.htmlFor = mix.id;
    for (const one of found.mixes) {
      const option = text("option", "", one.words);
      option.value = one.name;
      mix.append(option);
    }
    mix.value = found.order.mix;
    const source = text("p", "soft", "");
    const tellSource = () => {
      const one = found.mixes.find((each) => each.name === mix.value);
      source.textContent = say("field.mixSource", {
        ratio: one.ratio, density: number(one.density, 2), mark: one.mark, source: one.source || "\u2013",
      });
    };
    tellSource();
    mix.addEventListener("change", () => {
      tellSource();
      work();
    });
    inputs.mix = mix;
    box.append(label, mix);
    const more = document.createElement("details");
    more.append(text("summary", "", say("field.moreGrout")), fields(GROUT));
    return card(say("field.grout"), [box, source, more]);
  }

  function methodCard() {
    const set = document.createElement("fieldset");
    set.className = "methods";
    set.append(text("legend", "visually-hidden", say("field.placing")));
    for (const one of found.methods) {
      const label = text("label", "method", "");
      const input = document.createElement("input");
      input.type = "radio";
      input.name = "method";
      input.value = one.name;
      input.checked = one.name === found.order.method;
      input.addEventListener("change", work);
      const words = text("span", "", "");
      words.append(text("strong", "", one.name), text("span", "soft", one.words));
      label.append(input, words);
      set.append(label);
    }
    const label = text("label", "check", "");
    const input = document.createElement("input");
    input.type = "checkbox";
    input.checked = found.order.artesian;
    input.addEventListener("change", work);
    inputs.artesian = input;
    label.append(input, ` ${say("field.artesian")}`);
    return card(say("field.placing"), [set, label]);
  }

  function fields(rows) {
    const box = text("div", "field-rows", "");
    for (const [name, unit, factor, step, digits] of rows) {
      const row = text("div", "field-row", "");
      const input = document.createElement("input");
      input.type = "number";
      input.inputMode = "decimal";
      input.step = "any";
      input.min = name === "water_level" ? "" : "0";
      input.dataset.step = step;
      input.id = `closing-${name}`;
      const label = text("label", "", unit ? `${say(`field.of.${name}`)} [${unit}]` : say(`field.of.${name}`));
      label.htmlFor = input.id;
      const given = found.order[name];
      if (given !== null && given !== undefined && given !== 0) {
        input.value = Number((given / factor).toFixed(digits));
      }
      const known = found.hole[name];
      if (known !== null && known !== undefined) {
        input.placeholder = number(known / factor, digits);
      }
      const origin = originOf(name, known);
      if (origin) {
        input.setAttribute("aria-describedby", `${input.id}-origin`);
      }
      input.addEventListener("input", work);
      inputs[name] = input;
      row.append(label, input);
      if (origin) {
        const words = text("span", "soft origin", origin);
        words.id = `${input.id}-origin`;
        row.append(words);
      }
      box.append(row);
    }
    return box;
  }

  function originOf(name, known) {
    if (known === null || known === undefined) {
      return "";
    }
    return say(found.hole.assumed.includes(name) ? "field.assumed" : "field.fromRecord");
  }

  function drawPlan(plan) {
    const verdict = text("section", "verdict", "");
    verdict.dataset.level = plan.level;
    verdict.append(text("strong", "", plan.head), text("span", "", plan.text));
    const numbers = text("dl", "big-numbers", "");
    for (const [name, value, unit] of [
      ["planned", number(plan.planned, 0), "L"],
      ["batches", `${plan.batches}`, say("field.times", { batch: number(plan.batch, 0) })],
      ["water", number(plan.water, 1), "kg"],
      ["cement", number(plan.cement, 1), "kg"],
      ["bentonite", number(plan.bentonite, 1), "kg"],
      ["cementBags", `${plan.cement_bags}`, ""],
      ["bentoniteBags", `${plan.bentonite_bags}`, ""],
    ]) {
      const one = text("div", "", "");
      const shown = text("dd", "", value);
      shown.dataset.number = name;
      if (unit) {
        shown.append(text("span", "unit", ` ${unit}`));
      }
      one.append(text("dt", "", say(`field.number.${name}`)), shown);
      numbers.append(one);
    }
    const heads = ["top", "base", "across", "perMetre", "volume"].map((name) => say(`field.bore.${name}`));
    const bores = table(heads, [
      ...plan.bores.map((one) => [number(one.top, 2), number(one.base, 2), number(one.diameter * 1000, 1),
        number(one.per_metre, 2), number(one.volume, 1)]),
      [say("field.bore.sum"), number(plan.depth, 2), "", "", number(plan.hole_volume, 1)],
    ], Array(5).fill("number"));
    const more = document.createElement("details");
    more.append(text("summary", "", say("field.volumes")), bores);
    const sheet = text("button", "key", say(found.closings.length ? "field.recordSheet" : "field.planSheet"));
    sheet.addEventListener("click", () => getSheet(sheet));
    const open = answer.querySelector("details")?.open ?? false;
    more.open = open;
    const box = text("section", "card", "");
    box.append(text("h2", "", say("field.ready")), numbers, ...findings(plan.findings, plan.head), more, sheet);
    answer.replaceChildren(...(found.closings.length ? [] : [verdict]), box);
  }

  function findings(rows, head = "") {
    return rows.map((one) => {
      const line = text("p", "finding", "");
      const source = one.source ? ` (${one.source})` : "";
      const words = head.includes(one.found) ? one.expected : [one.found, one.expected].filter(Boolean).join("; ");
      line.append(level(one.severity), ` ${words}${source}`);
      return line;
    });
  }

  function drawHistory() {
    const last = found.closings.at(-1);
    if (!last) {
      history.replaceChildren();
      if (about.state?.hole_open) {
        const open = text("section", "verdict", "");
        open.dataset.level = "caution";
        open.append(text("strong", "", say("field.holeStillOpen")), text("span", "", say("field.holeStillOpenMore")));
        history.append(open);
      }
      return;
    }
    const verdict = text("section", "verdict", "");
    verdict.dataset.level = last.level;
    verdict.append(text("strong", "", last.head), text("span", "", last.text),
      text("span", "", say("field.recordedAt", { time: clock(last.at) })));
    const older = found.closings.slice(0, -1);
    history.replaceChildren(verdict, ...findings(last.findings), facts(last.closing));
    if (older.length) {
      const more = document.createElement("details");
      more.append(text("summary", "", say("field.older", { n: older.length })),
        ...older.map((one) => text("p", "", `${clock(one.at)}: ${one.text} ${one.head}`)));
      history.append(more);
    }
  }

  function facts(done) {
    const made = text("dl", "recorded", "");
    const rows = [
      ["take", done.take, "L"], ["lowest", done.lowest, "m"], ["density", done.density, "kg/L"],
      ["batches", done.batches, ""], ["top_up", done.top_up, "L"], ["permit", done.permit, ""], ["remark", done.remark, ""],
    ];
    for (const [name, value, unit] of rows) {
      if (value !== null && value !== "") {
        const one = text("div", "", "");
        one.append(text("dt", "", say(`field.take.${name}`)), text("dd", "", `${value} ${unit}`.trim()));
        made.append(one);
      }
    }
    return made;
  }

  function drawRecord() {
    if (!about.mayEdit || !found.in_job) {
      record.replaceChildren(...(found.in_job ? [] : [text("p", "message", say("field.loose"))]));
      return;
    }
    const made = text("form", "", "");
    made.noValidate = true;
    const rows = text("div", "field-rows", "");
    const typed = {};
    for (const [name, unit, , needed] of TAKE) {
      rows.append(row(name, unit, needed, typed));
    }
    for (const name of ["permit", "remark"]) {
      rows.append(row(name, null, false, typed));
    }
    const by = byField("closing-by", say("field.closedBy"));
    const key = text("button", "key big primary", say(found.closings.length ? "field.recordAgain" : "field.record"));
    key.type = "submit";
    const said = text("p", "said", "");
    said.setAttribute("role", "status");
    const last = text("div", "form-row", "");
    last.append(by.box, key);
    made.append(rows, last, said);
    made.addEventListener("submit", (event) => {
      event.preventDefault();
      keep(typed, by, said);
    });
    record.replaceChildren(card(say("field.wentIn"), [made]));
  }

  function row(name, unit, needed, typed) {
    const box = text("div", "field-row", "");
    const input = document.createElement("input");
    input.id = `take-${name}`;
    input.autocomplete = "off";
    if (unit !== null) {
      input.type = "number";
      input.inputMode = "decimal";
      input.step = "any";
    }
    input.required = needed;
    const words = say(`field.take.${name}`);
    const label = text("label", "", unit ? `${words} [${unit}]` : words);
    label.htmlFor = input.id;
    typed[name] = input;
    box.append(label, input);
    return box;
  }

  async function keep(typed, by, said) {
    const missing = [[typed.take, "field.takeFirst"], [by.input, "field.initialsFirst"]]
      .find(([input]) => input.value.trim() === "");
    if (missing) {
      said.className = "level-stop said";
      said.textContent = say(missing[1]);
      missing[0].focus();
      return;
    }
    const take = { by: initials() };
    for (const [name, input] of Object.entries(typed)) {
      if (input.value.trim() !== "") {
        take[name] = input.type === "number" ? Number(input.value) : input.value.trim();
      }
    }
    try {
      found = await tell(base, { order: order(), take });
      await about.changed(about.id);
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      said.className = "level-stop said";
      said.textContent = error.message;
      return;
    }
    drawHistory();
    drawRecord();
    drawPlan(found.plan);
    record.querySelector(".said").textContent = say("field.keptClosing");
    history.scrollIntoView({ block: "start" });
  }

  async function getSheet(key) {
    key.disabled = true;
    try {
      await download(`${base}/sheet.pdf`, order());
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      fault.textContent = error.message;
    } finally {
      key.disabled = false;
    }
  }
}
