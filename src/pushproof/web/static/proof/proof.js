/* The proof page: may this log be relied on, and for what. */

import { ask, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import {
  card, drawOrTell, labelled, level, list, number, orTell, status, table, text,
} from "/static/sounding/make.js";
import { soundingLinks, soundingOf } from "/static/sounding/links.js";
import { hasMemory, memory } from "/static/proof/memory.js";
import { depthPlot, originPlot, ratePlot } from "/static/proof/plots.js";

const id = encodeURIComponent(soundingOf());
const me = await start({ page: "start", title: say("proof.title") });
const place = document.getElementById("proof");
await drawOrTell(place, () => draw());

async function draw(said = "") {
  const proof = await ask(`/api/soundings/${id}/proof`);
  if (!document.querySelector(".sounding-links")) {
    soundingLinks("proof", proof.name);
    document.title = `${proof.name} · ${document.title}`;
  }
  const cards = document.createElement("div");
  cards.className = "cards";
  cards.append(
    card(say("proof.classes"), classes(proof), true),
    card(say("proof.aspects", { scheme: proof.classes[0].scheme }), aspects(proof.classes[0])),
    stack(
      card(say("proof.zeros"), zeros(proof.zeros)),
      card(say("proof.assumed"), assumed(proof)),
    ),
    card(say("proof.uncertainty"), budgets(proof.budgets), true),
    card(say("proof.findings"), findings(proof.findings), true),
    card(say("proof.changes"), changes(proof)),
    card(say("proof.sign"), signing(proof)),
  );
  if (hasMemory(proof)) cards.prepend(fromMemory(said));
  place.replaceChildren(verdict(proof), plots(proof), cards);
}

/* What the memory of the cone gave, and a place for its read-out. */
function fromMemory(said) {
  const content = text("div", "", "");
  const told = status();
  told.textContent = said;
  memory(content, id, me.role !== "view", draw);
  return card(say("memory.title"), [content, told], true);
}

function stack(...cards) {
  const box = text("div", "stack", "");
  box.append(...cards);
  return box;
}

function verdict(proof) {
  const box = document.createElement("section");
  box.className = "verdict";
  box.dataset.level = proof.verdict.level;
  const counts = text("span", "counts", "");
  for (const word of ["stop", "caution", "info"]) {
    const one = level(word);
    one.append(` ${proof.counts[word] ?? 0}`);
    counts.append(one);
  }
  box.append(text("strong", "", proof.verdict.head), text("span", "", proof.verdict.text), counts);
  return box;
}

function plots(proof) {
  const box = document.createElement("section");
  box.className = "plots card";
  box.append(ratePlot(proof.rate));
  if (proof.tilt) {
    const bound = proof.tilt.bound ? say("proof.upTo") : "";
    box.append(
      depthPlot(say("proof.tilt"), proof.tilt.depth, proof.tilt.tilt,
        say("proof.tiltWords", { most: number(proof.tilt.most_tilt, 1) })),
      depthPlot(say("proof.offset"), proof.tilt.offset_depth, proof.tilt.offset,
        say("proof.offsetWords", { bound, most: number(proof.tilt.most_offset, 2) })),
    );
  } else {
    box.append(text("p", "soft", say("proof.noTilt")));
  }
  box.append(originPlot(proof.origin));
  return box;
}

function classes(proof) {
  const rows = proof.classes.map((one) => [
    `${one.scheme} (${one.mark})`,
    one.achieved === null
      ? one.text
      : `${one.kind} ${one.achieved}${one.proved ? "" : `, ${say("proof.notProved")}`}`,
    one.ordered === null ? "–" : `${one.ordered}: ${one.order}`,
  ]);
  const stated = proof.stated
    ? say("proof.stated", { stated: proof.stated })
    : say("proof.notStated");
  return [
    table([say("proof.norm"), say("proof.achieved"), say("proof.ordered")], rows),
    text("p", "soft", stated),
  ];
}

function aspects(first) {
  const rows = first.verdicts.map((one) => [
    one.aspect,
    `${one.achieved ?? say("proof.noClass")}${one.proved ? "" : ` ${say("proof.atBest")}`}`,
    one.depth === null ? "–" : jump(one.depth),
    one.text,
  ]);
  return table(
    [say("proof.aspect"), say("proof.class"), say("proof.where"), say("proof.against")], rows);
}

function jump(depth) {
  const link = text("a", "jump", `${number(depth, 2)} m`);
  link.href = `/log?s=${id}&depth=${depth.toFixed(2)}`;
  return link;
}

function zeros(rows) {
  if (!rows.length) {
    return text("p", "level-caution", say("proof.noZeros"));
  }
  const kinds = ["", "", "number", "number", "number", "number"];
  return table(
    [say("proof.channel"), say("proof.unit"), say("proof.before"), say("proof.after"), say("proof.shift"), say("proof.percent")],
    rows.map((z) => [z.symbol, z.unit, number(z.before), number(z.after), number(z.shift, 1, true),
      number(z.percent, 2, true)]),
    kinds,
  );
}

function budgets(rows) {
  return table(
    [say("proof.channel"), say("proof.expanded"), say("proof.parts"), say("proof.missing")],
    rows.map((one) => [one.symbol, one.expanded, list(one.parts), one.missing.join(", ") || "–"]),
  );
}

function findings(rows) {
  if (!rows.length) {
    return text("p", "", say("proof.nothing"));
  }
  const order = { stop: 0, caution: 1, info: 2 };
  const sorted = [...rows].sort((a, b) => order[a.severity] - order[b.severity] || a.number - b.number);
  return table(
    [say("proof.number"), say("proof.level"), say("proof.where"), say("proof.found"), say("proof.expected")],
    sorted.map((one) => [
      `${one.number}`,
      level(one.severity),
      one.top === null ? one.where || say("proof.all") : whereLink(one),
      one.found,
      [one.expected, one.source].filter(Boolean).join(" · "),
    ]),
  );
}

function whereLink(finding) {
  const link = text("a", "jump", finding.where);
  link.href = `/log?s=${id}&depth=${finding.top.toFixed(2)}`;
  return link;
}

function changes(proof) {
  const parts = [];
  if (!proof.effects.length && !proof.decisions.length) {
    parts.push(text("p", "", say("proof.noChanges")));
  }
  if (proof.effects.length) {
    parts.push(table([say("proof.correction"), say("proof.effect"), say("proof.reason")], proof.effects));
  }
  if (proof.decisions.length) {
    parts.push(table([say("proof.decision"), say("proof.value")], proof.decisions));
  }
  parts.push(list(proof.declarations.map(([words, value]) => `${words}: ${value}`)));
  return parts;
}

function assumed(proof) {
  const parts = [proof.assumptions.length
    ? list(proof.assumptions.map((one) => `◇ ${one}`))
    : text("p", "", say("proof.noAssumed"))];
  if (proof.filter) {
    parts.push(text("h2", "", say("proof.filter", { grade: proof.filter.grade })), list(proof.filter.reasons));
  }
  return parts;
}

function signing(proof) {
  const parts = [];
  if (proof.sign_off) {
    parts.push(text("p", "", proof.sign_off.line));
    if (proof.sign_off.changed.length) {
      const message = text("div", "message", say("proof.changed"));
      message.dataset.level = "stop";
      message.append(list(proof.sign_off.changed));
      parts.push(message);
    }
  } else {
    parts.push(text("p", "level-caution", say("proof.notSigned")));
  }
  if (proof.source) {
    parts.push(text("p", "mono", `${proof.source.file} · SHA-256 ${proof.source.sha256}`));
  }
  parts.push(text("p", "mono", `${say("proof.recipe")} ${proof.recipe}`));
  if (me.role !== "view" && proof.sign_off !== undefined) {
    parts.push(signForm());
  }
  return parts;
}

function signForm() {
  const form = document.createElement("form");
  form.className = "form-row";
  const input = document.createElement("input");
  input.id = "author";
  input.required = true;
  input.minLength = 2;
  input.autocomplete = "name";
  const key = text("button", "key primary", say("proof.signKey"));
  key.type = "submit";
  const answer = status();
  form.append(labelled(say("proof.author"), input), key, answer);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    await orTell(answer, async () => {
      const recipe = await ask(`/api/soundings/${id}/recipe`);
      await tell(`/api/soundings/${id}/sign`, { author: input.value, based_on: recipe.version });
      await draw();
    });
  });
  return form;
}
