/* The memory of the cone on the proof page: what the link lost, and the read-out that restores it. */

import { ask, send, tell } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { labelled, number, orTell, status, text } from "/static/sounding/make.js";

/* Whether a proof is that of a push in a job: only there link and memory meet. */
export function hasMemory(proof) {
  const live = proof.origin.some((one) => ["live", "cone memory"].includes(one.trace));
  return proof.sign_off !== undefined && live;
}

/* Fill a place with what link and memory hold; `again` is called when a read-out was kept. */
export async function memory(place, id, mayEdit, again) {
  await orTell(place, async () => {
    const found = await ask(`/api/soundings/${id}/memory`);
    place.className = "memory";
    const parts = [counts(found)];
    if (mayEdit) parts.push(form(id, again));
    place.replaceChildren(...parts);
  });
}

function counts(found) {
  const made = text("dl", "facts", "");
  for (const name of ["expected", "received", "restored", "lost"]) {
    const kind = name === "lost" && found.lost > 0 ? "level-caution" : "";
    made.append(text("dt", "", say(`memory.${name}`)), text("dd", kind, `${found[name]}`));
  }
  if (found.longest_gap > 0 && found.longest_gap_at !== null) {
    made.append(text("dt", "", say("memory.gap")), text("dd", "", say("memory.gapAt", {
      long: number(found.longest_gap, 2), at: number(found.longest_gap_at, 2),
    })));
  }
  return made;
}

function form(id, again) {
  const made = document.createElement("form");
  made.className = "form-row";
  const input = document.createElement("input");
  input.type = "file";
  input.required = true;
  input.id = "memory-file";
  const key = text("button", "key", say("memory.bring"));
  key.type = "submit";
  const told = status();
  made.append(labelled(say("memory.file"), input), key, told);
  made.addEventListener("submit", async (event) => {
    event.preventDefault();
    const file = input.files[0];
    key.disabled = true;
    told.className = "";
    told.textContent = say("memory.reading", { file: file.name });
    await orTell(told, async () => {
      const sent = await send(`/api/intake/upload?name=${encodeURIComponent(file.name)}`, file);
      const kept = await tell(`/api/soundings/${id}/memory`, { token: sent.token });
      await again(say("memory.kept", { readings: kept.readings, restored: kept.restored }));
    });
    key.disabled = false;
  });
  return made;
}
