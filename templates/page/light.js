// The whole light: shows, inputs and changes of scene around recorded frames, by the firmware's own rules, tick by
// tick, as its model has them. What is drawn by chance is drawn anew here, and what is remembered is saved at once.
class Light {
  // `scene`: where it is all the same. Else it begins as when power comes.
  constructor(conduct, patterns, closed, scene) {
    Object.assign(this, { conduct, patterns, closed });
    this.begin();
    if (scene !== undefined) this.jump(scene);
    else if (conduct.starts_dark) this.off = { up: 0, night: null };
  }

  // As when power comes, or out of the dark.
  begin(kept) {
    const { conduct } = this;
    this.places = kept ? kept.places : conduct.shows.map(() => 0);
    this.show = conduct.switch ? +this.closed : kept ? kept.show : 0;
    Object.assign(this, { held: 0, gap: 0, seen: conduct.contacts.map(() => 0), turning: 0, playing: 0, beat: 0, dwell: 0 });
    Object.assign(this, { left: conduct.evening ? conduct.evening.on : 0, off: null, due: null });
    this.master = conduct.fade ? 0 : 65535;
    const first = conduct.rules.begin;
    if (conduct.rules.hops) this.hop(0);
    if (first) {
      this.playing = first.play.ticks;
      this.start(first.play.scene);
    } else this.start(conduct.rules.hops ? this.place() : 0);
    this.due = null;
  }

  // In the first show that has it, or played once.
  jump(scene) {
    const show = this.conduct.shows.findIndex(show => scene >= show.first && scene < show.first + show.count);
    if (show >= 0) {
      this.show = show;
      this.places[show] = scene - this.conduct.shows[show].first;
    }
    this.playing = 0;
    this.master = 65535;
    this.start(scene);
  }

  place() { return this.conduct.shows[this.show].first + this.places[this.show]; }

  pattern() { return unpacked(this.patterns[this.conduct.plays[this.scene]]); }

  start(scene) {
    this.scene = scene;
    this.at = 0;
  }

  // A tick of light: the level of each channel.
  play() {
    const pattern = this.pattern();
    if (this.off) return pattern.levels.map(() => 0);
    if (++this.at >= pattern.ticks) this.at = pattern.again;
    const share = (this.master >> 8) + 1;
    return pattern.levels.map(levels => levels[this.at] * share >> 8);
  }

  // What it does, in words.
  says() {
    if (this.off) return this.off.night === null ? "off; a tap wakes it" : "the evening is over; dark until the next";
    const shows = this.conduct.shows.length > 1 ? "show " + (this.show + 1) + ", " : "";
    const why = this.playing > 0 ? "once" : shows + this.conduct.shows[this.show].kind;
    return why + ": " + this.pattern().name;
  }

  // What follows a tick. `down`: the button; `closed`: by contact; the switch is `this.closed`.
  turn(down, closed) {
    if (this.off) return this.rest(down);
    const { rules, beat } = this.conduct;
    if (this.due === null) this.master = Math.min(65535, this.master + (this.conduct.fade || 0));
    else if (this.sink()) {
      const due = this.due;
      this.due = null;
      if (due === "stand-by") return this.goOff(null);
      if (due === "rest") return this.goOff(this.conduct.evening.night);
      this.start(due);
    }
    const pressed = this.conduct.button ? this.watch(down) : null;
    if (pressed && rules[pressed] && this.act(rules[pressed])) return;
    if (this.playing > 0 && this.due === null && --this.playing === 0 && rules.once_over) this.back();
    this.conduct.contacts.forEach((open, at) => {
      if (!this.closes(at, closed[at], open)) return;
      const action = rules.closed[at];
      if (action && action.play) this.playOnce(action.play);
    });
    if (this.conduct.switch && this.turns()) this.act(rules.turned[+this.closed]);
    if (rules.evening_over && this.left-- === 0) {
      this.left = 0;
      if (this.act(rules.evening_over)) return;
    }
    this.beat = (this.beat + 1) % beat;
    if (this.beat === 0) this.roam();
  }

  // Whether it is off at once.
  act(action) {
    if (action === "stand-by" || action === "rest") {
      if (this.conduct.fade) { this.due = action; return false; }
      this.goOff(action === "rest" ? this.conduct.evening.night : null);
      return true;
    }
    if (action === "back") this.back();
    else if (action.play) this.playOnce(action.play);
    else this.go(action.go);
    return false;
  }

  go(to) {
    const { count } = this.conduct.shows[this.show];
    if (to === "next-scene") this.hop(1);
    else if (to === "another-scene") this.hop(1 + this.chance(Math.max(0, count - 2)));
    else {
      this.show = to === "next-show" ? this.show + 1 : to.show;
      this.hop(0);
    }
  }

  hop(by) {
    const { shows, dwell, rules } = this.conduct;
    if (this.show >= shows.length) this.show = 0;
    this.places[this.show] = (this.places[this.show] + by) % shows[this.show].count;
    this.playing = 0;
    this.changeTo(this.place());
    if (dwell && rules.dwell_over) this.dwell = dwell.low + this.chance(dwell.span);
  }

  roam() {
    const { shows, rules } = this.conduct;
    if (!rules.dwell_over || shows[this.show].kind !== "roam" || this.goesOff() || this.playing > 0) return;
    if (--this.dwell <= 0) this.act(rules.dwell_over);
  }

  back() {
    if (this.conduct.rules.hops) this.hop(0);
    else this.changeTo(0);
  }

  playOnce({ scene, ticks }) {
    if (this.goesOff()) return;
    this.playing = ticks;
    this.changeTo(scene);
  }

  changeTo(scene) {
    if (this.conduct.fade) this.due = scene;
    else this.start(scene);
  }

  goesOff() { return this.due === "stand-by" || this.due === "rest"; }

  // One tick down; whether it is dark now.
  sink() {
    const sinks = this.master > this.conduct.fade;
    this.master = sinks ? this.master - this.conduct.fade : 0;
    return !sinks;
  }

  goOff(night) { this.off = { up: 0, night }; }

  // In the dark: the next evening, or a press once the button was let go.
  rest(down) {
    const { off, conduct } = this, debounce = conduct.wakes && conduct.button ? conduct.button.debounce : null;
    const pressed = down && debounce !== null && off.up >= debounce;
    off.up = down ? 0 : Math.min(debounce || 0, off.up + 1);
    const over = off.night === 0;
    if (off.night) off.night--;
    if (pressed || over) this.begin(conduct.remembers ? this : null);
  }

  // Of the button: what it is, once it counts.
  watch(down) {
    const { debounce, hold, long } = this.conduct.button, held = this.held;
    if (!down) {
      if (++this.gap < debounce) return null;
      this.gap = debounce;
      this.held = 1;
      return held <= debounce ? null : long && held > hold ? "hold" : "tap";
    }
    this.gap = 0;
    if (held === 0) return null;
    this.held = held + 1;
    if (this.held <= (long || hold)) return null;
    this.held = 0;
    return long ? "long_hold" : "hold";
  }

  // Of a contact: whether it counts as closed now.
  closes(at, closed, open) {
    const seen = this.seen[at];
    this.seen[at] = closed ? (seen < open ? 0 : seen + 1) : (seen < open ? seen + 1 : open);
    const counts = this.seen[at] === 2 * open;
    if (counts) this.seen[at] = 0;
    return counts;
  }

  // Of the switch: whether it counts as turned now.
  turns() {
    this.turning = this.closed === (this.show !== 0) ? 0 : this.turning + 1;
    if (this.turning !== this.conduct.switch) return false;
    this.turning = 0;
    return true;
  }

  chance(span) { return Math.floor(Math.random() * (span + 1)); }
}
