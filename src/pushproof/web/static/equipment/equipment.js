/* The equipment page: cone, rods, rig, encoder; zeros; calibrations and what is left of them. */

import { ask, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { card, drawOrTell, labelled, number, orTell, status, table, text } from "/static/sounding/make.js";
import { soundingLinks, soundingOf } from "/static/sounding/links.js";

const id = encodeURIComponent(soundingOf());
const me = await start({ page: "start", title: say("equipment.title") });
const place = document.getElementById("equipment");
/* Trade words, unit shown and factor to it. */
const FIELDS = Object.fromEntries(
  ["tip_area:cm²:10000", "sleeve_area:cm²:10000", "tip_diameter:mm:1000", "sleeve_diameter:mm:1000",
    "tip_to_mid_sleeve:mm:1000", "area_ratio::1", "friction_reducer:m:1", "outer_diameter:mm:1000",
    "inner_diameter:mm:1000", "length:m:1", "mass:kg:1", "thrust:kN:1", "stroke:m:1",
    "metres_per_count:mm:1000", "uncertainty:%:100"].map((line) => {
    const [name, unit, factor] = line.split(":");
    return [name, [name.replaceAll("_", " "), unit, Number(factor)]];
  }),
);

await drawOrTell(place, draw);

async function draw() {
  const found = await ask(`/api/soundings/${id}/equipment`);
  if (!document.querySelector(".sounding-links")) {
    soundingLinks("equipment", found.name);
    document.title = `${found.name} · ${document.title}`;
  }
  const cards = text("div", "cards", "");
  cards.append(
    card(say("equipment.calibrations"), calibrations(found), true),
    card(say("equipment.zeros"), zeros(found), true),
  );
  const parts = text("div", "cards narrow", "");
  for (const kind of ["cone", "rods", "rig", "encoder"]) {
    parts.append(card(say(`equipment.${kind}`), facts(found[kind])));
  }
  place.replaceChildren(cards, parts);
}

function facts(document_) {
  if (!document_ || !Object.keys(document_).length) {
    return text("p", "soft", say("equipment.unknown"));
  }
  const made = text("dl", "facts", "");
  for (const [name, value] of Object.entries(document_)) {
    const words = FIELDS[name] ?? [name.replaceAll("_", " "), "", 1];
    const shown = typeof value === "number" && words[2]
      ? `${Number((value * words[2]).toPrecision(6))} ${words[1]}`
      : `${value}`;
    made.append(text("dt", "", words[0]), text("dd", "", shown));
  }
  return made;
}

function calibrations(found) {
  const parts = [];
  if (found.calibrations.length) {
    parts.push(table(
      [say("equipment.channel"), say("equipment.date"), say("equipment.certificate"),
        say("equipment.capacity"), say("equipment.uncertainty"), say("equipment.age"),
        say("equipment.left")],
      found.calibrations.map((one) => [
        one.channel,
        one.date,
        [one.laboratory, one.certificate].filter(Boolean).join(", ") || "–",
        one.capacity === undefined ? "–" : `${one.capacity} ${one.unit}`,
        one.uncertainty === undefined ? "–" : `${one.uncertainty} ${one.unit}`,
        one.age_at_push === null ? "–" : say("equipment.days", { n: one.age_at_push }),
        left(one.days_left),
      ]),
    ));
  } else {
    parts.push(text("p", "level-caution", say("equipment.noCalibration")));
  }
  parts.push(text("p", "soft", say("equipment.life", { n: found.life })));
  if (found.in_job && me.role !== "view") {
    parts.push(calibrationForm());
  }
  return parts;
}

function left(days) {
  return days >= 0
    ? text("span", "", say("equipment.days", { n: days }))
    : text("span", "level-caution", say("equipment.over", { n: -days }));
}

function zeros(found) {
  if (!found.zeros.length) {
    return text("p", "level-caution", say("equipment.noZeros"));
  }
  const kinds = ["", "", "number", "number", "number", "number"];
  const shifts = table(
    [say("proof.channel"), say("proof.unit"), say("proof.before"), say("proof.after"), say("proof.shift"), say("proof.percent")],
    found.zeros.map((z) => [z.symbol, z.unit, number(z.before, 2), number(z.after, 2),
      number(z.shift, 2, true), number(z.percent, 2, true)]),
    kinds,
  );
  const readings = table(
    [say("equipment.moment"), say("equipment.channel"), say("equipment.value"),
      say("equipment.spread"), say("equipment.count"), say("equipment.temperature")],
    found.readings.map((one) => [one.moment, one.channel, number(one.value, 2),
      number(one.spread, 2), one.count === undefined ? "–" : `${one.count}`,
      one.temperature === undefined ? "–" : `${number(one.temperature, 1)} °C`]),
  );
  return [shifts, text("h3", "apart", say("equipment.readings")), readings];
}

function calibrationForm() {
  const form = document.createElement("form");
  form.className = "form-row";
  const inputs = {};
  for (const [name, type] of [["channel", "text"], ["date", "date"], ["capacity", "number"],
    ["uncertainty", "number"], ["laboratory", "text"], ["certificate", "text"]]) {
    const input = document.createElement("input");
    input.id = `calibration-${name}`;
    input.type = type;
    if (type === "number") {
      input.step = "any";
    }
    input.required = name === "channel" || name === "date";
    inputs[name] = input;
    form.append(labelled(say(`equipment.${name}`), input));
  }
  const key = text("button", "key primary", say("equipment.add"));
  key.type = "submit";
  const answer = status();
  form.append(key, answer);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = {};
    for (const [name, input] of Object.entries(inputs)) {
      if (input.value !== "") {
        body[name] = input.type === "number" ? Number(input.value) : input.value;
      }
    }
    await orTell(answer, async () => {
      await tell(`/api/soundings/${id}/calibrations`, body);
      await draw();
    });
  });
  return form;
}
