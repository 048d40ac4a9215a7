/* The log page: tracks of one sounding, its values, findings, layers, methods and decisions. */

import { ask, Fault, start } from "/static/shell.js";
import { soundingLinks } from "/static/sounding/links.js";
import { say } from "/static/text/say.js";
import { DepthTracks } from "/static/tracks/depth-tracks.js";
import { nameMethods, showDecisions } from "/static/log/decisions.js";
import { Draft } from "/static/log/draft.js";
import { Edits } from "/static/log/edits.js";
import { showExplanation } from "/static/log/explain.js";
import { pointAt, showFindings } from "/static/log/findings.js";
import { Follow } from "/static/log/follow.js";
import { LayerEdits } from "/static/log/layeredits.js";
import { showMethods } from "/static/log/methods.js";
import { SaveSheet } from "/static/log/savesheet.js";
import { ServerSource } from "/static/log/source.js";
import { Tabs } from "/static/log/tabs.js";
import { TrackSheet } from "/static/log/tracksheet.js";
import { says, Values } from "/static/log/values.js";

const TABS = ["values", "findings", "layers", "methods", "edits", "decisions"];
/* How often the page looks whether somebody else saved [ms]. */
const LOOK = 5000;
const NARROW = 1000;

const by = (id) => document.getElementById(id);
const id = new URLSearchParams(location.search).get("s") ?? "";

class LogPage {
  working = 0;

  async open() {
    this.me = await start({ page: "log", title: say("log.title") });
    const site = await ask("/api/site");
    site.soundings = site.soundings.filter((one) => !one.waiting);
    this.id = id || site.soundings[0]?.id;
    if (!this.id) {
      for (const part of document.querySelectorAll("#which, .log-keys, .log-draft, .log-body")) part.hidden = true;
      by("name").textContent = say("log.title");
      this.notice(say("log.none"), "info", [[say("start.title"), () => location.assign("/")]]);
      return;
    }
    this.editable = this.me.role !== "view";
    this.#links(site.soundings.find((one) => one.id === this.id)?.name ?? this.id);
    this.#choices(site.soundings);
    this.#build();
    await this.#guard(async () => {
      await this.follow.begin();
      await this.draft.load();
      await this.#refresh({ whole: true });
    });
    this.#listen();
    this.follow.start();
    setInterval(() => this.#look(), LOOK);
    document.body.dataset.ready = "true";
  }

  // What is drawn

  #build() {
    this.tabs = new Tabs(by("tabs"), by("panels"), TABS);
    this.view = new DepthTracks(by("tracks"), {
      words: say,
      readAt: async (depth) => {
        const reading = await this.source.at(depth);
        return { ...reading, says: says(reading) };
      },
      rowStep: () => this.log?.step ?? 0.02,
      onCursor: (reading) => this.values.show(reading),
      onPick: (reading, track) => this.#pick(reading, track),
      onFindings: (numbers) => {
        this.tabs.show("findings");
        pointAt(this.tabs.panel("findings"), numbers);
      },
      onMark: (top, base) => this.#marked(top, base),
      onBoundary: (index, from, depth) => this.layers.move(index, depth),
      onReleased: () => this.layers.late(),
      onFollow: () => this.follow.tell(),
      tip: () => this.log?.high ?? 0,
      onBoundaryOpen: (index) => {
        this.tabs.show("layers");
        by(`edge-${this.layers.at[index]}`)?.focus();
      },
    });
    const told = {
      onready: () => this.view.invalidate(),
      onfault: (fault) => this.#fault(fault),
    };
    this.source = new ServerSource(this.id, told);
    this.saved = new ServerSource(this.id, told);
    this.told = told;
    this.view.setSource(this.source);
    this.draft = new Draft(this.id, () => this.#refresh({}));
    this.values = new Values(this.tabs.panel("values"), {
      go: (depth) => this.go(depth),
      explain: (key, depth) => this.explain(key, depth),
    });
    this.explained = document.createElement("div");
    this.explained.hidden = true;
    this.tabs.panel("values").append(this.explained);
    this.edits = new Edits(this.tabs.panel("edits"), {
      setting: (field, value) => this.change((document_) => set(document_, field, value)),
      blank: (interval) => this.#blank(interval),
      restore: (index) => this.change((document_) => {
        document_.blanked.splice(index, 1);
        if (!document_.blanked.length) delete document_.blanked;
      }),
      mark: (on) => this.view.mark(on),
    });
    this.layers = new LayerEdits(this);
    this.follow = new Follow(this);
    this.trackSheet = new TrackSheet(this);
    this.saveSheet = new SaveSheet(this);
  }

  /** Bring everything in line with the draft; whole also begins a new window. */
  async #refresh({ whole = false }) {
    const query = this.draft.recipe ? `?recipe=${this.draft.recipe}` : "";
    const log = await ask(`/api/soundings/${this.id}/log${query}`);
    this.log = log;
    if (whole) this.names = this.trackSheet.kept() ?? this.#fitting(log.usual);
    by("name").textContent = log.name;
    document.title = `${log.name} \u00B7 ${say("shell.name")}`;
    await this.showTracks();
    this.follow.ends(log);
    if (whole) this.view.axis.showAll();
    this.#overlay();
    this.#findings();
    showMethods(this.tabs.panel("methods"), this.draft.choices, {
      method: (field, name, column) => this.#method(field, name, column),
      factor: (field, value) => this.change((document_) => setIn(document_, "factors", field, value)),
    });
    this.edits.show(this.draft.document);
    nameMethods(this.draft.choices);
    showDecisions(this.tabs.panel("decisions"), this.draft.versions, {
      editable: this.editable,
      back: (number) => this.saveSheet.back(number),
    });
    this.#bar();
    if (this.view.cursorDepth !== null) this.view.setCursor(this.view.cursorDepth);
    await this.layers.show();
  }

  async showTracks() {
    const tracks = await this.#askTracks();
    this.source.choose({ names: this.names, recipe: this.draft.recipe });
    this.#setTracks(tracks);
  }

  async #askTracks() {
    const query = new URLSearchParams({ names: this.names.join(",") });
    if (this.draft.recipe) query.set("recipe", this.draft.recipe);
    const tracks = await ask(`/api/soundings/${this.id}/tracks?${query}`);
    for (const track of tracks) {
      if (this.source.bands) track.bands = track.curves.map((curve) => ({ low: `${curve.key}.p10`, high: `${curve.key}.p90` }));
    }
    return tracks;
  }

  #setTracks(tracks) {
    const { rail, marks, observed } = this.log;
    const layout = { rail, marks: this.follow.marks(marks), observed };
    const shape = JSON.stringify(tracks);
    if (shape === this.shape) this.view.setLayout(layout);
    else this.view.setTracks(tracks, layout);
    this.shape = shape;
  }

  #findings() {
    const { findings, classes, observed } = this.log;
    const shape = JSON.stringify([findings, classes, observed]);
    if (shape !== this.found) showFindings(this.tabs.panel("findings"), this.log, (finding) => this.#jump(finding));
    this.found = shape;
    this.tabs.count("findings", findings.length);
  }

  /**
   * Take in what a push has added. The draft, the window, the cursor, what is typed and a boundary
   * in a hand stay as they are. Tell whether it was taken in: an edit that comes between goes first.
   */
  async grow() {
    const { recipe } = this.draft;
    const names = this.names;
    const log = await ask(`/api/soundings/${this.id}/log${recipe ? `?recipe=${recipe}` : ""}`);
    const tracks = await this.#askTracks();
    if (this.working || recipe !== this.draft.recipe || names !== this.names) return false;
    this.log = log;
    this.#setTracks(tracks);
    this.source.grown();
    if (this.draft.dirty) this.saved.grown();
    this.follow.ends(log);
    this.#findings();
    if (this.view.cursorDepth !== null) this.view.setCursor(this.view.cursorDepth);
    await this.layers.show();
    return true;
  }

  /** On a narrow screen begin with the tracks that are read most. */
  #fitting(names) {
    const most = by("tracks").clientWidth < 700 ? 5 : by("tracks").clientWidth < NARROW ? 6 : 8;
    const least = ["blows", "ratio"];
    const kept = [...names];
    while (kept.length > most && least.length) {
      const drop = least.shift();
      if (kept.includes(drop)) kept.splice(kept.indexOf(drop), 1);
    }
    return kept;
  }

  /** Another sounding, or else the saved version under a draft, is drawn over the curves. */
  #overlay() {
    if (this.other) this.view.setOverlay({ source: this.other });
    else if (this.draft.dirty) {
      this.saved.choose({ names: this.names, recipe: "" });
      this.view.setOverlay({ source: this.saved });
    } else this.view.setOverlay(null);
  }

  #bar() {
    const count = this.draft.changed.length;
    by("draft").hidden = !this.editable;
    by("draft-words").textContent = count ? say("log.drafted", { count }) : say("log.version", { number: this.draft.version });
    by("undo").disabled = !this.draft.past.length;
    by("discard").disabled = by("save").disabled = !count;
    by("draft").dataset.state = count ? "draft" : "saved";
  }

  // What is done

  /** Put the cursor at a depth and show it. */
  go(depth) {
    this.view.held = true;
    this.view.axis.reveal(depth);
    return this.view.setCursor(depth);
  }

  async explain(key, depth) {
    this.tabs.show("values");
    await this.#guard(async () => {
      await showExplanation(this.explained, this.source, key, depth, () => this.#explained(false));
      this.#explained(true);
      this.explained.querySelector("button").focus();
    });
  }

  #explained(on) {
    for (const part of this.tabs.panel("values").children) part.hidden = part === this.explained ? !on : on;
    if (!on) this.tabs.panel("values").querySelector("input").focus();
  }

  #pick(reading, name) {
    if (!reading || reading.row === null) return;
    const track = this.view.tracks.find((one) => one.name === name);
    if (track?.quantity && reading.values[track.quantity]) this.explain(track.quantity, reading.depth);
    else if (!name) this.tabs.show("values");
  }

  #jump(finding) {
    const base = finding.base ?? finding.top;
    this.view.axis.reveal((finding.top + base) / 2);
    if (base - finding.top > this.view.axis.span) this.view.axis.show(finding.top - 0.5, base + 0.5);
    this.view.showMarked(finding.top, base, true);
    this.go(finding.top);
  }

  #marked(top, base) {
    this.tabs.show("edits");
    this.edits.setInterval(top, base);
    by("mark").setAttribute("aria-pressed", "false");
    this.view.mark(false);
    this.view.showMarked(top, base);
    by("blank-reason").focus();
  }

  async #blank(interval) {
    await this.change((document_) => {
      document_.blanked = [...(document_.blanked ?? []), interval];
    });
    this.view.showMarked(null);
  }

  async #method(field, name, column) {
    if (column && !this.#drawn(column) && this.log.choices.some((one) => one.name === column)) this.names = this.#fitting([...this.names, column]);
    await this.change((document_) => setIn(document_, "methods", field, name));
  }

  #drawn(column) {
    return this.view.tracks.some((track) => track.quantity === column || track.curves?.some((curve) => curve.column === column));
  }

  /** Change the draft; a change that the server refuses is told and taken back. */
  change(edit, mark = "") {
    return this.#guard(() => this.draft.change(edit, mark), () => this.#refresh({}));
  }

  async #guard(work, after = null) {
    this.working += 1;
    document.body.dataset.working = "true";
    try {
      await work();
      this.notice("");
    } catch (fault) {
      this.#fault(fault);
      if (after && fault.status) await this.#guard(after).then(() => this.#fault(fault));
    } finally {
      this.working -= 1;
      if (!this.working) delete document.body.dataset.working;
    }
  }

  #fault(fault) {
    if (!(fault instanceof Fault)) throw fault;
    if (fault.status === 410) this.#guard(() => this.draft.change(() => {}));
    else this.notice(fault.message, "stop");
  }

  /** Show a message over the tracks; empty takes it away. */
  notice(words, level = "", actions = []) {
    const box = by("notice");
    clearTimeout(this.passing);
    if (words && !level) this.passing = setTimeout(() => this.notice(""), 8000);
    box.hidden = !words;
    box.dataset.level = level;
    box.replaceChildren(words);
    for (const [label, act] of actions) {
      const key = document.createElement("button");
      key.type = "button";
      key.className = "key";
      key.textContent = label;
      key.addEventListener("click", act);
      box.append(" ", key);
    }
  }

  /** Look whether somebody else saved: follow without a draft, tell with one. */
  async #look() {
    if (document.hidden || by("save-sheet").open) return;
    try {
      const newer = await this.draft.newer();
      if (!newer || newer.number === this.toldOf) return;
      this.toldOf = newer.number;
      if (this.draft.dirty) this.tellNewer(newer);
      else await this.reload(say("log.followed", { author: newer.author, number: newer.number, reason: newer.reason }));
    } catch (fault) {
      if (!(fault instanceof Fault)) throw fault;
    }
  }

  tellNewer(newer) {
    const words = say("log.newer", { author: newer.author, number: newer.number, reason: newer.reason });
    this.notice(words, "caution", [
      [say("log.rebase"), () => this.saveSheet.rebase()],
      [say("log.discard"), () => this.reload()],
    ]);
  }

  /** Take the newest saved version; the draft is dropped. */
  async reload(words = "") {
    await this.#guard(async () => {
      await this.draft.load();
      await this.#refresh({});
    });
    this.notice(words);
  }

  // Keys and lists

  /** Links to the other pages of the sounding; in the head, since the tracks need the height. */
  #links(name) {
    if (!id) history.replaceState(null, "", `/log?s=${encodeURIComponent(this.id)}`);
    soundingLinks("log", name);
    document.querySelector(".page-head .page-links").after(document.querySelector(".sounding-links"));
  }

  #choices(soundings) {
    const which = by("which");
    const other = by("other");
    const none = new Option(say("log.compareNone"), "");
    other.append(none);
    for (const one of soundings) {
      which.append(new Option(one.name, one.id, false, one.id === this.id));
      if (one.id !== this.id) other.append(new Option(one.name, one.id));
    }
    by("other").disabled = soundings.length < 2;
    which.addEventListener("change", () => location.assign(`/log?s=${encodeURIComponent(which.value)}`));
    other.addEventListener("change", () => {
      this.other = other.value ? new ServerSource(other.value, this.told) : null;
      this.other?.choose({ names: this.names });
      this.#overlay();
    });
  }

  #listen() {
    by("zoom-in").addEventListener("click", () => this.view.axis.zoom(0.7));
    by("zoom-out").addEventListener("click", () => this.view.axis.zoom(1 / 0.7));
    by("whole").addEventListener("click", () => this.view.axis.showAll());
    by("bands").addEventListener("click", () => this.#guard(async () => {
      const on = !this.source.bands;
      this.source.choose({ bands: on });
      by("bands").setAttribute("aria-pressed", String(on));
      await this.showTracks();
    }));
    by("choose-tracks").addEventListener("click", () => this.trackSheet.open());
    by("undo").addEventListener("click", () => this.#guard(() => this.draft.undo()));
    by("discard").addEventListener("click", () => this.#guard(() => this.draft.discard()));
    by("save").addEventListener("click", () => this.saveSheet.open());
    document.addEventListener("theme", () => this.view.refreshTheme());
    document.addEventListener("keydown", (event) => {
      const typing = ["INPUT", "TEXTAREA", "SELECT"].includes(event.target.tagName);
      if ((event.ctrlKey || event.metaKey) && event.key === "z" && !typing && this.draft.past.length) {
        event.preventDefault();
        this.#guard(() => this.draft.undo());
      }
    });
    document.fonts.ready.then(() => this.view.refreshTheme());
    addEventListener("beforeunload", (event) => {
      if (this.draft.dirty) event.preventDefault();
    });
  }
}

function set(document_, field, value) {
  if (value === null) delete document_[field];
  else document_[field] = value;
}

function setIn(document_, part, field, value) {
  const inner = { ...document_[part] };
  set(inner, field, value);
  set(document_, part, Object.keys(inner).length ? inner : null);
}

const page = new LogPage();
window.logPage = page;
await page.open();
