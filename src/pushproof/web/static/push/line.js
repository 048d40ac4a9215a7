/*
 * The line: the one place that says what matters most now, in words read at arm's length. What is
 * too old comes first, then the trouble of the sound link with its joint, then the gravest alarm,
 * and when all is quiet what the rods do.
 */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { key, SIGNS } from "./numbers.js";
import { mark, number, put, show, span } from "./put.js";

export class Line {
  constructor(root) {
    this.root = root;
    this.doing = root.querySelector("#doing");
    this.stale = call(root.querySelector("#stale"));
    this.trouble = call(root.querySelector("#verdict"));
  }

  /** Draw a state; silence are the seconds since the server was last heard, null while it is. */
  draw(state, silence) {
    const old = tooOld(state, silence);
    tell(this.stale, old);
    const trouble = silence === null && !isOver(state)
      ? broken(state) ?? joint(state) ?? worst(state, old !== null)
      : null;
    tell(this.trouble, trouble);
    show(this.doing, !old && !trouble);
    mark(this.root, "calls", String([old, trouble].filter(Boolean).length));
    if (!state.advance) return;
    put(this.doing, headline(doing(state)));
    mark(this.doing, "moves", state.advance.pushing ? "yes" : "no");
  }
}

function call(box) {
  const words = text("span", "call-words", "");
  const advice = text("span", "call-advice", "");
  box.append(words, advice);
  return { box, words, advice };
}

function tell(place, what) {
  show(place.box, what !== null);
  if (what === null) return;
  mark(place.box, "level", what.level);
  put(place.words, `${SIGNS[what.level]} ${headline(what.words)}`);
  put(place.advice, what.advice ?? "");
}

/** Words as the first of a line. */
function headline(words) {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function isOver(state) {
  return ["ended", "interrupted", "none"].includes(state.recording);
}

/** What is too old, in words nobody can miss; it covers nothing that is still true. */
function tooOld(state, silence) {
  if (silence !== null) {
    const words = say("push.stale.server", { time: span(silence) });
    return { level: "stop", words, advice: say("push.stale.goesOn") };
  }
  if (isOver(state) || !state.cone) return null;
  const parts = [];
  for (const name of ["cone", "encoder"]) {
    const one = state[name];
    const time = one.age === null ? "" : span(one.age);
    if (one.connected === false) parts.push(say(`push.stale.${name}Gone`, { time }));
    else if (one.freshness === "no reading yet") parts.push(say(`push.stale.${name}None`));
    else if (one.freshness !== "fresh" && one.age !== null && !one.excused) {
      parts.push(say(`push.stale.${name}`, { time }));
    }
  }
  if (!parts.length) return null;
  const grave = gone(state.cone) || gone(state.encoder);
  return { level: grave ? "stop" : "caution", words: parts.join(" \u00B7 ") };
}

/** Whether a stream is away without a reason that everybody can see. */
function gone(stream) {
  return stream.old && !stream.excused;
}

/** What takes the level of the sound link down; a joint is called by its name. */
function joint({ link, advance }) {
  if (link.verdict === "") return null;
  const sure = link.sure === null ? "" : say("push.sure", { sure: number(link.sure, 0) });
  const name = link.joint === null
    ? link.verdict
    : say("push.jointOf", { rod: link.joint, rods: advance.rods });
  const level = link.status === "ok" ? "caution" : link.status;
  return { level, words: name, advice: [sure, link.advice].filter(Boolean).join(" ") };
}

/** What is wrong with the record itself. */
function broken({ warnings }) {
  return warnings.length ? { level: "stop", words: warnings[0] } : null;
}

/* Alarms of what is too old: the line says that already. */
const SILENT = ["silence", "depth-silence", "source"];

/** The gravest alarm that nobody has seen yet, if it asks to stop; cautions stand in the list. */
function worst({ alarms }, toldOld) {
  const grave = alarms.filter((one) => one.sounds && one.level === "stop");
  const one = grave.find(({ rule }) => !(toldOld && SILENT.includes(rule)));
  return one ? { level: "stop", words: one.text, advice: one.advice } : null;
}

function doing(state) {
  const { zero } = state;
  if (state.pause !== null) return say("push.paused", { reason: state.pause });
  if (zero) return say(`push.zeroing.${zero.which}`, { done: number(zero.elapsed, 0), asked: number(zero.asked, 0) });
  if (state.dissipation) return say("push.dissipating", { number: state.dissipation.number, depth: number(state.dissipation.depth, 2) });
  const moves = say(`push.moves.${key(state.advance.state)}`);
  // while the rods are open nothing can be heard, and that is no fault
  const { cone } = state;
  if (!cone.excused || cone.freshness === "fresh" || cone.age === null) return moves;
  return `${moves} \u00B7 ${say("push.stale.open", { time: span(cone.age) })}`;
}
