/* Who says so: initials that this browser remembers, and the time of a fact. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

export function initials() {
  return (localStorage.getItem("initials") ?? "").trim();
}

/* A field for initials; what is typed is remembered. */
export function byField(id, words = say("field.initials")) {
  const box = text("div", "by", "");
  const input = document.createElement("input");
  input.id = id;
  input.maxLength = 60;
  input.size = 8;
  input.autocomplete = "off";
  input.value = initials();
  const label = text("label", "", words);
  label.htmlFor = id;
  input.addEventListener("input", () => localStorage.setItem("initials", input.value.trim()));
  box.append(label, input);
  return { box, input };
}

/* Date and time of a fact; only the time if it was today. */
export function clock(at) {
  const when = new Date(at * 1000);
  const time = when.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const date = when.toLocaleDateString("sv-SE");
  return date === new Date().toLocaleDateString("sv-SE") ? time : `${date} ${time}`;
}
