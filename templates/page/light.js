// The whole light: shows, inputs and changes of scene around recorded frames, by the firmware's own rules, tick by
// tick, as its model has them. What is drawn by chance is drawn anew here, and what is remembered is saved at once.
class Light {
  // `scene`: where it is all the same. Else it begins as when power comes.
  // `room`: how bright it is around, how far the knob is up, of 255, and what is measured of the supply.
  constructor(conduct, patterns, closed, scene, room = { bright: false, knob: 255, supply: 0 }) {
    Object.assign(this, { conduct, patterns, closed, ...room });
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
    Object.assign(this, { stepping: 0, dimmed: kept ? kept.dimmed : 0 });
    Object.assign(this, { left: this.hours() || 0, off: null, due: null });
    Object.assign(this, { gain: conduct.knob && conduct.knob.dims ? 0 : 255, pace: 255, phase: 0, goes: true, measured: 0, around: false, bright_for: 0 });
    Object.assign(this, { charge: "fresh", weak: 0 });
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
    const sum = this.phase + this.pace + 1;
    this.phase = sum & 255;
    this.goes = sum > 255;
    if (this.goes && ++this.at >= pattern.ticks) this.at = pattern.again;
    const share = (this.conduct.fade ? this.master >> 8 : this.lets()) + 1;
    return pattern.levels.map(levels => levels[this.at] * share >> 8);
  }

  // What it does, in words.
  says() {
    if (this.off && this.off.for_good) return "the cells are spent; off until they are changed";
    if (this.off && this.off.night === null) return "off; a tap wakes it";
    if (this.off) return this.conduct.dusk ? "dark until dusk" : "the evening is over; dark until the next";
    const shows = this.conduct.shows.length > 1 ? "show " + (this.show + 1) + ", " : "";
    const why = this.playing > 0 ? "once" : shows + this.conduct.shows[this.show].kind;
    return why + ": " + this.pattern().name;
  }

  // What follows a tick. `down`: the button; `closed`: by contact; the switch is `this.closed`.
  turn(down, closed) {
    if (this.off) return this.rest(down);
    const { rules, beat } = this.conduct;
    if (this.due === null) this.master = Math.min(this.lets() << 8 | 255, this.master + (this.conduct.fade || 0));
    else if (this.sink()) {
      const due = this.due;
      this.due = null;
      if (due === "stand-by") return this.goOff(null);
      if (due === "rest") return this.goOff(this.night());
      if (due === "rest-for-good") return this.goOut();
      this.start(due);
    }
    const pressed = this.conduct.button ? this.watch(down) : null;
    if (pressed && rules[pressed] && this.act(rules[pressed])) return;
    if (this.playing > 0 && this.due === null && this.goes && --this.playing === 0 && rules.once_over) this.back();
    this.conduct.contacts.forEach((open, at) => {
      const action = rules.closed[at];
      if (action && !this.dims(action) && this.closes(at, closed[at], open)) this.act(action);
    });
    if (this.conduct.switch && this.turns()) this.act(rules.turned[+this.closed]);
    if (this.conduct.dimmer) this.watchDimmer(this.conduct.dimmer, closed);
    this.measure();
    if (rules.evening_over && this.isOver() && this.act(rules.evening_over)) return;
    if (rules.cells_spent && this.charge === "spent" && this.act(rules.cells_spent)) return;
    this.beat = (this.beat + 1) % beat;
    if (this.beat === 0) this.roam();
  }

  // Whether it is off at once.
  act(action) {
    if (action === "stand-by" || action === "rest" || action === "rest-for-good") {
      if (this.conduct.fade) { this.due = action; return false; }
      if (action === "rest-for-good") this.goOut();
      else this.goOff(action === "rest" ? this.night() : null);
      return true;
    }
    if (action === "back") this.back();
    else if (this.dims(action)) this.dimBy(action);
    else if (action.play) this.playOnce(action.play);
    else this.go(action.go);
    return false;
  }

  go(to) {
    const { count } = this.conduct.shows[this.show];
    if (to === "next-scene") this.hop(1);
    else if (to === "previous-scene") this.hop(count - 1);
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

  goesOff() { return typeof this.due === "string"; }

  // One tick down; whether it is dark now.
  sink() {
    const sinks = this.master > this.conduct.fade;
    this.master = sinks ? this.master - this.conduct.fade : 0;
    return !sinks;
  }

  goOff(night) { this.off = { up: 0, night }; }

  goOut() { this.off = { night: null, for_good: true }; }

  // How long an evening is, if it does not last as long as it is dark around.
  hours() {
    const { evening, dusk } = this.conduct;
    return dusk ? dusk.on : evening ? evening.on : null;
  }

  isOver() {
    const over = this.hours() !== null && this.left === 0;
    if (this.left > 0) this.left--;
    if (over || !this.conduct.dusk) return over;
    return this.stays(this.conduct.measures.length > 1 ? this.around : this.bright, true);
  }

  // Ticks of a night; or that dusk ends it, once it was bright.
  night() {
    const { evening, dusk } = this.conduct;
    this.bright_for = 0;
    return dusk ? { was_bright: dusk.on === null || this.left > 0 } : evening.night;
  }

  // Whether something has been so for long enough; `more`: a tick longer.
  stays(is, more) {
    const { steady } = this.conduct.dusk, was = this.bright_for;
    this.bright_for = is ? Math.min(steady, was + 1) : 0;
    return is && (more ? was : this.bright_for) === steady;
  }

  // What is measured is so in turn.
  measure() {
    const { knob, cells, measures } = this.conduct, what = measures[this.measured];
    if (what === "room") this.around = this.bright;
    if (what === "cells") this.look(cells);
    const most = cells && this.charge !== "fresh" ? cells.dimmed : 255;
    if (what === "knob" && knob.dims) this.gain = this.follow(knob, this.gain, Math.min(this.knob, most));
    if (what === "knob" && !knob.dims) this.pace = this.follow(knob, this.pace, this.knob);
    this.measured = (this.measured + 1) % (measures.length || 1);
  }

  // At the supply. What is measured rises as cells run down.
  look({ low, spent, looks, dimmed }) {
    const limit = { fresh: low, low: spent, spent: 255 }[this.charge];
    this.weak = this.supply < limit ? 0 : this.weak + 1;
    if (this.weak === looks) {
      this.weak = 0;
      this.charge = this.charge === "fresh" ? "low" : "spent";
    }
    const { knob } = this.conduct;
    if (!(knob && knob.dims) && this.charge !== "fresh" && this.gain > dimmed) this.gain--;
  }

  follow({ step, ends, play }, is, at) {
    const to = at < ends ? 0 : at > 255 - ends ? 255 : at, end = to === 0 || to === 255;
    if (is < to && (end || to - is > play)) return Math.min(255, is + step);
    if (is > to && (end || is - to > play)) return Math.max(0, is - step);
    return is;
  }

  // How much of the light knob, buttons and low cells let through.
  lets() { return Math.min(this.gain, 255 - this.dimmed); }

  dims(action) { return action === "brighter" || action === "darker"; }

  // Both of these buttons are counted together, and while one is held again and again.
  watchDimmer({ brighter, darker, debounce, full, again }, closed) {
    const one = closed[brighter] !== closed[darker], seen = this.stepping + 1;
    if (!one) this.stepping = seen > full ? 0 : Math.min(seen, debounce);
    else this.stepping = seen <= debounce ? 0 : seen === again ? full : seen;
    if (one && this.stepping === full) this.act(this.conduct.rules.closed[closed[brighter] ? brighter : darker]);
  }

  dimBy(action) {
    const { step, most } = this.conduct.dimmer;
    if (action === "brighter") this.dimmed = Math.max(0, this.dimmed - step);
    else this.dimmed = Math.min(most, this.dimmed + step);
  }

  // In the dark: the next evening, or a press once the button was let go.
  rest(down) {
    if (this.off.for_good) return;
    const { off, conduct } = this, debounce = conduct.wakes && conduct.button ? conduct.button.debounce : null;
    const pressed = down && debounce !== null && off.up >= debounce;
    off.up = down ? 0 : Math.min(debounce || 0, off.up + 1);
    if (pressed || this.passes(off)) this.begin(conduct.remembers ? this : null);
  }

  // A tick of the night; whether it was the last one.
  passes(off) {
    const { night } = off;
    if (night === null) return false;
    if (typeof night === "number") {
      if (night > 0) off.night--;
      return night === 0;
    }
    if (night.was_bright) return this.stays(!this.bright, false);
    night.was_bright = this.stays(this.bright, true);
    if (night.was_bright) this.bright_for = 0;
    return false;
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
