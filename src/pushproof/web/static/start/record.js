/* The record of the start page: its chain read from end to end when a person asks for it. */

import { tell, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { level } from "/static/sounding/make.js";

export function record(button, place) {
  button.addEventListener("click", async () => {
    button.disabled = true;
    place.replaceChildren(text("p", "", say("start.verifying")));
    try {
      const found = await tell("/api/record/verify", {});
      place.replaceChildren(...found.jobs.flatMap(told));
    } catch (error) {
      place.replaceChildren(text("p", "message", error.message));
    } finally {
      button.disabled = false;
      button.focus();
    }
  });
}

function told(job) {
  const intact = job.problems.length === 0;
  const words = !intact ? "start.broken" : job.whole ? "start.proved" : "start.unsigned";
  const head = text("p", "", "");
  head.append(...(job.whole ? [] : [level(intact ? "caution" : "stop"), " "]),
    text("strong", "", say(words, job)));
  const lines = [
    ...job.problems.map((one) => one.text),
    ...(job.more ? [say("start.moreBroken", job)] : []),
    ...job.sign_offs.map((one) => say(one.changed.length ? "start.signChanged" : "start.signHolds",
      { ...one, changed: one.changed.join("; ") })),
    ...job.notes,
    ...(job.head ? [say("start.head", job)] : []),
  ];
  const list = text("ul", "", "");
  list.append(...lines.map((one) => text("li", "", one)));
  return [head, list];
}
