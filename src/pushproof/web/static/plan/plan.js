/* The plan page: can this rig push there? Worked out by the server while a slider moves. */

import { Fault, ask, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { download } from "/static/sounding/download.js";
import { level, list, number, oneAtATime, orTell, svg, table, text } from "/static/sounding/make.js";

await start({ page: "plan", title: say("plan.title") });
const site = await ask("/api/site");
site.soundings = site.soundings.filter((one) => !one.waiting);
const place = document.getElementById("plan");

/* name, where it goes in the plan, least, most, step, first value, unit shown, factor to inside */
const SLIDES = [
  ["target", "target", 2, 60, 0.5, 20, "m", 1],
  ["mass", "rig.mass", 1000, 25000, 250, 9000, "t", 1, 1000],
  ["thrust", "rig.thrust", 20, 250, 5, 100, "kN", 1],
  ["anchors", "anchors.count", 0, 8, 1, 2, "", 1],
  ["torque", "anchors.torque", 0.5, 12, 0.25, 3, "kN·m", 1],
  ["reducer", "rods.reducer", 0, 50, 1, 48, "mm", 0.001],
  ["free", "rig.free_length", 0, 3, 0.1, 1.2, "m", 1],
];
const values = Object.fromEntries(SLIDES.map((one) => [one[0], one[5]]));
let layers = [
  { soil: "clay", base: 8, qc: 0.5 },
  { soil: "sand", base: 20, qc: 12 },
];
/* What is wrong with a sounding that cannot show the ground yet: one that is only just begun. */
const faults = await unusable();
const near = new Set(site.soundings.map((one) => one.id).filter((one) => !faults.has(one)));
const answer = text("div", "", "");
const told = text("div", "plan-verdict", "");
told.setAttribute("role", "status");
const fault = text("p", "level-stop", "");
fault.setAttribute("role", "status");
const work = oneAtATime(() => orTell(fault, async () => {
  draw(await tell("/api/plan", document_()));
  fault.textContent = "";
}));

const left = text("div", "", "");
left.append(ground(), sliders(), fault);
const grid = text("div", "plan-grid", "");
grid.append(left, answer);
place.replaceChildren(told, grid);
work();

async function unusable() {
  const found = new Map();
  await Promise.all(site.soundings.map(async ({ id }) => {
    try {
      await ask(`/api/soundings/${encodeURIComponent(id)}/summary`);
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      found.set(id, error.message);
    }
  }));
  return found;
}

function document_() {
  const plan = { rig: {}, anchors: {}, rods: {} };
  for (const [name, path, , , , , , factor] of SLIDES) {
    const [part, field] = path.includes(".") ? path.split(".") : [null, path];
    if (name === "reducer" && values.reducer === 0) {
      continue;
    }
    (part ? plan[part] : plan)[field] = values[name] * factor;
  }
  if (values.anchors === 0) {
    delete plan.anchors;
  }
  if (!near.size) {
    let top = 0;
    plan.layers = layers.map((one) => {
      const layer = { top, base: one.base, soil: one.soil, qc: one.qc * 1000 };
      top = one.base;
      return layer;
    });
  }
  return { plan, near: [...near] };
}

function ground() {
  const box = text("section", "card", "");
  box.append(text("h2", "", say("plan.ground")));
  const typed = text("div", "", "");
  if (site.soundings.length) {
    const choices = text("fieldset", "", "");
    choices.append(text("legend", "", say("plan.near")));
    for (const one of site.soundings) {
      const label = text("label", "check", "");
      const input = document.createElement("input");
      input.type = "checkbox";
      input.checked = near.has(one.id);
      input.disabled = faults.has(one.id);
      label.title = faults.get(one.id) ?? "";
      input.addEventListener("change", () => {
        near[input.checked ? "add" : "delete"](one.id);
        typed.hidden = near.size > 0;
        work();
      });
      const words = faults.has(one.id) ? say("plan.notYet", { name: one.name }) : one.name;
      label.append(input, ` ${words}`);
      choices.append(label);
    }
    box.append(choices);
  }
  typed.hidden = near.size > 0;
  layered(typed);
  box.append(typed);
  return box;
}

/* Layers typed by hand, where no sounding nearby is taken. */
function layered(box) {
  const rows = layers.map((one, k) => {
    const soil = document.createElement("select");
    soil.setAttribute("aria-label", say("plan.soilOf", { n: k + 1 }));
    for (const name of ["peat", "clay", "silt", "fill", "sand", "gravel"]) {
      soil.append(text("option", "", name));
    }
    soil.value = one.soil;
    soil.addEventListener("change", () => {
      one.soil = soil.value;
      work();
    });
    return [soil, entry(one, "base", say("plan.baseOf", { n: k + 1 })),
      entry(one, "qc", say("plan.qcOf", { n: k + 1 }))];
  });
  const more = text("button", "key", say("plan.more"));
  more.addEventListener("click", () => {
    const last = layers.at(-1);
    layers.push({ soil: last.soil, base: last.base + 5, qc: last.qc });
    layered(box);
    work();
  });
  const less = text("button", "key", say("plan.less"));
  less.disabled = layers.length < 2;
  less.addEventListener("click", () => {
    layers = layers.slice(0, -1);
    layered(box);
    work();
  });
  const keys = text("div", "form-row", "");
  keys.append(more, less);
  box.replaceChildren(table([say("plan.soil"), say("plan.base"), say("plan.qc")], rows), keys);
}

function entry(layer, name, words) {
  const input = document.createElement("input");
  input.type = "number";
  input.step = "any";
  input.min = "0";
  input.size = 6;
  input.value = layer[name];
  input.setAttribute("aria-label", words);
  input.addEventListener("change", () => {
    layer[name] = Number(input.value);
    work();
  });
  return input;
}

function sliders() {
  const box = text("section", "card", "");
  box.append(text("h2", "", say("plan.rig")));
  const slides = text("div", "slides", "");
  for (const [name, , least, most, step, , unit, , shownBy = 1] of SLIDES) {
    const row = text("div", "slide", "");
    const digits = (String(step * (1 / shownBy)).split(".")[1] ?? "").length;
    const label = text("label", "", say(`plan.${name}`));
    const input = document.createElement("input");
    input.type = "range";
    input.id = `plan-${name}`;
    label.htmlFor = input.id;
    input.min = least;
    input.max = most;
    input.step = step;
    input.value = values[name];
    const shown = document.createElement("output");
    const tellValue = () => {
      const words = name === "reducer" && values[name] === 0
        ? say("plan.none") : `${number(values[name] / shownBy, digits)} ${unit}`;
      shown.textContent = words;
      input.setAttribute("aria-valuetext", words);
    };
    input.addEventListener("input", () => {
      values[name] = Number(input.value);
      tellValue();
      work();
    });
    tellValue();
    row.append(label, shown, input);
    slides.append(row);
  }
  box.append(slides);
  return box;
}

function draw(found) {
  const verdict = text("section", "verdict", "");
  const chance = found.probability_of_target;
  verdict.dataset.level = chance >= 0.9 ? "clear" : chance >= 0.5 ? "caution" : "stop";
  const [head, ...rest] = found.verdict.split(/[;,] /);
  verdict.append(text("strong", "", head), text("span", "", rest.join("; ")));
  const forces = text("p", "", say("plan.force", {
    force: number(found.available_kN, 0), by: found.governed_by,
    total: number(found.reaction.total_kN, 0),
  }));
  const options = table(
    [say("plan.option"), say("plan.available"), say("plan.chance"), say("plan.even"), say("plan.verdict")],
    found.options.map((one) => [
      one.words, `${number(one.available_kN, 0)} kN`, `${number(one.probability_of_target * 100, 0)} %`,
      one.even_odds_m === null ? say("plan.beyond") : `${number(one.even_odds_m, 1)} m`,
      [one.planned ? say("plan.planned") : "", one.closes ? `✓ ${say("plan.closes")}` : ""].filter(Boolean).join(", "),
    ]),
    ["", "number", "number", "number", ""],
  );
  const remarks = text("div", "", "");
  for (const one of found.findings) {
    const line = text("p", "", "");
    line.append(level(one.severity), ` ${one.found}. ${one.expected}`);
    remarks.append(line);
  }
  const sheet = text("button", "key", say("plan.sheet"));
  sheet.addEventListener("click", () => set(sheet));
  const cards = text("div", "cards", "");
  const first = text("section", "card wide", "");
  first.append(text("h2", "", say("plan.thrustTitle")), plot(found), forces);
  const second = text("section", "card wide", "");
  second.append(text("h2", "", say("plan.options")), options, remarks);
  const third = text("section", "card wide", "");
  third.append(text("h2", "", say("plan.assumed")), list(found.assumptions.map((one) => `◇ ${one}`)),
    text("p", "soft", found.note), sheet);
  cards.append(first, second, third);
  told.replaceChildren(verdict);
  answer.replaceChildren(cards);
}

const WIDTH = 760;
const HEIGHT = 430;
const BOX = { left: 52, top: 40, right: WIDTH - 20, bottom: HEIGHT - 12 };

function plot(found) {
  const rows = found.along;
  const most = nice(Math.max(found.available_kN * 1.15, ...rows.map((one) => one.thrust_kN)));
  const deep = found.target_m;
  const x = (force) => BOX.left + (Math.min(force, most) / most) * (BOX.right - BOX.left);
  const y = (depth) => BOX.top + (depth / deep) * (BOX.bottom - BOX.top);
  const picture = svg("svg", {
    class: "thrust-plot", viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img",
    "aria-label": say("plan.plotLabel", { verdict: found.verdict }),
  });
  for (let k = 0; k <= 4; k += 1) {
    const [force, depth] = [(most * k) / 4, (deep * k) / 4];
    picture.append(
      svg("line", { class: "grid", x1: x(force), x2: x(force), y1: BOX.top, y2: BOX.bottom }),
      svg("line", { class: "grid", x1: BOX.left, x2: BOX.right, y1: y(depth), y2: y(depth) }),
      letter(x(force), BOX.top - 8, `${Math.round(force)}`),
      letter(BOX.left - 8, y(depth) + 4, `${Math.round(depth * 10) / 10}`, "end"),
    );
  }
  const path = (key) => rows.map((one) => `${x(one[key]).toFixed(1)},${y(one.depth_m).toFixed(1)}`);
  picture.append(
    svg("polygon", { class: "range", points: [...path("low_kN"), ...path("high_kN").reverse()].join(" ") }),
    svg("polyline", { class: "tip", points: path("tip_kN").join(" ") }),
    svg("polyline", { class: "thrust", points: path("thrust_kN").join(" ") }),
    svg("polyline", { class: "ended", points: rows.map((one) =>
      `${(BOX.left + one.ended * (BOX.right - BOX.left)).toFixed(1)},${y(one.depth_m).toFixed(1)}`).join(" ") }),
    svg("line", {
      class: "limit", x1: x(found.available_kN), x2: x(found.available_kN), y1: BOX.top, y2: BOX.bottom,
    }),
    svg("rect", {
      class: "frame", x: BOX.left, y: BOX.top, width: BOX.right - BOX.left, height: BOX.bottom - BOX.top,
    }),
    letter(BOX.right, 11, say("plan.axis"), "end"),
  );
  const box = text("figure", "plot", "");
  box.append(picture, keys());
  return box;
}

/* What each line of the plot is. */
function keys() {
  const caption = document.createElement("figcaption");
  const made = text("ul", "thrust-keys soft", "");
  for (const name of ["thrust", "range", "tip", "limit", "ended"]) {
    const sign = svg("svg", { width: 36, height: 14, "aria-hidden": "true" });
    sign.append(name === "range"
      ? svg("rect", { class: name, x: 0, y: 0, width: 36, height: 14 })
      : svg("line", { class: name, x1: 0, x2: 36, y1: 7, y2: 7 }));
    const item = document.createElement("li");
    item.append(sign, say(`plan.keys.${name}`));
    made.append(item);
  }
  caption.append(made);
  return caption;
}

function nice(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 2, 4, 5, 8, 10].map((step) => step * power).find((step) => step >= value);
}

function letter(x, y, words, anchor = "middle") {
  const made = svg("text", { x, y, "text-anchor": anchor });
  made.textContent = words;
  return made;
}

async function set(key) {
  key.disabled = true;
  await orTell(fault, async () => {
    await download("/api/plan/sheet.pdf", document_());
    fault.textContent = "";
  });
  key.disabled = false;
}
