/* The start page: the soundings that are served. */

import { ask, start, text } from "/static/shell.js";
import { say } from "/static/text/say.js";

await start({ page: "start", title: say("start.title") });
const site = await ask("/api/site");
const table = document.getElementById("soundings");
table.hidden = site.soundings.length === 0;
document.getElementById("none").hidden = site.soundings.length > 0;
for (const one of site.soundings) {
  const row = document.createElement("tr");
  const name = document.createElement("td");
  const link = text("a", "key", one.name);
  link.href = `/log?s=${encodeURIComponent(one.id)}`;
  link.setAttribute("aria-label", say("start.open", { name: one.name }));
  name.append(link);
  row.append(name, text("td", "", one.file));
  table.tBodies[0].append(row);
}
const unread = document.getElementById("unread");
unread.hidden = site.unread.length === 0;
for (const one of site.unread) {
  unread.querySelector("ul").append(text("li", "", `${one.file}: ${one.fault}`));
}
