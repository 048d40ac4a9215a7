/* What every page has: head, theme, connection, and calls to the server. */

import { fill, say } from "/static/text/say.js";

const CLIENT = (() => {
  const kept = sessionStorage.getItem("client");
  const name = kept ?? Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) =>
    b.toString(16).padStart(2, "0")).join("");
  sessionStorage.setItem("client", name);
  return name;
})();

export const client = CLIENT;

/* An answer that is no success: status (0 without a connection) and the words of the server. */
export class Fault extends Error {
  constructor(status, text, body = {}) {
    super(text);
    this.status = status;
    this.body = body;
  }
}

export async function ask(path, { signal } = {}) {
  return call(path, { signal });
}

export async function tell(path, body, method = "POST") {
  return call(path, {
    method,
    headers: { "content-type": "application/json" },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
}

/* Send a file as it is. */
export async function send(path, file) {
  return call(path, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
}

async function call(path, options) {
  let answer;
  try {
    answer = await fetch(path, {
      ...options,
      headers: { "x-client": CLIENT, ...options.headers },
      credentials: "same-origin",
    });
  } catch (error) {
    if (error.name === "AbortError") {
      throw error;
    }
    showConnection(false);
    throw new Fault(0, say("shell.lost"));
  }
  showConnection(true);
  if (answer.status === 401 && location.pathname !== "/login") {
    location.assign(`/login?to=${encodeURIComponent(location.pathname + location.search)}`);
  }
  const isJson = (answer.headers.get("content-type") ?? "").includes("json");
  const body = isJson ? await answer.json() : await answer.text();
  if (!answer.ok) {
    throw new Fault(answer.status, body.error ?? `${answer.status}`, body);
  }
  return body;
}

/* Say whether the server answers; pages with a stream call it too. */
export function showConnection(connected) {
  const place = document.querySelector(".connection");
  if (!place || place.dataset.state === (connected ? "fine" : "lost")) {
    return;
  }
  place.dataset.state = connected ? "fine" : "lost";
  place.textContent = say(connected ? "shell.connected" : "shell.lost");
}

/* Themes: the system's wish until somebody chooses. */
function theme() {
  const kept = localStorage.getItem("theme");
  return kept ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
}

function setTheme(name) {
  document.documentElement.dataset.theme = name;
  const key = document.querySelector(".theme-key");
  if (key) {
    key.textContent = say(name === "dark" ? "shell.sun" : "shell.night");
  }
  document.dispatchEvent(new CustomEvent("theme", { detail: name }));
}

document.documentElement.dataset.theme = theme();

/* Draw the head and fill the words; return what this viewer may do. */
export async function start({ page, title = "" }) {
  fill();
  const head = document.createElement("header");
  head.className = "page-head";
  head.append(
    link("skip-link", "#main", say("shell.skip")),
    text("span", "page-name", say("shell.name")),
    links(page),
    state(),
  );
  document.body.prepend(head);
  document.title = [title, say("shell.name")].filter(Boolean).join(" · ");
  setTheme(theme());
  const me = await ask("/api/me");
  if (me.role === "view") {
    head.querySelector(".page-state").prepend(text("span", "soft", say("shell.watching")));
  }
  if (me.password && me.role !== "none") {
    const out = text("button", "key", say("shell.logout"));
    out.addEventListener("click", async () => {
      await tell("/api/logout");
      location.assign("/login");
    });
    head.querySelector(".page-state").append(out);
  }
  return me;
}

const PAGES = [
  ["start", "/"],
  ["push", "/push"],
  ["plan", "/plan"],
  ["field", "/field"],
];

function links(page) {
  const nav = document.createElement("nav");
  nav.className = "page-links";
  nav.setAttribute("aria-label", say("shell.pages"));
  for (const [name, address] of PAGES) {
    const one = link("", address, say(`shell.${name}`));
    if (name === page) {
      one.setAttribute("aria-current", "page");
    }
    nav.append(one);
  }
  return nav;
}

function state() {
  const box = document.createElement("div");
  box.className = "page-state";
  const connection = text("span", "connection", say("shell.connected"));
  connection.setAttribute("role", "status");
  connection.dataset.state = "fine";
  const key = text("button", "key theme-key", "");
  key.setAttribute("title", say("shell.theme"));
  key.addEventListener("click", () => {
    const next = document.documentElement.dataset.theme === "dark" ? "light" : "dark";
    localStorage.setItem("theme", next);
    setTheme(next);
  });
  box.append(connection, key);
  return box;
}

function link(kind, address, words) {
  const one = text("a", kind, words);
  one.href = address;
  return one;
}

/* Make an element with a class and a text. */
export function text(tag, kind, words) {
  const one = document.createElement(tag);
  if (kind) {
    one.className = kind;
  }
  one.textContent = words;
  if (tag === "button") {
    one.type = "button";
  }
  return one;
}
