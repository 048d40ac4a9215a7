/*
 * The keys of the crew: what each does, its letter on a keyboard, its dialog. Every key is one call;
 * whether it may be done is decided by the server.
 */

import { client, Fault, tell, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { mark, put } from "./put.js";
import { hand, rested, settle, Steady } from "./screen.js";

const KEYS = [
  { name: "zeros", letter: "z" },
  { name: "start", letter: " ", primary: true },
  { name: "rod", letter: "r" },
  { name: "pause", letter: "p" },
  { name: "dissipation", letter: "d" },
  { name: "note", letter: "n" },
  { name: "acknowledge", letter: "a" },
  { name: "more", letter: "m" },
  { name: "stop", letter: "q", danger: true },
];
const PHRASES = 6;
const REASONS = 6;

export class Keys {
  constructor(parent, said) {
    this.said = said;
    this.state = null;
    this.mayControl = false;
    this.keys = {};
    this.waiting = new Set();
    this.turn = Promise.resolve();
    this.steady = new Steady();
    for (const one of KEYS) this.#key(parent, one);
    this.#phrases("note", PHRASES);
    this.#phrases("pause", REASONS);
    document.addEventListener("keydown", (event) => this.#letter(event));
    const by = document.getElementById("by");
    by.value = this.by;
  }

  get by() {
    return localStorage.getItem("by") || say("push.me", { mark: client.slice(0, 4) });
  }

  draw(state, { mayControl, mine, lost }) {
    this.state = state;
    this.mayControl = mayControl;
    this.mine = mine;
    const here = state.recording === "here";
    for (const [name, key] of Object.entries(this.keys)) {
      const usable = !lost && (name === "more" || (mayControl && here));
      const wanted = usable ? "false" : "true";
      if (key.getAttribute("aria-disabled") !== wanted) key.setAttribute("aria-disabled", wanted);
    }
    const running = state.dissipation !== null;
    put(this.keys.dissipation.firstChild, say(running ? "push.key.dissipationEnd" : "push.key.dissipation"));
    const after = ["push", "dissipation", "zeros after"].includes(state.step?.name);
    put(this.keys.zeros.firstChild, say(after ? "push.key.zerosAfter" : "push.key.zeros"));
    const going = state.step?.name === "push" && state.pause === null;
    const goesOn = state.pause !== null || running;
    put(this.keys.start.firstChild, say(goesOn ? "push.key.goOn" : "push.key.start"));
    this.keys.start.classList.toggle("primary", !going);
    const waiting = state.alarms.some((one) => one.sounds || (one.cleared && !one.acknowledged));
    mark(this.keys.acknowledge, "waiting", waiting ? "yes" : "no");
  }

  #key(parent, { name, letter, primary, danger }) {
    const key = text("button", `key big${primary ? " primary" : ""}${danger ? " danger" : ""}`, "");
    key.dataset.key = name;
    const hint = text("kbd", "key-letter", letter === " " ? say("push.space") : letter);
    hint.setAttribute("aria-hidden", "true");
    key.append(text("span", "key-words", say(`push.key.${name}`)), hint);
    key.setAttribute("aria-keyshortcuts", letter === " " ? "Space" : letter);
    key.addEventListener("click", (event) => {
      if (this.steady.counts(name, event)) this.press(name);
      else if (rested(event)) this.say(say("push.why.long"));
    });
    parent.append(key);
    this.keys[name] = key;
  }

  #phrases(dialog, count) {
    const place = document.getElementById(dialog === "note" ? "note-phrases" : "pause-reasons");
    for (let k = 1; k <= count; k += 1) {
      const words = say(`push.${dialog}.phrase${k}`);
      const key = text("button", "key", words);
      key.addEventListener("click", () => {
        const field = document.getElementById(`${dialog}-text`);
        field.value = dialog === "note" && field.value ? `${field.value}; ${words}` : words;
        if (!hand.touches) field.focus();
      });
      place.append(key);
    }
  }

  #letter(event) {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    if (document.querySelector("dialog[open]")) return;
    const inField = event.target.closest("input, textarea, select, [contenteditable]");
    if (inField) return;
    // a key or a link that has the focus answers to the space bar itself, and the tracks to theirs
    if (event.key === " " && event.target.closest("button, a, [role=slider]")) return;
    const found = KEYS.find((one) => one.letter === event.key);
    if (found) {
      event.preventDefault();
      this.press(found.name);
    } else if (event.key === "R") {
      event.preventDefault();
      this.do("rod", { change: -1 });
    }
  }

  async press(name) {
    if (name === "more") {
      await this.#more();
      return;
    }
    if (this.keys[name].getAttribute("aria-disabled") === "true") {
      this.say(this.#whyNot());
      return;
    }
    if (["zeros", "start", "dissipation", "acknowledge"].includes(name)) await this.do(name, {});
    else if (name === "rod") await this.do("rod", { change: 1 });
    else if (name === "note") await this.#typed("note");
    else if (name === "pause") await this.#typed("pause");
    else if (name === "stop") await this.#stop();
  }

  #whyNot() {
    if (!this.mayControl) return say("push.why.watching");
    return say(this.state?.recording === "elsewhere" ? "push.why.elsewhere" : "push.why.none");
  }

  async #typed(name) {
    const field = document.getElementById(`${name}-text`);
    field.value = "";
    const answer = await ask(document.getElementById(`${name}-dialog`), hand.touches ? null : field);
    const words = field.value.trim();
    if (answer === "yes" && words) await this.do(name, { text: words });
  }

  async #stop() {
    const sure = await this.confirm({
      title: say("push.stop.title"),
      words: say("push.stop.text", { sounding: this.state.sounding }),
      yes: say("push.stop.yes"),
      no: say("push.stop.no"),
    });
    if (sure) await this.do("stop", {});
  }

  async shelve(alarm) {
    const dialog = document.getElementById("shelve-dialog");
    document.getElementById("shelve-alarm").textContent = alarm.text;
    const answer = await ask(dialog);
    if (Number(answer)) await this.do("shelve", { rule: alarm.rule, minutes: Number(answer) });
  }

  async confirm({ title, words, yes, no }) {
    const dialog = document.getElementById("ask-dialog");
    for (const [id, said] of [["ask-title", title], ["ask-text", words], ["ask-yes", yes], ["ask-no", no]]) {
      document.getElementById(id).textContent = said;
    }
    return (await ask(dialog, document.getElementById("ask-no"))) === "yes";
  }

  async #more() {
    const dialog = document.getElementById("more-dialog");
    document.getElementById("more-control").textContent = say(this.mine ? "push.more.giveBack" : "push.more.take");
    const answer = await ask(dialog);
    const metres = (id) => Number.parseFloat(document.getElementById(id).value);
    if (answer === "rod-out") await this.do("rod", { change: -1 });
    else if (answer === "control") await (this.mine ? this.giveBack() : this.take());
    else if (answer === "stick-up" && Number.isFinite(metres("stick-up"))) {
      await this.do("stick-up", { metres: metres("stick-up") });
    } else if (answer === "length" && Number.isFinite(metres("length"))) {
      const words = say("push.more.sure", { length: metres("length") });
      const sure = await this.confirm({ title: say("push.more.length"), words, yes: say("push.more.set"), no: say("push.back") });
      if (sure) await this.do("length", { metres: metres("length") });
    } else if (answer === "by") localStorage.setItem("by", document.getElementById("by").value.trim());
  }

  /**
   * Do something; if somebody else controls, ask whether to take over and do it then. A key that is
   * pressed while another is on its way waits for it; the same key twice is one press of a glove.
   */
  async do(name, body) {
    if (this.waiting.has(name)) return;
    this.waiting.add(name);
    mark(document.body, "busy", "yes");
    const mine = this.turn.then(() => this.#once(name, body));
    this.turn = mine.catch(() => {});
    await mine;
  }

  async #once(name, body) {
    try {
      await this.#call(name, body);
    } catch (error) {
      if (!(error instanceof Fault)) throw error;
      this.say(error.message, true);
    } finally {
      this.waiting.delete(name);
      mark(document.body, "busy", this.waiting.size ? "yes" : "no");
    }
  }

  async #call(name, body) {
    const send = () => tell(`/api/push/${name}`, { ...body, by: this.by });
    try {
      await send();
    } catch (error) {
      if (!(error instanceof Fault) || error.status !== 423 || !(await this.#takeOver())) throw error;
      await send();
    }
    this.say(say(`push.done.${name}`));
  }

  async #takeOver() {
    const holder = this.state?.control.holder;
    if (!holder || this.mine) return false;
    const sure = await this.confirm({
      title: say("push.over.title"),
      words: say("push.over.text", { holder }),
      yes: say("push.over.yes"),
      no: say("push.over.no"),
    });
    if (sure) await tell("/api/push/control", { by: this.by, over: true });
    return sure;
  }

  async take() {
    try {
      await tell("/api/push/control", { by: this.by });
    } catch (error) {
      if (!(error instanceof Fault)) throw error;
      if (error.status !== 423 || !(await this.#takeOver())) this.say(error.message, true);
    }
  }

  async giveBack() {
    await tell("/api/push/control", undefined, "DELETE");
  }

  say(words, fault = false) {
    this.said.textContent = words;
    this.said.dataset.fault = fault ? "yes" : "no";
    clearTimeout(this.saying);
    this.saying = setTimeout(() => { this.said.textContent = ""; }, fault ? 9000 : 4000);
  }
}

/** Open a dialog and return the value of the key that closed it; Escape is "no". */
function ask(dialog, focus) {
  return new Promise((done) => {
    dialog.returnValue = "no";
    dialog.addEventListener("close", () => {
      settle(document.body, "settling");
      done(dialog.returnValue);
    }, { once: true });
    settle(dialog, "fresh");
    dialog.showModal();
    focus?.focus();
  });
}
