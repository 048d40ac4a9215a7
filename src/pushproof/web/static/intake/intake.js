/* Bringing a file in: drop it, look at what is in it, name its columns, keep it. */

import { Fault, send, tell, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { level, table } from "/static/sounding/make.js";

export function intake(place, kept) {
  const zone = text("label", "drop", say("intake.drop"));
  const input = document.createElement("input");
  input.type = "file";
  input.multiple = true;
  zone.append(document.createElement("br"), input);
  const told = text("div", "", "");
  told.setAttribute("aria-live", "polite");
  place.replaceChildren(zone, told);
  input.addEventListener("change", () => take([...input.files]));
  for (const kind of ["dragenter", "dragover"]) {
    zone.addEventListener(kind, (event) => {
      event.preventDefault();
      zone.classList.add("over");
    });
  }
  for (const kind of ["dragleave", "drop"]) {
    zone.addEventListener(kind, () => zone.classList.remove("over"));
  }
  zone.addEventListener("drop", (event) => {
    event.preventDefault();
    take([...event.dataTransfer.files]);
  });

  async function take(files) {
    for (const file of files) {
      try {
        const found = await send(`/api/intake/upload?name=${encodeURIComponent(file.name)}`, file);
        told.append(trial(found, kept));
      } catch (error) {
        told.append(problem(error, file.name));
      }
    }
    input.value = "";
  }
}

function short(value) {
  return `${Number(value.toPrecision(5))}`.replace("-", "−");
}

function problem(error, name) {
  if (!(error instanceof Fault)) {
    throw error;
  }
  const message = text("p", "message", `${name}: ${error.message}`);
  message.dataset.level = "stop";
  return message;
}

/* One file on trial: what is in it, and the keys to keep it or not. */
function trial(first, kept) {
  const box = text("section", "card", "");
  const content = text("div", "", "");
  const columns = document.createElement("input");
  columns.id = `columns-${first.token}`;
  columns.placeholder = "depth=1:m, qc=2:MPa, fs=3:kPa";
  columns.size = 40;
  const label = text("label", "", say("intake.columns"));
  label.htmlFor = columns.id;
  const look = text("button", "key", say("intake.look"));
  const keep = text("button", "key primary", say("intake.keep"));
  const away = text("button", "key", say("intake.away"));
  const answer = text("p", "", "");
  answer.setAttribute("role", "status");
  const naming = text("div", "form-row", "");
  const namer = text("div", "", "");
  namer.append(label, columns);
  naming.append(namer, look);
  const keys = text("div", "form-row", "");
  keys.append(keep, away);
  box.append(text("h2", "", first.name), content, naming, keys, answer);
  show(first);

  function show(found) {
    keep.disabled = Boolean(found.fault);
    const parts = [];
    if (found.fault) {
      const message = text("p", "message", found.fault);
      message.dataset.level = "stop";
      parts.push(message);
    }
    for (const one of found.soundings) {
      parts.push(text("p", "", say("intake.sounding", {
        name: one.name, rows: one.rows, tests: one.dissipations, format: found.format,
      })), table(
        [say("intake.quantity"), say("intake.unit"), say("intake.rows"), say("intake.range")],
        one.columns.filter((c) => c.symbol !== "origin").map((c) => [`${c.symbol}  ${c.name}`, c.unit, `${c.rows}`,
          c.low === null ? "–" : `${short(c.low)} … ${short(c.high)}`]),
      ));
      for (const finding of one.findings.filter((f) => f.severity !== "info")) {
        const line = text("p", "", "");
        line.append(level(finding.severity), ` ${finding.found}`);
        parts.push(line);
      }
    }
    if (found.head.length) {
      const head = document.createElement("details");
      head.open = Boolean(found.fault);
      head.append(text("summary", "", say("intake.head")), text("pre", "mono", found.head.join("\n")));
      parts.push(head);
    }
    content.replaceChildren(...parts);
  }

  async function act(work) {
    answer.className = "";
    answer.textContent = "";
    try {
      await work();
    } catch (error) {
      if (!(error instanceof Fault)) {
        throw error;
      }
      answer.className = "level-stop";
      answer.textContent = error.message;
    }
  }

  look.addEventListener("click", () => act(async () =>
    show(await tell(`/api/intake/${first.token}/preview`, { columns: columns.value }))));
  keep.addEventListener("click", () => act(async () => {
    const done = await tell(`/api/intake/${first.token}/keep`, { columns: columns.value });
    box.replaceChildren(text("p", "message", say("intake.kept", { names: done.soundings.join(", ") })));
    kept();
  }));
  away.addEventListener("click", () => act(async () => {
    await tell(`/api/intake/${first.token}`, undefined, "DELETE");
    box.remove();
  }));
  return box;
}

