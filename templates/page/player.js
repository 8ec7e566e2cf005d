{
  const get = id => document.getElementById(id);
  const data = JSON.parse(get("data").textContent);
  const channels = data.channels, patterns = data.patterns, tick = data.tick, conduct = data.conduct;
  for (const channel of channels) {
    channel.lights = channel.duties.map(duty => duty / FULL);
    channel.stars = channel.lights.map(lightness);
  }
  const rows = [...document.querySelectorAll("#now tbody tr")].map(row => ({
    lamp: row.querySelector(".lamp"), level: row.querySelector(".level"),
    star: row.querySelector(".lightness"), share: row.querySelector(".share"),
  }));
  // A tap lasts so long, and so much of a gap is made up for, in seconds.
  const TAP = 0.08, GAP = 0.5;
  const SAFE = 3, SPEEDS = [1, 2, 4], MARKS = [.001, .002, .005, .01, .02, .05, .1, .2, .5, 1, 2, 5, 10, 15, 30, 60];
  const agreed = new Set();
  let chosen = 0, now = 0, playing = false, view = [0, 1], last = 0, told = 0, shown = -1;
  // The light by itself, if it is on: its levels, and ticks that are due.
  let light = null, lit = [], owed = 0;
  // The switch, and of button and contacts for how many ticks more each is open before it is closed for so many.
  let closed = false, hand = {};
  // How bright it is around, how far the knob is up, and what is measured of the supply.
  const room = { bright: false, knob: 255, supply: 0 };

  const pattern = () => patterns[chosen];
  const speed = () => +get("speed").value;
  const flashes = () => pattern().flashes[Math.max(0, SPEEDS.findIndex(known => known >= speed()))];
  const mayShow = () => flashes() <= SAFE || agreed.has(chosen + " " + Math.max(1, speed()));
  const time = at => (at * tick).toFixed(3) + " s";

  // What is shown at tick `now`: the same numbers in the table and in the picture.
  function show() {
    const at = Math.floor(now), one = unpacked(pattern()), may = mayShow();
    const levels = light ? lit : one.levels.map(levels => levels[at]);
    drawStage(get("stage"), channels, levels.map((level, id) => may ? channels[id].lights[level] : 0));
    levels.forEach((level, id) => {
      const light = channels[id].lights[level];
      rows[id].lamp.style.background = shade(channels[id].tint, may ? light : 0);
      rows[id].level.textContent = level;
      rows[id].star.textContent = channels[id].stars[level].toFixed(2);
      rows[id].share.textContent = (light * 100).toFixed(3) + " %";
    });
    get("clock").textContent = time(at);
    get("scrub").value = at;
    tell();
    // Not for every frame: a screen reader would read each.
    if (!playing || performance.now() - told > 1000) {
      get("scrub").setAttribute("aria-valuetext", time(at));
      told = performance.now();
    }
    shown = at;
    follow();
  }

  function follow() {
    const span = view[1] - view[0];
    if (playing && span < pattern().ticks && (now < view[0] || now > view[1])) {
      const start = Math.min(Math.max(0, now - span * 0.1), pattern().ticks - span);
      view = [start, start + span];
    }
    drawTimeline();
  }

  let strip = null, key = "";
  function drawTimeline() {
    const canvas = get("timeline");
    // The hills change seldom; only the cursor moves.
    const state = [chosen, ...view, canvas.clientWidth, inks.sky].join(" ");
    if (state !== key) {
      const { brush, left, room, height } = drawHills(canvas, unpacked(pattern()), channels, ...view, true);
      const span = (view[1] - view[0]) * tick;
      const mark = MARKS.find(mark => room * mark / span >= 72) || 300;
      brush.fillStyle = inks.soft;
      for (let n = Math.ceil(view[0] * tick / mark - 1e-9); n * mark < view[1] * tick; n++) {
        const x = left + room * (n * mark - view[0] * tick) / span;
        brush.fillRect(x, height - 24, 1, 6);
        const label = +(n * mark).toFixed(3) + " s", long = brush.measureText(label).width;
        brush.fillText(label, Math.min(x + 3, left + room - long), height - 8);
      }
      strip = document.createElement("canvas");
      strip.width = canvas.width;
      strip.height = canvas.height;
      strip.getContext("2d").drawImage(canvas, 0, 0);
      key = state;
    }
    const { brush, width, height } = sharp(canvas);
    brush.drawImage(strip, 0, 0, width, height);
    const x = 120 + (width - 120) * (Math.floor(now) - view[0]) / (view[1] - view[0]);
    if (x >= 120) { brush.fillStyle = inks.cursor; brush.fillRect(x, 0, 1.5, height - 18); }
  }

  function ask() {
    get("ask").hidden = mayShow();
    get("ask-name").textContent = pattern().name;
    get("ask-count").textContent = flashes();
  }

  // A tick of the hand.
  function isDown(what) {
    const press = hand[what];
    if (!press) return false;
    if (press.open > 0) { press.open--; return false; }
    return press.down-- > 0;
  }

  // A tick of the light by itself.
  function step() {
    lit = light.play();
    light.turn(isDown("button"), conduct.contacts.map((_, at) => isDown(at)));
    now = light.at;
    const place = conduct.plays[light.scene];
    if (place !== chosen) {
      turnTo(place);
      if (!mayShow()) play(false);
    }
  }

  // What an input does, to a light that was just switched on, or that plays what is chosen.
  function operate(does) {
    const { button } = conduct, [what, at] = does.split(" ");
    if (what === "switch") closed = !closed;
    if (what === "sensor") room.bright = !room.bright;
    if (what === "knob") room.knob = Math.min(255, Math.max(0, room.knob + +at));
    if (what === "cells") room.supply = [0, conduct.cells.low, conduct.cells.spent][at];
    const fresh = !light || what === "begin" || does === "cells 0";
    if (fresh) {
      light = new Light(conduct, patterns, closed, what === "begin" ? undefined : conduct.plays.indexOf(chosen), room);
      light.at = what === "begin" ? 0 : Math.floor(now);
      hand = {};
      owed = 0;
    }
    Object.assign(light, room, { closed });
    const press = ticks => hand.button = { open: button.debounce, down: ticks };
    if (what === "tap") press(Math.max(button.debounce, Math.min(Math.ceil(TAP / tick), button.hold - 1)));
    if (what === "hold") press(button.hold);
    if (what === "long") press(button.long);
    if (what === "contact") hand[at] = { open: conduct.contacts[at], down: conduct.contacts[at] };
    if (fresh) step();
    document.querySelectorAll("#inputs [aria-pressed]").forEach(one => {
      one.setAttribute("aria-pressed", one.dataset.does === "sensor" ? room.bright : closed);
    });
    play(true);
  }

  // One pattern by itself.
  function alone() {
    light = null;
    tell();
  }

  function tell() {
    if (get("doing")) get("doing").textContent = light ? light.says() : "one pattern by itself";
  }

  function go(at) { alone(); now = Math.min(Math.max(0, at), pattern().ticks - 1); show(); }

  function play(on) {
    playing = on && mayShow();
    get("play").textContent = playing ? "Pause" : "Play";
    ask();
    if (playing) { last = performance.now(); requestAnimationFrame(frame); }
    else show();
  }

  function frame(moment) {
    if (!playing) return;
    const due = Math.max(0, moment - last) / 1000 * speed() / tick;
    last = moment;
    if (light) {
      // After a pause of the browser's, time goes on from here.
      owed += Math.min(due, GAP / tick);
      const ticks = Math.floor(owed);
      owed -= ticks;
      for (let n = 0; n < ticks && playing; n++) step();
      if (ticks > 0) show();
    } else {
      now += due;
      const { ticks, again } = pattern();
      if (now >= ticks) now = again + (now - ticks) % (ticks - again);
      if (Math.floor(now) !== shown) show();
    }
    requestAnimationFrame(frame);
  }

  function turnTo(number) {
    chosen = number;
    view = [0, pattern().ticks];
    get("scrub").max = pattern().ticks - 1;
    get("facts").textContent = pattern().facts;
    document.querySelectorAll("#patterns input")[number].checked = true;
  }

  function choose(number) {
    const was = playing;
    playing = false;
    alone();
    now = 0;
    turnTo(number);
    play(was);
  }

  function zoom(by) {
    const all = pattern().ticks, span = Math.min(all, Math.max(8, (view[1] - view[0]) * by));
    const start = Math.min(Math.max(0, now - span / 2), all - span);
    view = [start, start + span];
    drawTimeline();
  }

  get("play").onclick = () => play(!playing);
  get("back").onclick = () => { play(false); go(Math.floor(now) - 1); };
  get("on").onclick = () => {
    play(false);
    if (light && mayShow()) { step(); show(); } else go(Math.floor(now) + 1);
  };
  get("agree").onclick = () => { agreed.add(chosen + " " + Math.max(1, speed())); play(true); get("play").focus(); };
  get("speed").onchange = () => play(playing);
  get("scrub").oninput = event => { const to = +event.target.value; play(false); go(to); };
  get("closer").onclick = () => zoom(0.5);
  get("wider").onclick = () => zoom(2);
  get("whole").onclick = () => zoom(Infinity);
  document.querySelectorAll("#patterns input").forEach((input, number) => input.onchange = () => choose(number));
  const pick = event => {
    const box = get("timeline").getBoundingClientRect(), share = (event.clientX - box.left - 120) / (box.width - 120);
    play(false);
    go(Math.floor(view[0] + (view[1] - view[0]) * Math.min(Math.max(share, 0), 1)));
  };
  get("timeline").onpointerdown = event => { get("timeline").setPointerCapture(event.pointerId); pick(event); };
  get("timeline").onpointermove = event => { if (event.buttons) pick(event); };
  get("timeline").onwheel = event => { if (event.ctrlKey) { event.preventDefault(); zoom(event.deltaY > 0 ? 1.25 : 0.8); } };
  const keys = {
    " ": () => play(!playing), ",": get("back").onclick, ".": get("on").onclick,
    n: () => choose((chosen + 1) % patterns.length), "+": get("closer").onclick, "-": get("wider").onclick, 0: get("whole").onclick,
  };
  document.querySelectorAll("#inputs button").forEach(one => {
    one.onclick = () => operate(one.dataset.does);
    keys[one.getAttribute("aria-keyshortcuts")] = one.onclick;
  });
  document.addEventListener("keydown", event => {
    const own = event.target.closest("button, select, a");
    if (event.ctrlKey || event.metaKey || event.altKey || (event.key === " " && own) || !keys[event.key]) return;
    event.preventDefault();
    keys[event.key]();
  });
  window.addEventListener("resize", () => { key = ""; show(); });

  // The small timelines are drawn when they come into sight.
  const small = canvas => {
    const it = unpacked(patterns[+canvas.dataset.pattern]);
    drawHills(canvas, it, channels, 0, it.ticks, false);
  };
  const sight = new IntersectionObserver(seen => seen.filter(one => one.isIntersecting).forEach(one => {
    sight.unobserve(one.target);
    small(one.target);
  }));
  // Paper shows all of them, in its own colours.
  const paint = own => {
    inks = own;
    show();
    document.querySelectorAll("#all canvas").forEach(small);
  };
  window.addEventListener("beforeprint", () => paint(PAPER));
  window.addEventListener("afterprint", () => paint(SCREEN));
  document.querySelectorAll("#all figure").forEach((figure, number) => {
    sight.observe(figure.querySelector("canvas"));
    figure.onclick = () => { choose(number); get("stage").scrollIntoView({ block: "nearest" }); };
  });

  choose(0);
  if (!matchMedia("(prefers-reduced-motion: reduce)").matches) play(true);
  document.body.dataset.ready = "yes";
}
