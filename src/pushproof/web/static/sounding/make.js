/* Small makers of elements that the pages of a sounding share. */

import { Fault, text } from "/static/shell.js";

export { text };

export function card(title, content, wide = false) {
  const made = text("section", wide ? "card wide" : "card", "");
  made.append(text("h2", "", title), ...[content].flat());
  return made;
}

/* Do the work of a page; what the server refuses stands in its place. */
export async function drawOrTell(place, work) {
  try {
    await work();
  } catch (error) {
    if (!(error instanceof Fault)) {
      throw error;
    }
    const message = text("p", "message", error.message);
    message.dataset.level = "stop";
    message.setAttribute("role", "alert");
    place.replaceChildren(message);
  }
}

/* Do what the server may refuse; what it says stands in a place. */
export async function orTell(place, work) {
  try {
    await work();
  } catch (error) {
    if (!(error instanceof Fault)) {
      throw error;
    }
    place.className = "level-stop";
    place.textContent = error.message;
  }
}

/* Return what does a work one at a time; while it goes on only the newest wish waits. */
export function oneAtATime(work) {
  let busy = false;
  let wanted = false;
  return async () => {
    wanted = true;
    if (busy) return;
    busy = true;
    try {
      while (wanted) {
        wanted = false;
        await work();
      }
    } finally {
      busy = false;
    }
  };
}

/* Where a form tells how it went. */
export function status() {
  const made = text("p", "", "");
  made.setAttribute("role", "status");
  return made;
}

/* An input, or a choice, with its label. */
export function labelled(words, input, tag = "div") {
  const box = document.createElement(tag);
  const label = text("label", "", words);
  label.htmlFor = input.id;
  box.append(label, input);
  return box;
}

export function row(...cells) {
  const made = document.createElement("tr");
  for (const cell of cells) {
    made.append(cell instanceof Node ? cell : text("td", "", cell ?? "–"));
  }
  return made;
}

export function cell(content, kind = "") {
  const made = text("td", kind, "");
  made.append(...(Array.isArray(content) ? content : [content]));
  return made;
}

/* A table with headings; rows are arrays of texts or nodes. */
export function table(headings, rows, kinds = []) {
  const made = document.createElement("table");
  const head = made.createTHead().insertRow();
  headings.forEach((words, k) => {
    const one = text("th", kinds[k] ?? "", words);
    one.scope = "col";
    head.append(one);
  });
  const body = made.createTBody();
  for (const cells of rows) {
    body.append(row(...cells.map((one, k) =>
      one instanceof Node ? cell(one, kinds[k] ?? "") : text("td", kinds[k] ?? "", one ?? "–"))));
  }
  return made;
}

/* A level in words with its sign; its colour is never alone. */
export function level(word) {
  return text("span", `level-${word}`, word);
}

export function list(words) {
  const made = document.createElement("ul");
  made.append(...words.map((one) => text("li", "", one)));
  return made;
}

export function number(value, digits = 1, sign = false) {
  if (value === null || value === undefined) {
    return "–";
  }
  const shown = value.toFixed(digits).replace("-", "−");
  return sign && value > 0 ? `+${shown}` : shown;
}

const SVG = "http://www.w3.org/2000/svg";

/* An SVG element with attributes. */
export function svg(tag, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) {
    made.setAttribute(name, value);
  }
  made.append(...children);
  return made;
}
