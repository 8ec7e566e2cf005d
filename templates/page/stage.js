"use strict";
// Light on a screen. Levels are light; a screen wants it encoded (sRGB, IEC 61966-2-1).
const FULL = 65280;
const linear = code => code <= 0.04045 ? code / 12.92 : ((code + 0.055) / 1.055) ** 2.4;
const encoded = light => light <= 0.0031308 ? light * 12.92 : 1.055 * light ** (1 / 2.4) - 0.055;
const shade = (tint, light) =>
  "rgb(" + tint.map(full => Math.round(encoded(linear(full / 255) * light) * 255)).join(", ") + ")";
// CIE 1976 lightness of a relative luminance.
const lightness = y => y > 216 / 24389 ? 116 * Math.cbrt(y) - 16 : y * 24389 / 27;

// Runs and steps, see `pack`: levels tick by tick.
function unpack(text, ticks) {
  const bytes = atob(text), levels = new Uint8Array(ticks);
  let at = 0, level = 0, place = 0;
  const next = () => {
    let number = 0, shift = 0, byte;
    do { byte = bytes.charCodeAt(at++); number += (byte & 127) * 2 ** shift; shift += 7; } while (byte & 128);
    return number;
  };
  while (at < bytes.length) {
    const run = next();
    levels.fill(level, place, place += run);
    if (at < bytes.length) { const step = next(); level += step & 1 ? -(step >> 1) : step >> 1; }
  }
  return levels;
}

const unpacked = one => (one.levels ||= one.frames.map(text => unpack(text, one.ticks)), one);

// A canvas that is as sharp as the screen.
function sharp(canvas) {
  const ratio = window.devicePixelRatio || 1;
  const width = canvas.clientWidth, height = +(canvas.dataset.height ||= canvas.getAttribute("height"));
  canvas.style.height = height + "px";
  if (canvas.width !== Math.round(width * ratio)) canvas.width = Math.round(width * ratio);
  if (canvas.height !== Math.round(height * ratio)) canvas.height = Math.round(height * ratio);
  const brush = canvas.getContext("2d");
  brush.setTransform(ratio, 0, 0, ratio, 0, 0);
  brush.clearRect(0, 0, width, height);
  return { brush, width, height };
}

// What is drawn besides light, on a screen and on paper.
const SCREEN = { soft: "#b3a6c4", band: "#211a31", sky: "#0c0913", wire: "#3a3052", dark: "#1c1628", rim: "#4a3d63", cursor: "#7fb4ff" };
const PAPER = { soft: "#333333", band: "#ececec", sky: "#ffffff", wire: "#888888", dark: "#dddddd", rim: "#666666", cursor: "#1a4f99" };
let inks = SCREEN;

// Lamps that are drawn side by side, at the most.
const ROOM = 40;
// The strings, each hanging between two hooks. `lights`: by channel, 0 to 1.
function drawStage(canvas, channels, lights) {
  const { brush, width, height } = sharp(canvas);
  brush.fillStyle = inks.sky;
  brush.fillRect(0, 0, width, height);
  brush.font = "13px system-ui, sans-serif";
  channels.forEach((channel, id) => {
    const top = 26 + 62 * id, left = 120, right = width - 24;
    const bulbs = Math.min(channel.lamps, ROOM, Math.max(1, Math.floor((right - left) / 11)));
    const at = i => {
      const x = left + (right - left) * (i + 0.5) / bulbs, across = (x - left) / (right - left) * 2 - 1;
      return [x, top + 22 * (1 - across * across)];
    };
    brush.fillStyle = inks.soft;
    brush.fillText(channel.name, 16, top + 4, left - 20);
    brush.strokeStyle = inks.wire;
    brush.beginPath();
    brush.moveTo(left, top);
    brush.quadraticCurveTo((left + right) / 2, top + 44, right, top);
    brush.stroke();
    // Light fades away from a bulb; overlapping light adds up, which `screen` comes near to.
    const light = lights[id];
    const halo = brush.createRadialGradient(0, 0, 0, 0, 0, 40);
    for (const [place, share] of [[0, 0.5], [0.15, 0.22], [0.35, 0.07], [0.65, 0.015], [1, 0]])
      halo.addColorStop(place, shade(channel.tint, light * share));
    for (let i = 0; i < bulbs; i++) {
      const [x, y] = at(i);
      brush.save();
      brush.translate(x, y + 7);
      if (light > 0) {
        brush.globalCompositeOperation = "screen";
        brush.fillStyle = halo;
        brush.fillRect(-40, -40, 80, 80);
        brush.globalCompositeOperation = "source-over";
      }
      brush.fillStyle = light > 0 ? shade(channel.tint, light) : inks.dark;
      brush.strokeStyle = inks.rim;
      brush.beginPath();
      brush.ellipse(0, 0, 4.5, 6.5, 0, 0, 7);
      brush.fill();
      if (light < 0.2) brush.stroke();
      brush.restore();
    }
  });
}

// Hills of lightness from tick `from` to `to`, one band a channel; the brightest moment of a pixel.
function drawHills(canvas, pattern, channels, from, to, names) {
  const { brush, width, height } = sharp(canvas);
  const left = names ? 120 : 0, room = width - left, foot = names ? 26 : 0;
  const pitch = (height - foot) / channels.length, band = pitch - (names ? 6 : 3);
  const top = Math.max(...channels.map(channel => channel.stars[channel.stars.length - 1]));
  brush.font = "13px system-ui, sans-serif";
  channels.forEach((channel, id) => {
    const ground = pitch * id + band + 2, levels = pattern.levels[id];
    if (names) {
      brush.fillStyle = inks.band;
      brush.fillRect(left, ground - band, room, band);
      brush.fillStyle = inks.soft;
      brush.fillText(channel.name, 16, ground - band / 2 + 4, left - 20);
    }
    const glow = brush.createLinearGradient(0, ground, 0, ground - band);
    const { foot, side, crest } = channel.slope;
    [[0, foot], [0.55, side], [1, crest]].forEach(stop => glow.addColorStop(...stop));
    brush.fillStyle = glow;
    for (let x = 0; x < room; x++) {
      const first = Math.floor(from + (to - from) * x / room);
      const end = Math.max(first + 1, Math.floor(from + (to - from) * (x + 1) / room));
      let most = 0;
      for (let tick = first; tick < end && tick < pattern.ticks; tick++) most = Math.max(most, levels[tick]);
      if (most > 0) {
        const tall = Math.max(1.5, channel.stars[most] / top * band);
        brush.fillRect(left + x, ground - tall, 1, tall);
      }
    }
  });
  return { brush, left, room, height };
}
