/*
 * The tones of the alarms, made here: two falling tones for a caution, a fast pair that rises for a
 * stop, and one long low tone when nothing is heard from the server. A browser plays nothing before
 * somebody touched the page; until then the key says so.
 */

const TONES = {
  caution: { every: 5000, notes: [[660, 0, 0.18], [520, 0.24, 0.26]] },
  stop: { every: 1400, notes: [[780, 0, 0.14], [1040, 0.18, 0.14], [780, 0.36, 0.14], [1040, 0.54, 0.2]] },
  silence: { every: 3000, notes: [[300, 0, 0.9]] },
};

export class Sound {
  constructor(key, say) {
    this.key = key;
    this.say = say;
    this.wanted = localStorage.getItem("sound") !== "off";
    this.level = "ok";
    this.played = { caution: 0, stop: 0, silence: 0 };
    this.at = -Infinity;
    key.addEventListener("click", () => {
      const silent = this.context?.state !== "running";
      this.wanted = silent ? true : !this.wanted;
      localStorage.setItem("sound", this.wanted ? "on" : "off");
      this.#wake(true);
    });
    // a browser takes the end of a touch for a touch, not its begin
    for (const kind of ["pointerdown", "pointerup", "click", "keydown"]) {
      document.addEventListener(kind, () => this.#wake(false), { passive: true });
    }
    setInterval(() => this.#play(), 200);
    this.#tell();
  }

  /** Say what is to be heard: ok, caution, stop or silence. */
  set(level) {
    if (level === this.level) return;
    this.level = level;
    this.at = -Infinity;
    this.#play();
  }

  get running() {
    return this.wanted && this.context?.state === "running";
  }

  async #wake(test) {
    this.context ??= new AudioContext();
    if (this.context.state !== "running") await this.context.resume().catch(() => {});
    if (test && this.running && this.level === "ok") this.#tone([[660, 0, 0.12]]);
    this.#tell();
  }

  #play() {
    this.#tell();
    const tone = TONES[this.level];
    if (!tone || !this.running || performance.now() - this.at < tone.every) return;
    this.at = performance.now();
    this.played[this.level] += 1;
    this.#tone(tone.notes);
  }

  #tone(notes) {
    const now = this.context.currentTime;
    for (const [pitch, start, length] of notes) {
      const tone = this.context.createOscillator();
      const loudness = this.context.createGain();
      tone.type = "triangle";
      tone.frequency.value = pitch;
      loudness.gain.setValueAtTime(0, now + start);
      loudness.gain.linearRampToValueAtTime(0.5, now + start + 0.02);
      loudness.gain.setValueAtTime(0.5, now + start + length - 0.04);
      loudness.gain.linearRampToValueAtTime(0, now + start + length);
      tone.connect(loudness).connect(this.context.destination);
      tone.start(now + start);
      tone.stop(now + start + length + 0.02);
    }
  }

  #tell() {
    const state = !this.wanted ? "off" : this.running ? "on" : "asleep";
    if (state === this.told) return;
    this.told = state;
    this.key.textContent = this.say(`push.sound.${state}`);
    this.key.dataset.state = state;
    this.key.setAttribute("aria-pressed", String(state === "on"));
  }
}
