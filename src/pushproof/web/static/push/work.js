/* What is being done or was left out, and the rest of what is known, in small. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { mark, number, put, show, style } from "./put.js";

/** The work at hand: a zero reading with its averages, what is still missing, what lies ahead. */
export class Work {
  constructor(box, noted) {
    this.box = box;
    this.noted = noted;
    this.words = text("div", "", "");
    this.bar = text("div", "zero-bar", "");
    this.bar.setAttribute("aria-hidden", "true");
    this.done = text("div", "zero-done", "");
    this.bar.append(this.done);
    this.values = text("dl", "zero-values", "");
    this.places = new Map();
    box.append(this.words, this.bar, this.values);
  }

  draw({ zero, step, notes, recording, forecast }) {
    let [kind, words] = ["", ""];
    if (zero) {
      kind = "zeros";
      words = say(`push.zero.${zero.which}`, { done: number(zero.elapsed, 0), asked: number(zero.asked, 0) });
      this.#zero(zero);
    } else if (step.missing.length && recording === "here") {
      kind = "missing";
      words = say("push.missing", { steps: step.missing.join(", ") });
    } else if (forecast) {
      kind = "ahead";
      words = aheadOf(forecast);
    }
    show(this.box, words !== "");
    show(this.bar, kind === "zeros");
    show(this.values, kind === "zeros");
    mark(this.box, "kind", kind);
    put(this.words, words);
    show(this.noted, notes.length > 0);
    put(this.noted, notes.length ? say("push.lastNote", { note: notes[notes.length - 1] }) : "");
  }

  #zero({ elapsed, asked, means }) {
    style(this.done, "--done", asked ? Math.min(elapsed / asked, 1).toFixed(3) : 0);
    for (const { key, symbol, unit, value, decimals } of means) {
      if (!this.places.has(key)) {
        const pair = text("div", "", "");
        const place = text("dd", "", "");
        pair.append(text("dt", "", `${symbol} ${unit}`), place);
        this.values.append(pair);
        this.places.set(key, place);
      }
      put(this.places.get(key), number(value, decimals));
    }
  }
}

/** What the plan expects after what was met, in one line. */
function aheadOf(forecast) {
  const target = number(forecast.target, 1);
  const words = say("push.ahead.target", { target, reached: number(forecast.reached, 0) });
  const next = forecast.thrust === null ? "" : say("push.ahead.thrust", {
    thrust: number(forecast.thrust, 0),
    high: number(forecast.thrust_high, 0),
    limit: number(forecast.limit, 0),
    by: forecast.limited_by,
  });
  const ends = forecast.likely_depth === null ? "" : say("push.ahead.ends", { depth: number(forecast.likely_depth, 1) });
  return [words, ends, next].filter(Boolean).join(" \u00B7 ");
}

/** Battery, counts and clocks: one line under the numbers, and in full in the dialog "more". */
export class Rest {
  constructor(line, list, dialog) {
    this.line = line;
    this.list = list;
    this.dialog = dialog;
    this.parts = new Map();
    this.rows = new Map();
  }

  /** Draw a state; screen is whether the screen stays awake: "awake", "free" or "dark". */
  draw({ cone, encoder, advance, battery, temperature, free_disk: disk }, screen, lost) {
    const now = (value, old) => (lost || old ? null : value);
    const parts = {
      battery: say("push.count.volts", { volts: number(now(battery, cone.old), 2) }),
      temperature: say("push.count.degrees", { degrees: number(now(temperature, cone.old), 1) }),
      encoder: say("push.rest.ago", { seconds: number(now(encoder.age, false), 1) }),
      read: say("push.rest.counts", cone),
      rods: say("push.rest.strokes", { by: advance.rods_counted_by, strokes: advance.strokes }),
      tally: say("push.count.metres", { metres: number(advance.tally_difference, 2) }),
      disk: say("push.count.gigabytes", { size: number(disk, disk !== null && disk < 10 ? 1 : 0) }),
      screen: say(`push.screen.${screen}`),
    };
    for (const [name, words] of Object.entries(parts)) this.#part(name, words);
    mark(this.parts.get("screen").parentElement, "level", screen === "dark" ? "caution" : "ok");
    if (!this.dialog.open) return;
    const rows = {
      cone: say("push.count.stream", cone),
      encoder: say("push.count.stream", encoder),
      rods: say("push.count.rods", { rods: advance.rods, by: advance.rods_counted_by, strokes: advance.strokes }),
      tally: parts.tally,
      battery: parts.battery,
      temperature: parts.temperature,
      disk: parts.disk,
      screen: say(`push.screen.${screen}Why`),
    };
    for (const [name, words] of Object.entries(rows)) this.#row(name, words);
  }

  #part(name, words) {
    let place = this.parts.get(name);
    if (!place) {
      const box = text("span", "rest-part", "");
      place = text("span", "", "");
      box.append(text("span", "rest-name", say(`push.rest.${name}`)), place);
      this.line.append(box);
      this.parts.set(name, place);
    }
    put(place, words);
  }

  #row(name, words) {
    let place = this.rows.get(name);
    if (!place) {
      place = text("dd", "", "");
      place.dataset.count = name;
      this.list.append(text("dt", "", say(name === "rods" ? "push.count.rodsLabel" : `push.count.${name}`)), place);
      this.rows.set(name, place);
    }
    put(place, words);
  }
}
