/*
 * A sounding that is being pushed: the page asks every two seconds whether there is more, and says
 * that it is live, to which depth, and how old that is. The window follows the tip until a reader
 * takes hold of it; then it stays where it is, whatever comes.
 */

import { ask, Fault } from "/static/shell.js";
import { say } from "/static/text/say.js";

const RUNS = ["here", "elsewhere"];
/* Time between two questions while a push runs, and while none does [ms]. */
const PACE = 2000;
const IDLE = 5000;
/* What was not refreshed for so many times its pace counts as old. */
const OLD = 4;
/* The depths [m] at which an axis that grows ends: it does not change with every row. */
const ENDS = [4, 6, 8, 10, 12, 15, 20, 25, 30, 35, 40, 50, 60, 80, 100];
/* Room below the tip [m], and as a share of a window that follows it. */
const BELOW = 0.3;
const AHEAD = 0.4;

const by = (id) => document.getElementById(id);

export class Follow {
  constructor(page) {
    this.page = page;
    this.recording = "none";
    this.pace = PACE;
    this.fresh = Date.now();
    this.fault = null;
    by("follow").addEventListener("click", () => this.switch());
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.#soon(0);
    });
  }

  /** Whether readings still come. */
  get live() {
    return RUNS.includes(this.recording);
  }

  /** Learn how far the recording is, before anything is drawn; a push is followed at first. */
  async begin() {
    await this.#ask();
    this.page.view.axis.following = this.live;
  }

  /** Go on asking. */
  start() {
    setInterval(() => this.tell(), 1000);
    this.tell();
    this.#soon(PACE);
  }

  #soon(wait) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.#look(), wait);
  }

  async #look() {
    if (this.looking) return;
    this.looking = true;
    try {
      if (!document.hidden) {
        const growth = await this.#ask();
        if (growth.newest === this.page.log.newest || (await this.page.grow())) this.fresh = Date.now();
      }
      this.fault = null;
    } catch (fault) {
      if (!(fault instanceof Fault)) throw fault;
      this.fault = fault;
      if (fault.status === 410) this.page.change(() => {}); // the server forgot the draft: send it again
    } finally {
      this.looking = false;
      this.tell();
      this.#soon(this.live ? PACE : IDLE);
    }
  }

  async #ask() {
    const growth = await ask(`/api/soundings/${this.page.id}/growth`);
    const began = !this.live;
    this.recording = growth.recording;
    this.pace = Math.max(PACE, growth.pace * 1000);
    if (this.live && began && this.page.log) this.page.view.axis.following = true;
    return growth;
  }

  /** Whether the window shows everything there is. */
  get #all() {
    const { axis } = this.page.view;
    return axis.top <= axis.low + 1e-6 && axis.base >= axis.high - 1e-6;
  }

  /** Give the axis its ends; the window follows or stays, and stays while a hand is on it. */
  ends(log) {
    const { view } = this.page;
    const { axis } = view;
    const all = this.#all;
    let { high } = log;
    if (this.live) {
      high = ENDS.find((end) => end >= log.high + BELOW) ?? log.high + ENDS[0];
      if (axis.following && !all) high = Math.max(high, log.high + AHEAD * axis.span);
    }
    if (view.busy) {
      axis.high = Math.max(axis.high, high);
      return;
    }
    axis.setEnds(log.low, high);
    if (!this.live || !axis.following) return;
    if (all) axis.showAll();
    else axis.followTip(log.high);
  }

  /** The marks of a log; what is still being pushed has no end. */
  marks(marks) {
    if (!this.live || !marks.end) return marks;
    const depth = marks.end.depth.toFixed(2);
    return { ...marks, end: { ...marks.end, words: say("log.live.tip", { depth }) } };
  }

  /** Follow the tip, or hold this window. */
  switch() {
    const { view, log } = this.page;
    const on = !view.axis.following;
    view.axis.following = on;
    this.ends(log);
    if (!on || this.#all) this.tell();
    else view.follow(true, log.high);
  }

  /** Say how it stands. */
  tell() {
    const { log, view } = this.page;
    const { live } = this;
    by("follow").hidden = !live;
    by("follow").setAttribute("aria-pressed", String(view.axis.following));
    const shown = live || this.recording === "interrupted" || (this.recording === "ended" && this.was);
    this.was ||= live;
    by("live").hidden = !shown || !log;
    if (by("live").hidden) return;
    const seconds = Math.round((Date.now() - this.fresh) / 1000);
    const old = live && (this.fault || seconds * 1000 > OLD * this.pace);
    by("live").dataset.state = old ? "old" : this.recording;
    put(by("live-state"), say(old ? "log.live.old" : `log.live.${this.recording}`));
    const reached = say(live ? "log.live.to" : "log.live.reached", { depth: log.high.toFixed(2) });
    const depth = log.rows ? reached : say("log.live.empty");
    const since = old ? say("log.live.since", { seconds }) : say("log.live.at", { time: clock(this.fresh) });
    const why = old && this.fault ? [this.fault.message] : [];
    put(by("live-words"), [depth, ...(live ? [since] : []), ...why].join(", "));
  }
}

function put(place, words) {
  if (place.textContent !== words) place.textContent = words;
}

function clock(time) {
  return new Date(time).toLocaleTimeString([], { hour12: false });
}
