/* Saving a draft as a decision: author, reason, and what to do when somebody else was first. */

import { Fault, text } from "/static/shell.js";
import { say } from "/static/text/say.js";
import { changeWords } from "/static/log/decisions.js";

const AUTHOR = "author";
const by = (id) => document.getElementById(id);

export class SaveSheet {
  constructor(page) {
    this.page = page;
    this.sheet = by("save-sheet");
    by("author").value = localStorage.getItem(AUTHOR) ?? "";
    by("save-cancel").addEventListener("click", () => this.sheet.close());
    by("save-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#save();
    });
  }

  open() {
    this.backTo = null;
    by("save-title").textContent = say("log.saveTitle");
    by("save-changes").replaceChildren(...this.page.draft.changed.map((one) => text("li", "", changeWords(one))));
    by("save-fault").hidden = true;
    this.sheet.showModal();
    by(by("author").value ? "reason" : "author").focus();
  }

  async #save() {
    const author = by("author").value.trim();
    localStorage.setItem(AUTHOR, author);
    try {
      const reason = by("reason").value.trim();
      if (this.backTo === null) await this.page.draft.save(author, reason);
      else await this.page.draft.back(this.backTo, author, reason);
    } catch (fault) {
      if (!(fault instanceof Fault)) throw fault;
      if (fault.status === 409 && fault.body.changed) this.#conflict(fault);
      else this.#fault(fault.message);
      return;
    }
    by("reason").value = "";
    this.sheet.close();
    await this.page.reload(say("log.saved", { number: this.page.draft.version }));
  }

  #fault(words) {
    by("save-fault").textContent = words;
    by("save-fault").hidden = false;
  }

  /** Somebody else saved meanwhile: say who, why and what, and offer to put this onto it. */
  #conflict(fault) {
    this.sheet.close();
    const { author, newest, reason, changed } = fault.body;
    this.page.toldOf = newest;
    const what = changed.map(changeWords).join("; ");
    const words = say("log.conflict", { author, number: newest, reason, what });
    this.page.notice(words, "caution", [
      [say("log.rebase"), () => this.rebase()],
      [say("log.discard"), () => this.page.reload()],
    ]);
  }

  /** Put the draft onto the newest version, and say which fields both changed. */
  async rebase() {
    try {
      const both = await this.page.draft.rebase();
      const fields = both.map((field) => field.split(".").pop().replaceAll("_", " ")).join(", ");
      this.page.notice(both.length ? say("log.bothChanged", { fields }) : say("log.rebased", { number: this.page.draft.version }), both.length ? "caution" : "");
    } catch (fault) {
      if (!(fault instanceof Fault)) throw fault;
      this.page.notice(fault.message, "stop");
    }
  }

  /** Go back to an older version, as a new one: it too has an author and a reason. */
  back(number) {
    this.backTo = number;
    by("save-title").textContent = say("log.backTo", { number });
    by("save-changes").replaceChildren();
    by("reason").value = say("log.backReason", { number });
    by("save-fault").hidden = true;
    this.sheet.showModal();
    by("author").focus();
  }
}
