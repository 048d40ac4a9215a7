/* Links between the pages of one sounding, below the head of the page. */

import { text } from "/static/shell.js";
import { say } from "/static/text/say.js";

const PAGES = ["log", "proof", "dissipation", "equipment", "report", "field"];

export function soundingOf() {
  return new URLSearchParams(location.search).get("s") ?? "";
}

export function soundingLinks(page, name) {
  const nav = document.createElement("nav");
  nav.className = "page-links sounding-links";
  nav.setAttribute("aria-label", say("sounding.pages", { name }));
  nav.append(text("strong", "sounding-name", name));
  for (const one of PAGES) {
    const link = text("a", "", say(`sounding.${one}`));
    link.href = `/${one}?s=${encodeURIComponent(soundingOf())}`;
    if (one === page) {
      link.setAttribute("aria-current", "page");
    }
    nav.append(link);
  }
  document.querySelector("main").before(nav);
}
