/*
 * Layer boundaries as handles: a grip of 44 px that is dragged by mouse or finger, or moved by
 * keys. A press anywhere near a boundary takes the nearest one, so that a glove that lands beside
 * it works too. The handles are elements, not pixels: they have roles, names and focus.
 */

import { element } from "./heading.js";

/* A press farther from every boundary than this [px] takes none. */
const REACH = 24;
const STEP = { ArrowUp: -0.01, ArrowDown: 0.01, PageUp: -0.5, PageDown: 0.5 };
/* Least thickness of a layer [m]. */
const LEAST = 0.02;
/* Grips closer than this [px] stand apart; their lines stay where they are. */
const APART = 33;

export class Handles {
  /**
   * Actions: move(index, depth) while dragging, done(index, from, depth) at the end, released()
   * before it, open(index) when Enter asks to type a depth.
   */
  constructor(parent, axis, words, actions) {
    this.axis = axis;
    this.words = words;
    this.actions = actions;
    this.depths = [];
    this.drag = null;
    this.lane = element("div", "boundary-lane");
    this.lane.setAttribute("role", "group");
    this.lane.setAttribute("aria-label", words("tracks.boundaries"));
    parent.append(this.lane);
    this.handles = [];
    this.grips = [];
    this.lane.addEventListener("pointerdown", (event) => this.#take(event));
    this.lane.addEventListener("pointermove", (event) => this.#drag(event));
    this.lane.addEventListener("pointerup", (event) => this.#drop(event));
    this.lane.addEventListener("pointercancel", () => this.#cancel());
    this.lane.addEventListener("keydown", (event) => this.#key(event));
  }

  /** Show boundaries at these depths [m], from the top down; editable tells whether they move. */
  set(depths, editable = true) {
    if (this.drag) return;
    this.depths = [...depths];
    this.editable = editable;
    this.lane.hidden = !depths.length;
    while (this.handles.length > depths.length) this.handles.pop().remove();
    while (this.handles.length < depths.length) this.handles.push(this.#make());
    this.place();
  }

  /** Put the handles where their depths are in the window. */
  place() {
    this.grips = this.#spread();
    this.handles.forEach((handle, k) => {
      const depth = this.depths[k];
      const y = this.axis.y(depth);
      handle.hidden = y < -1 || y > this.axis.height + 1;
      handle.style.transform = `translateY(${Math.round(y)}px)`;
      handle.style.setProperty("--aside", `${Math.round(this.grips[k] - y)}px`);
      const [low, high] = this.#limits(k);
      handle.setAttribute("aria-valuemin", low.toFixed(2));
      handle.setAttribute("aria-valuemax", high.toFixed(2));
      handle.setAttribute("aria-valuenow", depth.toFixed(2));
      handle.setAttribute("aria-valuetext", this.words("tracks.depth", { depth: depth.toFixed(2) }));
      handle.setAttribute("aria-label", this.words("tracks.boundary", { number: k + 1 }));
      handle.setAttribute("aria-disabled", String(!this.editable));
      handle.lastChild.textContent = depth.toFixed(2);
    });
  }

  focus(index) {
    this.handles[index]?.focus();
  }

  #make() {
    const handle = element("div", "boundary");
    handle.tabIndex = 0;
    handle.setAttribute("role", "slider");
    handle.setAttribute("aria-orientation", "vertical");
    const grip = element("span", "boundary-grip");
    const text = element("span", "boundary-depth");
    handle.append(element("span", "boundary-line"), grip, text);
    this.lane.append(handle);
    return handle;
  }

  #limits(index) {
    const low = index ? this.depths[index - 1] + LEAST : this.axis.low + LEAST;
    const high = index + 1 < this.depths.length ? this.depths[index + 1] - LEAST : this.axis.high - LEAST;
    return [low, Math.max(low, high)];
  }

  /** Places of the grips [px]: at their boundaries, or apart where those are close together. */
  #spread() {
    const places = this.depths.map((depth) => this.axis.y(depth));
    const seen = places.map((y, k) => k).filter((k) => places[k] >= -1 && places[k] <= this.axis.height + 1);
    for (let round = 0; round < 30; round += 1) {
      let moved = false;
      for (let j = 1; j < seen.length; j += 1) {
        const lack = APART - (places[seen[j]] - places[seen[j - 1]]);
        if (lack > 0.5) {
          places[seen[j - 1]] -= lack / 2;
          places[seen[j]] += lack / 2;
          moved = true;
        }
      }
      if (!moved) break;
    }
    return places;
  }

  #nearest(y) {
    let best = -1;
    let far = REACH;
    this.grips.forEach((grip, k) => {
      const away = Math.abs(grip - y);
      if (away <= far && !this.handles[k].hidden) {
        best = k;
        far = away;
      }
    });
    return best;
  }

  #y(event) {
    return event.clientY - this.lane.getBoundingClientRect().top;
  }

  #take(event) {
    if (event.button > 0 || !this.editable || this.drag) return;
    const y = this.#y(event);
    const index = this.#nearest(y);
    if (index < 0) return;
    event.preventDefault();
    this.lane.setPointerCapture(event.pointerId);
    const from = this.depths[index];
    this.drag = { index, from, pointer: event.pointerId, offset: this.axis.y(from) - y, moved: false };
    this.handles[index].focus({ preventScroll: true });
    this.handles[index].classList.add("dragged");
  }

  #drag(event) {
    if (!this.drag || event.pointerId !== this.drag.pointer) return;
    const depth = this.axis.depth(this.#y(event) + this.drag.offset);
    this.drag.moved = true;
    this.#move(this.drag.index, depth);
  }

  #drop(event) {
    if (!this.drag || event.pointerId !== this.drag.pointer) return;
    const { index, from, moved } = this.drag;
    this.#release();
    if (moved && this.depths[index] !== from) this.actions.done(index, from, this.depths[index]);
  }

  #cancel() {
    if (!this.drag) return;
    const { index, from } = this.drag;
    this.#release();
    this.#move(index, from);
  }

  #release() {
    this.handles[this.drag.index].classList.remove("dragged");
    this.drag = null;
    this.actions.released?.();
  }

  #move(index, depth) {
    const [low, high] = this.#limits(index);
    this.depths[index] = Math.round(Math.min(Math.max(depth, low), high) * 100) / 100;
    this.place();
    this.actions.move(index, this.depths[index]);
  }

  #key(event) {
    const index = this.handles.indexOf(event.target);
    if (index < 0) return;
    if (event.key === "Escape" && this.drag) {
      this.#cancel();
    } else if (event.key === "Enter") {
      this.actions.open(index);
    } else if (event.key in STEP && this.editable) {
      const from = this.depths[index];
      this.#move(index, from + STEP[event.key] * (event.shiftKey ? 10 : 1));
      if (this.depths[index] !== from) this.actions.done(index, from, this.depths[index]);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }
}
