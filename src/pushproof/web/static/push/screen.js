/*
 * The screen of the cab: it stays awake while a push is recorded, fills the tablet on a key, and
 * takes gloves: no menu on a long press, a field that is typed in stays above the keyboard, and a
 * finger that trembles presses once.
 */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

/* Two taps of the same key closer than this [ms] are one press of a glove. */
export const TREMBLE = 700;
/* A press that lasts longer than this [ms] is a hand that rests on a key. */
const REST = 800;
/* A dialog that opened or closed under a finger takes no tap for this long [ms]. */
export const SETTLE = 400;

/** Keeps the screen awake; a browser gives that only to pages of this machine or over https. */
export class Awake {
  constructor() {
    this.wanted = false;
    this.lock = null;
    this.asking = false;
    document.addEventListener("visibilitychange", () => this.#ask());
  }

  /** "awake" while the screen is held, "free" when nothing asks for it, "dark" if it cannot be. */
  get state() {
    if (this.lock) return "awake";
    return this.wanted ? "dark" : "free";
  }

  want(wanted) {
    if (wanted === this.wanted) return;
    this.wanted = wanted;
    if (wanted) this.#ask();
    else this.lock?.release();
  }

  async #ask() {
    const hidden = document.visibilityState !== "visible";
    if (!this.wanted || this.lock || this.asking || hidden || !navigator.wakeLock) return;
    this.asking = true;
    try {
      this.lock = await navigator.wakeLock.request("screen");
      this.lock.addEventListener("release", () => {
        this.lock = null;
        this.#ask();
      });
      if (!this.wanted) await this.lock.release();
    } catch (error) {
      // refused, as with an empty battery: the page says that the screen may go dark
      if (!(error instanceof DOMException)) throw error;
    } finally {
      this.asking = false;
    }
  }
}

/** Put a key into the head of the page that fills the screen and gives it back. */
export function fullScreenKey() {
  if (!document.fullscreenEnabled) return;
  const key = text("button", "key", say("push.full.on"));
  key.id = "full-screen";
  key.addEventListener("click", async () => {
    if (document.fullscreenElement) await document.exitFullscreen();
    else await document.documentElement.requestFullscreen({ navigationUI: "hide" });
  });
  document.addEventListener("fullscreenchange", () => {
    const on = document.fullscreenElement !== null;
    key.textContent = say(on ? "push.full.off" : "push.full.on");
    key.setAttribute("aria-pressed", String(on));
  });
  document.querySelector(".page-state").append(key);
}

/** What pressed last: a finger brings a keyboard onto the screen with every field that has focus. */
export const hand = { touches: false, down: 0 };

export function takeGloves() {
  const notes = (event) => {
    hand.touches = event.pointerType === "touch";
    hand.down = event.timeStamp;
  };
  document.addEventListener("pointerdown", notes, { passive: true, capture: true });
  document.addEventListener("keydown", () => { hand.touches = false; }, { capture: true });
  document.addEventListener("contextmenu", (event) => {
    if (!event.target.closest("input, textarea")) event.preventDefault();
  });
  const keepInSight = () => {
    const field = document.activeElement;
    if (field?.matches("dialog :is(input, textarea)")) field.scrollIntoView({ block: "nearest" });
  };
  addEventListener("resize", keepInSight);
  visualViewport?.addEventListener("resize", keepInSight);
}

/** Tells whether a click counts: the second of a finger that trembled and a long one do not. */
export class Steady {
  constructor() {
    this.pressed = new Map();
  }

  /** Whether this click counts; one by keyboard always does. */
  counts(name, event) {
    if (event.detail === 0) return true;
    return !rested(event) && this.once(name, event.timeStamp);
  }

  /** Whether nothing of that name was done shortly before this time [ms]. */
  once(name, time) {
    const again = time - (this.pressed.get(name) ?? -Infinity) < TREMBLE;
    this.pressed.set(name, time);
    return !again;
  }
}

/** Whether a finger lay on a key so long that nobody can say what was meant. */
export function rested(event) {
  return event.detail > 0 && hand.touches && event.timeStamp - hand.down > REST;
}

/** Let nothing under a finger take a tap for a moment, after something opened or closed there. */
export function settle(element, name) {
  element.dataset[name] = "yes";
  setTimeout(() => { element.dataset[name] = "no"; }, SETTLE);
}
