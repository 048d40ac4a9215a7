/*
 * Wheel, drag, pinch and keys on the tracks. One finger or the mouse pans, two fingers or the
 * wheel with Ctrl zoom, a tap or a click reads the values there. Keys move the cursor up and down,
 * choose a track left and right, zoom, pan, and explain.
 */

/* A press that moves less than this [px] is a tap. */
const TAP = 6;
const WHEEL_ZOOM = 0.0022;

/**
 * Listen on an element; return what tells whether a finger or a button is down. Actions: cursor(y), leave(), tap(x, y), mark(y0, y1, done) while an interval
 * is being marked; marking() tells whether a drag marks instead of panning.
 */
export function listen(element, axis, actions) {
  const pointers = new Map();
  let moved = 0;
  let from = null;

  element.addEventListener("wheel", (event) => {
    event.preventDefault();
    const step = event.deltaMode === 1 ? event.deltaY * 32 : event.deltaY;
    axis.following = false;
    if (event.ctrlKey || event.metaKey) axis.zoom(Math.exp(step * WHEEL_ZOOM * (event.deltaMode ? 1 : 2)), event.offsetY);
    else axis.pan(step * axis.perPixel);
    actions.moved();
  }, { passive: false });

  element.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    element.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
    if (pointers.size === 1) {
      moved = 0;
      from = event.offsetY;
    } else moved = TAP * 2;
  });

  element.addEventListener("pointermove", (event) => {
    const last = pointers.get(event.pointerId);
    if (!last) {
      if (event.pointerType !== "touch") actions.cursor(event.offsetY);
      return;
    }
    const now = { x: event.offsetX, y: event.offsetY };
    if (pointers.size === 2) pinch(pointers, event.pointerId, now, axis, actions);
    else {
      moved = Math.max(moved, Math.abs(now.y - from), 0);
      if (moved > TAP) {
        if (actions.marking()) actions.mark(from, now.y, false);
        else {
          axis.following = false;
          axis.pan((last.y - now.y) * axis.perPixel);
          actions.moved();
        }
      }
      if (event.pointerType !== "touch") actions.cursor(now.y);
    }
    pointers.set(event.pointerId, now);
  });

  const end = (event) => {
    const last = pointers.get(event.pointerId);
    if (!last) return;
    pointers.delete(event.pointerId);
    if (event.type === "pointercancel") return;
    if (moved <= TAP) actions.tap(event.offsetX, event.offsetY);
    else if (actions.marking() && !pointers.size) actions.mark(from, event.offsetY, true);
    if (pointers.size === 1) [{ y: from }] = pointers.values();
  };
  element.addEventListener("pointerup", end);
  element.addEventListener("pointercancel", end);
  element.addEventListener("pointerleave", (event) => {
    if (event.pointerType !== "touch" && !pointers.has(event.pointerId)) actions.leave();
  });
  element.addEventListener("keydown", (event) => keys(event, axis, actions));
  return () => pointers.size > 0;
}

function pinch(pointers, id, now, axis, actions) {
  const [other] = [...pointers].filter(([key]) => key !== id).map(([, place]) => place);
  const last = pointers.get(id);
  const before = Math.max(Math.abs(last.y - other.y), 12);
  const after = Math.max(Math.abs(now.y - other.y), 12);
  axis.following = false;
  axis.zoom(before / after, (now.y + other.y) / 2);
  axis.pan(((last.y - now.y) / 2) * axis.perPixel);
  actions.moved();
}

function keys(event, axis, actions) {
  if (event.altKey || ((event.ctrlKey || event.metaKey) && !["+", "-", "="].includes(event.key))) return;
  const page = axis.span * 0.8;
  const act = {
    ArrowDown: () => actions.step(event.shiftKey ? 10 : 1),
    ArrowUp: () => actions.step(event.shiftKey ? -10 : -1),
    ArrowRight: () => actions.across(1),
    ArrowLeft: () => actions.across(-1),
    PageDown: () => axis.pan(page),
    PageUp: () => axis.pan(-page),
    Home: () => actions.jump(axis.low),
    End: () => actions.jump(axis.high),
    "+": () => axis.zoom(0.8),
    "=": () => axis.zoom(0.8),
    "-": () => axis.zoom(1.25),
    0: () => axis.showAll(),
    f: () => actions.follow(),
    Enter: () => actions.pick(),
    Escape: () => actions.leave(true),
  }[event.key];
  if (!act) return;
  event.preventDefault();
  if (["PageDown", "PageUp", "Home", "+", "=", "-"].includes(event.key)) axis.following = false;
  act();
  actions.moved();
}
