/* The push page: joins the stream with numbers, alarms, tracks, keys and sound. */

import { ask, Fault, start, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { Alarms } from "./alarms.js";
import { Keys } from "./keys.js";
import { LiveTracks } from "./livetracks.js";
import { key, Numbers } from "./numbers.js";
import { mark, number, put, show, span } from "./put.js";
import { Sound } from "./sound.js";
import { PushStream } from "./stream.js";

const at = (id) => document.getElementById(id);
const SIGNS = { ok: "", caution: "\u25B2", stop: "\u25C6" };

class PushPage {
  constructor(me, about) {
    this.me = me;
    this.about = about;
    this.state = null;
    this.numbers = new Numbers(at("numbers"));
    this.keys = new Keys(at("keys"), at("said"));
    this.alarms = new Alarms(at("alarms"), at("calm"), {
      acknowledge: (rule) => this.keys.do("acknowledge", { rule }),
      shelve: (alarm) => this.keys.shelve(alarm),
    });
    this.sound = new Sound(at("sound"), say);
    const places = { follow: at("follow"), closer: at("closer"), farther: at("farther"), cursor: at("cursor") };
    this.tracks = new LiveTracks(at("tracks"), places, about.columns);
    this.stream = new PushStream({
      state: (state) => this.draw(state),
      rows: (block) => this.tracks.add(block),
      rail: (rail) => this.tracks.addRail(rail),
      push: (what, fresh) => { if (fresh) this.tracks.reset(); },
      silent: () => this.draw(this.state),
    });
    at("record-form").addEventListener("submit", (event) => this.record(event));
    this.stream.open();
    this.draw(about.state ?? { recording: about.recording, control: { holder: "", client: "", viewers: 0 } });
  }

  get mayControl() {
    return this.me.role === "control";
  }

  draw(state) {
    if (!state) return;
    this.state = state;
    const lost = this.stream.lost;
    this.#control(state.control);
    this.#nothing(state, lost);
    if (!state.advance) {
      this.#stale(state, lost);
      this.sound.set(lost ? "silence" : "ok");
      return;
    }
    const mine = state.control.client !== "" && state.control.client === this.about.mark;
    this.#strip(state, lost);
    this.#stale(state, lost);
    this.numbers.draw(state, lost);
    this.alarms.draw(state);
    this.#verdict(state.link);
    this.#work(state);
    this.#counts(state);
    this.keys.draw(state, { mayControl: this.mayControl, mine, lost });
    const over = state.recording === "ended" || state.recording === "interrupted";
    this.sound.set(lost ? "silence" : over ? "ok" : state.warnings.length ? "stop" : state.sound);
  }

  #strip(state, lost) {
    put(at("sounding"), state.sounding);
    put(at("step"), state.pause ? say("push.paused", { reason: state.pause }) : say(`push.step.${key(state.step.name)}`));
    const moves = say(`push.moves.${key(state.advance.state)}`);
    put(at("doing"), lost || state.encoder.old ? "" : moves);
    const word = lost ? "unknown" : state.recording;
    mark(at("recording"), "state", word);
    put(at("recording"), say(`push.recording.${word}`));
    put(at("clock"), new Date(state.time * 1000).toLocaleTimeString("en-GB"));
    document.title = `${state.worst === "ok" ? "" : `${SIGNS[state.worst]} `}${state.sounding} · ${say("shell.name")}`;
  }

  #control({ holder, client, viewers }) {
    const mine = client !== "" && client === this.about.mark;
    const words = mine ? "push.control.mine" : holder ? "push.control.other" : "push.control.free";
    const watching = viewers > 1 ? ` · ${say("push.control.viewers", { count: viewers })}` : "";
    put(at("control"), this.mayControl ? say(words, { holder }) + watching : say("push.control.watching"));
    mark(at("control"), "state", mine ? "mine" : holder ? "other" : "free");
  }

  /** What is too old, in words nobody can miss; it covers nothing that is still true. */
  #stale(state, lost) {
    const parts = [];
    const over = ["ended", "interrupted", "none"].includes(state.recording);
    if (lost) {
      parts.push(say("push.stale.server", { time: span(this.stream.silence) }));
      parts.push(say("push.stale.goesOn"));
    } else if (!over && state.cone) {
      for (const name of ["cone", "encoder"]) {
        const one = state[name];
        const time = one.age === null ? "" : span(one.age);
        if (one.connected === false) parts.push(say(`push.stale.${name}Gone`, { time }));
        else if (one.freshness === "no reading yet") parts.push(say(`push.stale.${name}None`));
        else if (one.freshness !== "fresh" && one.age !== null) {
          parts.push(say(`push.stale.${name}`, { time }) + (one.excused ? ` ${say("push.stale.open")}` : ""));
        }
      }
    }
    const late = !lost && !over && state.cone && !gone(state.cone) && !gone(state.encoder);
    mark(at("stale"), "level", late ? "caution" : "stop");
    mark(at("main"), "lost", lost ? "yes" : "no");
    show(at("stale"), parts.length > 0);
    put(at("stale"), parts.length ? `${late ? SIGNS.caution : SIGNS.stop} ${parts.join(" \u00B7 ")}` : "");
  }

  #nothing(state, lost) {
    const idle = state.recording !== "here" && state.recording !== "elsewhere";
    show(at("nothing"), idle && !lost);
    mark(at("main"), "idle", idle ? "yes" : "no");
    mark(at("main"), "empty", state.advance ? "no" : "yes");
    if (!idle) return;
    const words = { none: "none", ended: "ended", interrupted: "interrupted" }[state.recording] ?? "none";
    put(at("nothing-text"), say(`push.nothing.${words}`, { sounding: state.sounding ?? "" }));
    const over = state.recording === "ended" || state.recording === "interrupted";
    show(at("close-hole"), over);
    if (over) at("close-hole").href = `/field?part=closing&name=${encodeURIComponent(state.sounding)}`;
    const can = this.about.can_record && this.mayControl;
    show(at("record-form"), can);
    put(at("record-sources"), can ? say("push.sources", { sources: this.about.sources.join(", ") }) : "");
  }

  async record(event) {
    event.preventDefault();
    const sounding = at("record-name").value.trim();
    if (!sounding) return;
    try {
      await tell("/api/push/record", { sounding, by: this.keys.by });
      at("record-name").value = "";
    } catch (error) {
      if (!(error instanceof Fault)) throw error;
      this.keys.say(error.message, true);
    }
  }

  #verdict(link) {
    show(at("verdict"), link.verdict !== "");
    mark(at("verdict"), "level", link.status === "ok" ? "caution" : link.status);
    const sure = link.sure === null ? "" : say("push.sure", { sure: number(link.sure, 0) });
    put(at("verdict"), link.verdict ? say("push.verdict", { verdict: link.verdict, sure, advice: link.advice }) : "");
  }

  #work(state) {
    const { zero, step, notes } = state;
    let words = "";
    let kind = "work";
    if (zero) {
      const means = zero.means.map((one) => `${one.symbol} ${number(one.value, one.decimals)} ${one.unit}`).join("   ");
      words = say(`push.zero.${zero.which}`, { done: number(zero.elapsed, 0), asked: number(zero.asked, 0), means });
    } else if (step.missing.length && state.recording === "here") {
      words = say("push.missing", { steps: step.missing.join(", ") });
      kind = "missing";
    } else if (state.forecast) {
      words = aheadOf(state.forecast);
      kind = "note";
    } else if (notes.length) {
      words = say("push.lastNote", { note: notes[notes.length - 1] });
      kind = "note";
    }
    show(at("work"), words !== "");
    mark(at("work"), "kind", kind);
    put(at("work"), words);
  }

  #counts(state) {
    if (!at("more-dialog").open) return;
    const { cone, encoder, advance } = state;
    const rows = {
      cone: say("push.count.stream", cone),
      encoder: say("push.count.stream", encoder),
      rods: say("push.count.rods", { rods: advance.rods, by: advance.rods_counted_by, strokes: advance.strokes }),
      tally: say("push.count.metres", { metres: number(advance.tally_difference, 2) }),
      battery: say("push.count.volts", { volts: number(state.battery, 2) }),
      temperature: say("push.count.degrees", { degrees: number(state.temperature, 1) }),
      disk: say("push.count.gigabytes", { size: number(state.free_disk, 0) }),
    };
    const list = at("counts");
    for (const [name, words] of Object.entries(rows)) {
      let place = list.querySelector(`[data-count="${name}"]`);
      if (!place) {
        const label = document.createElement("dt");
        label.textContent = say(name === "rods" ? "push.count.rodsLabel" : `push.count.${name}`);
        place = document.createElement("dd");
        place.dataset.count = name;
        list.append(label, place);
      }
      put(place, words);
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

/** Whether a stream is away without a reason that everybody can see. */
function gone(stream) {
  return stream.old && !stream.excused;
}

const me = await start({ page: "push", title: say("shell.push") });
const about = await ask("/api/push");
window.pushPage = new PushPage(me, about);
