/* The dissipation page: every test, its ways side by side, picks dragged with the fit at once. */

import { Fault, ask, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { drawOrTell, labelled, level, list, table, text } from "/static/sounding/make.js";
import { soundingLinks, soundingOf } from "/static/sounding/links.js";
import { dissipationPlot, fitLine, seconds } from "/static/dissipation/plot.js";

const id = encodeURIComponent(soundingOf());
const base = `/api/soundings/${id}`;
const me = await start({ page: "start", title: say("dissipation.title") });
const place = document.getElementById("dissipation");
let version = 0;

class Test {
  constructor(test) {
    this.test = test;
    this.choice = { ...test.choice };
    this.saved = JSON.stringify(this.choice);
    this.box = text("section", "test", "");
    this.waiting = null;
    this.asking = false;
    this.draw();
  }

  draw() {
    const held = this.box.querySelector(":focus");
    const focused = held && (held.id || held.getAttribute("aria-label"));
    const plots = text("div", "dissipation-plots", "");
    plots.append(
      dissipationPlot("log", this.test, this.levels()),
      dissipationPlot("root", this.test, this.window()),
    );
    this.box.replaceChildren(
      text("h2", "", say("dissipation.test", {
        number: this.test.number, depth: this.test.depth.toFixed(2), channel: this.test.channel,
      })),
      text("p", "soft", say("dissipation.kind", { kind: this.test.kind, how: this.test.u0_how })),
      plots, this.ways(), this.picks(), this.remarks(), this.saving(),
    );
    if (focused) {
      [...this.box.querySelectorAll("[aria-label], [id]")]
        .find((one) => one.id === focused || one.getAttribute("aria-label") === focused)?.focus();
    }
  }

  levels() {
    const picks = [];
    const u_i = this.choice.u_i ?? this.test.chosen?.u_i;
    if (u_i !== null && u_i !== undefined) {
      picks.push(this.pick("u_i", "u", u_i, "ui"));
    }
    if (this.test.u0 !== null) {
      picks.push(this.pick("u0", "u", this.choice.u0 ?? this.test.u0, "u0"));
    }
    return picks;
  }

  window() {
    const found = this.choice.window ?? this.test.estimates.find((one) => one.method === "root-time")?.window;
    if (!found) {
      return [];
    }
    return [0, 1].map((end) => ({
      name: `window-${end}`, axis: "t", value: found[end], sign: end ? "b" : "a",
      given: Boolean(this.choice.window),
      words: say(end ? "dissipation.windowEnd" : "dissipation.windowStart"),
      move: (value, last) => {
        const next = [...(this.choice.window ?? found)];
        next[end] = Number(value.toPrecision(4));
        if (next[0] < next[1]) {
          this.change({ window: next }, last);
        }
      },
    }));
  }

  pick(name, axis, value, sign) {
    return {
      name, axis, value, sign,
      given: this.choice[name] !== undefined && this.choice[name] !== null,
      words: say(`dissipation.${name}`),
      move: (to, last) => this.change({ [name]: Math.round(to * 10) / 10 }, last),
    };
  }

  /* Try picks; while one answer is awaited only the newest of the next waits. */
  change(part, last) {
    this.choice = { ...this.choice, ...part };
    for (const [name, value] of Object.entries(this.choice)) {
      if (value === null) {
        delete this.choice[name];
      }
    }
    this.waiting = { choice: { ...this.choice }, last };
    if (!this.asking) {
      this.work();
    }
  }

  async work() {
    this.asking = true;
    while (this.waiting) {
      const { choice } = this.waiting;
      this.waiting = null;
      try {
        this.test = await tell(`${base}/dissipations/${this.test.number}/try`, choice);
        this.fault = "";
      } catch (error) {
        if (!(error instanceof Fault)) {
          throw error;
        }
        this.fault = error.message;
      }
      this.draw();
    }
    this.asking = false;
  }

  ways() {
    const kinds = ["", "number", "number", "number", "number", "number", "number"];
    const made = table(
      [say("dissipation.way"), "t50", "ui [kPa]", "ch [m²/s]", say("dissipation.swing"), "kh [m/s]",
        say("dissipation.residual")],
      this.test.estimates.map((one) => [
        this.wayChoice(one),
        `${seconds(one.t50)}${one.extrapolated ? " *" : ""}`,
        plain(one.u_i, 4), power(one.ch),
        one.ch_low === null ? "–" : `${power(one.ch_low)} … ${power(one.ch_high)}`,
        [one.kh_modulus, one.kh_direct].map(power).join(" / "),
        one.residual === null ? "–" : `${plain(one.residual, 2)} kPa`,
      ]),
      kinds,
    );
    const box = text("div", "card", "");
    box.append(made, text("p", "soft", say("dissipation.waysWords", {
      Ir: plain(this.test.Ir, 3),
      given: say(this.test.Ir_given ? "dissipation.given" : "dissipation.assumed"),
    })));
    return box;
  }

  wayChoice(one) {
    const label = text("label", "way", "");
    const input = document.createElement("input");
    input.type = "radio";
    input.name = `way-${this.test.number}`;
    input.checked = one.method === this.test.method;
    input.disabled = me.role === "view";
    input.setAttribute("aria-label", say("dissipation.take", { way: one.method }));
    input.addEventListener("change", () => this.change({ method: one.method }, true));
    label.append(input, ` ${one.method}`);
    if (this.test.fits.some((fit) => fit.method === one.method)) {
      label.append(fitLine(one.method));
    }
    label.title = one.how;
    return label;
  }

  /* What is taken where nobody gives a value. */
  found(name) {
    return { u_i: this.test.chosen?.u_i, u0: this.test.u0, Ir: this.test.Ir, M: this.test.M }[name];
  }

  picks() {
    const row = text("div", "form-row", "");
    for (const [name, unit] of [["u_i", "kPa"], ["u0", "kPa"], ["Ir", ""], ["M", "kPa"]]) {
      const input = document.createElement("input");
      input.type = "number";
      input.step = "any";
      input.id = `${name}-${this.test.number}`;
      input.value = this.choice[name] ?? "";
      input.placeholder = say("dissipation.found", { value: plain(this.found(name), 4) });
      input.addEventListener("change", () =>
        this.change({ [name]: input.value === "" ? null : Number(input.value) }, true));
      row.append(labelled(`${say(`dissipation.${name}`)} ${unit ? `[${unit}]` : ""}`, input));
    }
    const away = text("button", "key", say("dissipation.clear"));
    away.addEventListener("click", () => {
      this.choice = {};
      this.change({}, true);
    });
    row.append(away);
    return row;
  }

  remarks() {
    const box = text("div", "", "");
    for (const finding of this.test.findings) {
      const line = text("p", "", "");
      line.append(level(finding.severity), ` ${finding.found}`);
      box.append(line);
    }
    if (this.test.assumptions.length) {
      box.append(list(this.test.assumptions.map((one) => `◇ ${one.text}`)));
    }
    return box;
  }

  saving() {
    const form = document.createElement("form");
    form.className = "form-row";
    const answer = text("p", this.fault ? "level-stop" : "soft", this.fault ?? "");
    answer.setAttribute("role", "status");
    if (me.role === "view" || JSON.stringify(this.choice) === this.saved) {
      form.append(answer);
      return form;
    }
    const inputs = {};
    for (const name of ["author", "reason"]) {
      const input = document.createElement("input");
      input.id = `${name}-save-${this.test.number}`;
      input.required = true;
      input.minLength = name === "author" ? 2 : 3;
      input.value = this[name] ?? (name === "author" ? localStorage.getItem("author") ?? "" : "");
      input.addEventListener("input", () => {
        this[name] = input.value;
      });
      form.append(labelled(say(`dissipation.${name}`), input));
      inputs[name] = input;
    }
    const key = text("button", "key primary", say("dissipation.save"));
    key.type = "submit";
    form.append(key, answer);
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      try {
        const done = await tell(`${base}/dissipations/${this.test.number}`, {
          choice: this.choice, author: inputs.author.value, reason: inputs.reason.value,
          based_on: version,
        }, "PUT");
        version = done.version;
        localStorage.setItem("author", inputs.author.value);
        this.saved = JSON.stringify(this.choice);
        this.draw();
        this.box.querySelector("[role=status]").textContent = say("dissipation.saved", { version });
      } catch (error) {
        if (!(error instanceof Fault)) {
          throw error;
        }
        this.fault = error.message;
        this.draw();
      }
    });
    return form;
  }
}

function plain(value, digits) {
  return value === null || value === undefined ? "–" : `${Number(value.toPrecision(digits))}`.replace("-", "−");
}

function power(value) {
  if (value === null || value === undefined) {
    return "–";
  }
  const exponent = Math.floor(Math.log10(value));
  const digits = { 0: "⁰", 1: "¹", 2: "²", 3: "³", 4: "⁴", 5: "⁵", 6: "⁶", 7: "⁷", 8: "⁸", 9: "⁹", "-": "⁻" };
  const raised = [...`${exponent}`].map((one) => digits[one]).join("");
  return `${(value / 10 ** exponent).toFixed(1)}·10${raised}`;
}

await drawOrTell(place, async () => {
  const found = await ask(`${base}/dissipations`);
  version = found.version;
  soundingLinks("dissipation", found.name);
  document.title = `${found.name} · ${document.title}`;
  if (!found.tests.length) {
    place.replaceChildren(text("p", "message", say("dissipation.none")));
  }
  for (const test of found.tests) {
    place.append(new Test(test).box);
  }
});
