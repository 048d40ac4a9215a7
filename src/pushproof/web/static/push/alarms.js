/* The list of alarms, the worst first, each with what to do and its own keys. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { mark, number, put, show } from "./put.js";

const SIGNS = { caution: "\u25B2", stop: "\u25C6" };

export class Alarms {
  /** Places: list, calm, heard, below. Told: acknowledge(rule), shelve(alarm). */
  constructor({ list, calm, heard, below }, told) {
    this.list = list;
    this.calm = calm;
    this.heard = heard;
    this.below = below;
    this.told = told;
    this.scrolls = list.parentElement;
    this.scrolls.addEventListener("scroll", () => this.#hidden(), { passive: true });
    const fit = new ResizeObserver(() => this.#fit());
    fit.observe(this.scrolls);
    fit.observe(list);
    below.addEventListener("click", () => {
      this.scrolls.scrollBy({ top: this.scrolls.clientHeight * 0.8, behavior: "smooth" });
    });
    this.items = new Map();
    this.order = "";
  }

  draw(state, lost) {
    show(this.heard, lost && state.alarms.length > 0);
    const wanted = new Set(state.alarms.map((one) => one.rule));
    for (const [rule, item] of this.items) {
      if (!wanted.has(rule)) {
        item.box.remove();
        this.items.delete(rule);
      }
    }
    this.usable = !lost && state.recording === "here";
    for (const alarm of state.alarms) this.#item(alarm);
    const order = state.alarms.map((one) => one.rule).join(" ");
    if (order !== this.order) {
      this.order = order;
      this.#sort(state.alarms);
    }
    show(this.calm, !state.alarms.length && !state.warnings.length);
    put(this.calm, say("push.calm"));
    this.#warnings(state.warnings);
  }

  /** Leave out what to do about all but the gravest, where the list has no room for it. */
  #fit() {
    mark(this.list, "short", "no");
    if (this.scrolls.scrollHeight > this.scrolls.clientHeight + 2) mark(this.list, "short", "yes");
    this.#hidden();
  }

  /** Say how many alarms lie below what is seen of the list. */
  #hidden() {
    const end = this.scrolls.getBoundingClientRect().bottom;
    const left = [...this.list.children].filter((one) => one.getBoundingClientRect().bottom > end + 8);
    show(this.below, left.length > 0);
    put(this.below, left.length ? say("push.moreBelow", { count: left.length }) : "");
  }

  /** Put the items in order without taking the focus from a key. */
  #sort(alarms) {
    const focused = document.activeElement;
    for (const { rule } of alarms) this.list.append(this.items.get(rule).box);
    if (focused && this.list.contains(focused)) focused.focus({ preventScroll: true });
  }

  #warnings(warnings) {
    const all = warnings.join("\n");
    if (all === this.shownWarnings) return;
    this.shownWarnings = all;
    for (const old of this.list.querySelectorAll(".record-warning")) old.remove();
    for (const words of [...warnings].reverse()) {
      const box = text("li", "alarm record-warning", "");
      box.dataset.level = "stop";
      const line = text("div", "alarm-line", "");
      line.append(text("span", "alarm-mark", `\u25C6 ${say("push.recordWarning")}`), text("span", "alarm-text", words));
      box.append(line);
      this.list.prepend(box);
    }
  }

  #item(alarm) {
    const item = this.items.get(alarm.rule) ?? this.#make(alarm);
    item.alarm = alarm;
    mark(item.box, "level", alarm.level);
    const state = stateOf(alarm);
    mark(item.box, "state", state);
    put(item.mark, words(alarm, state));
    put(item.text, alarm.text);
    put(item.advice, state === "up" ? alarm.advice : "");
    show(item.advice, state === "up");
    show(item.seen, this.usable && (state === "up" || state === "cleared"));
    show(item.aside, this.usable && (state === "up" || state === "seen") && alarm.level !== "stop");
    item.seen.setAttribute("aria-label", say("push.seenOne", { alarm: alarm.text }));
    item.aside.setAttribute("aria-label", say("push.asideOne", { alarm: alarm.text }));
  }

  #make(alarm) {
    const box = text("li", "alarm", "");
    const line = text("div", "alarm-line", "");
    const item = {
      box,
      alarm,
      mark: text("span", "alarm-mark", ""),
      text: text("span", "alarm-text", ""),
      advice: text("div", "alarm-advice", ""),
      seen: text("button", "key", say("push.seen")),
      aside: text("button", "key", say("push.aside")),
    };
    item.seen.addEventListener("click", () => this.told.acknowledge(item.alarm.rule));
    item.aside.addEventListener("click", () => this.told.shelve(item.alarm));
    const keys = text("div", "alarm-keys", "");
    keys.append(item.seen, item.aside);
    const said = text("div", "alarm-said", "");
    line.append(item.mark, item.text);
    said.append(line, item.advice);
    box.append(said, keys);
    this.items.set(alarm.rule, item);
    this.list.append(box);
    this.order = "";
    return item;
  }
}

function stateOf(alarm) {
  if (alarm.cleared) return "cleared";
  if (alarm.shelved !== null) return "shelved";
  return alarm.acknowledged ? "seen" : "up";
}

function words(alarm, state) {
  if (state === "cleared") return say("push.cleared");
  const level = `${SIGNS[alarm.level] ?? ""} ${say(`push.level.${alarm.level}`)}`;
  if (state === "shelved") {
    return `${level}, ${say("push.shelved", { minutes: number(Math.ceil(alarm.shelved / 60), 0) })}`;
  }
  return state === "seen" ? `${level}, ${say("push.wasSeen")}` : level;
}
