/* The push page: joins the stream with numbers, alarms, tracks, keys and sound. */

import { ask, Fault, start, tell, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { Alarms } from "./alarms.js";
import { Keys } from "./keys.js";
import { LiveTracks } from "./livetracks.js";
import { Line } from "./line.js";
import { key, Numbers, SIGNS } from "./numbers.js";
import { mark, put, show } from "./put.js";
import { Awake, fullScreenKey, Steady, takeGloves } from "./screen.js";
import { Sound } from "./sound.js";
import { PushStream } from "./stream.js";
import { Rest, Work } from "./work.js";

const at = (id) => document.getElementById(id);

class PushPage {
  constructor(me, about) {
    this.me = me;
    this.about = about;
    this.state = null;
    this.numbers = new Numbers(at("numbers"));
    this.keys = new Keys(at("keys"), at("said"));
    this.line = new Line(at("line"));
    this.work = new Work(at("work"), at("noted"));
    this.rest = new Rest(at("rest"), at("counts"), at("more-dialog"));
    this.awake = new Awake();
    this.alarms = new Alarms({ list: at("alarms"), calm: at("calm"), heard: at("heard"), below: at("below") }, {
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
    takeGloves();
    fullScreenKey();
    const steady = new Steady();
    at("record-form").addEventListener("submit", (event) => {
      event.preventDefault();
      if (steady.once("record", event.timeStamp)) this.record();
    });
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
    const over = !["here", "elsewhere"].includes(state.recording);
    this.awake.want(!over);
    this.line.draw(state, lost ? this.stream.silence : null);
    mark(at("main"), "lost", lost ? "yes" : "no");
    if (!state.advance) {
      put(at("sounding"), say("shell.push"));
      this.sound.set(lost ? "silence" : "ok");
      return;
    }
    const mine = state.control.client !== "" && state.control.client === this.about.mark;
    this.#strip(state, lost);
    this.numbers.draw(state, lost);
    this.alarms.draw(state, lost);
    this.work.draw(state);
    this.rest.draw(state, this.awake.state, lost);
    this.keys.draw(state, { mayControl: this.mayControl, mine, lost });
    this.sound.set(lost ? "silence" : over ? "ok" : state.warnings.length ? "stop" : state.sound);
  }

  #strip(state, lost) {
    put(at("sounding"), state.sounding);
    put(at("step"), state.pause ? say("push.paused", { reason: state.pause }) : say(`push.step.${key(state.step.name)}`));
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
    put(at("nothing-steps"), say(can ? "push.nothing.steps" : this.mayControl ? "push.nothing.noSources" : "push.nothing.watch"));
    this.#names(state);
  }

  /** Names that need no typing: the one that broke off, or the next number after the last one. */
  #names({ recording, sounding }) {
    const name = !sounding ? "" : recording === "interrupted" ? sounding : following(sounding);
    if (name === this.offered) return;
    this.offered = name;
    const key = name && text("button", "key", say("push.named", { sounding: name }));
    if (key) key.addEventListener("click", () => { at("record-name").value = name; });
    at("record-names").replaceChildren(...(key ? [key] : []));
  }

  async record() {
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
}

/** The name after a name: its last number and one; "" where it ends with none. */
function following(name) {
  const end = /^(.*?)(\d{1,6})$/.exec(name);
  return end ? end[1] + String(Number(end[2]) + 1).padStart(end[2].length, "0") : "";
}

const me = await start({ page: "push", title: say("shell.push") });
const about = await ask("/api/push");
window.pushPage = new PushPage(me, about);
