"use strict";
/* The plan's data, small helpers, and how a number is printed. */
window.dip = (function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const words = data.words;
  const one = (selector, within) => (within || document).querySelector(selector);
  const all = (selector, within) => Array.from((within || document).querySelectorAll(selector));
  const text = (number) => (number === null || number === undefined ? "" : data.texts[number]);

  /* a sentence with its values: "{rate} an hour" */
  const fill = (sentence, values) => sentence.replace(/\{(\w+)\}/g, (_, key) => values[key]);

  /* elements: attributes of null are left out, functions listen */
  function dress(element, attributes, inside) {
    Object.entries(attributes || {}).forEach(([key, value]) => {
      if (value === null || value === undefined || value === false) return;
      if (typeof value === "function") element.addEventListener(key, value);
      else element.setAttribute(key, value === true ? "" : String(value));
    });
    element.append(...inside.flat(Infinity).filter((piece) => piece !== null && piece !== undefined));
    return element;
  }
  const h = (name, attributes, ...inside) => dress(document.createElement(name), attributes, inside);
  const s = (name, attributes, ...inside) =>
    dress(document.createElementNS("http://www.w3.org/2000/svg", name), attributes, inside);
  const named = (name) => h("bdi", {}, name);

  /* differences back to numbers; null is not known and is passed over */
  function sums(row) {
    let at = 0;
    return row.map((step) => (step === null ? null : (at += step)));
  }
  function places(row) {
    const found = [];
    let lat = 0, lon = 0;
    for (let i = 0; i < row.length; i += 2) {
      lat += row[i]; lon += row[i + 1];
      found.push([lat / 1e5, lon / 1e5]);
    }
    return found;
  }
  const shape = (kind, packed) => (kind === "mark" ? [packed[0] / 1e5, packed[1] / 1e5]
    : kind === "line" ? places(packed) : packed.map(places));
  function bytes(coded) {
    const raw = atob(coded), found = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) found[i] = raw.charCodeAt(i);
    return found;
  }
  /* work that many ask for in one turn and that is done once, before the next picture */
  function soon(work) {
    let waits = false;
    const now = () => { waits = false; work(); };
    return () => { if (!waits) { waits = true; requestAnimationFrame(now); } };
  }

  /* a number with so many decimals, a tie to the even digit: as the rest of diproute prints it */
  function fixed(value, decimals) {
    const scale = 10 ** decimals;
    const tie = Number.isInteger(value * 2 ** (decimals + 1)) && Math.abs(value * 2 * scale) % 2 === 1;
    if (!tie) return value.toFixed(decimals);
    const below = Math.floor(value * scale);
    return ((below % 2 === 0 ? below : below + 1) / scale).toFixed(decimals);
  }
  const even = (value) => Number(fixed(value, 0));
  const isKnown = (value) => value !== null && value !== undefined && !Number.isNaN(value);
  function grouped(digits) {
    const [whole, part] = digits.split(".");
    const thin = whole.replace(/\B(?=(\d{3})+$)/g, "\u202f");
    return part === undefined ? thin : thin + "." + part;
  }
  function show(value, what, bare) {
    if (!isKnown(value)) return words.unknown;
    const [factor, offset, decimals, unit] = data.units[what];
    let number = grouped(fixed((value - offset) / factor, decimals));
    if (number === "-0") number = "0";
    return bare ? number : number + " " + unit;
  }
  const tenths = (value) => (isKnown(value) ? value / 10 : null);
  const hundredths = (value) => (isKnown(value) ? value / 100 : null);
  const small = (words_) => words_.charAt(0).toLowerCase() + words_.slice(1);
  const course = (deg) => String(((even(deg) - 1) % 360 + 360) % 360 + 1).padStart(3, "0") + "°";
  const magnetic = (deg) => course(deg - data.plan.declination);
  const share = (percent) => (isKnown(percent) ? percent + " %" : words.unknown);
  function clock(seconds) {
    const whole = even(seconds);
    return Math.floor(whole / 60) + ":" + String(whole % 60).padStart(2, "0");
  }
  function span(seconds) {
    const whole = even(seconds);
    if (whole >= 3600) {
      const minutes = even(seconds / 60);
      return Math.floor(minutes / 60) + " h " + String(minutes % 60).padStart(2, "0") + " min";
    }
    return whole >= 60 ? Math.floor(whole / 60) + " min " + String(whole % 60).padStart(2, "0") + " s" : whole + " s";
  }

  /* who wants to know what happens */
  const heard = {};
  const on = (event, then) => { (heard[event] = heard[event] || []).push(then); };
  const tell = (event, value) => (heard[event] || []).forEach((then) => then(value));
  /* a part that is drawn when it is seen: now if it is open, else when it is opened */
  const stale = {}, drawers = {};
  const wide = window.matchMedia("screen and (min-width: 1680px)");
  const isSeen = (name) => (name === "site" && wide.matches) || document.getElementById(name === "site" ? "card" : "part-" + name).classList.contains("open");
  function lazy(name, draw) {
    drawers[name] = draw;
    stale[name] = true;
    return () => { stale[name] = true; look(name); };
  }
  function look(name) {
    if (!stale[name] || !isSeen(name)) return;
    stale[name] = false;
    drawers[name]();
  }
  const lookAll = () => Object.keys(drawers).filter((name) => stale[name]).forEach((name) => { stale[name] = false; drawers[name](); });
  wide.addEventListener("change", () => look("site"));
  const paint = (role) => getComputedStyle(document.documentElement).getPropertyValue("--" + role).trim();

  return { data, words, one, all, text, fill, h, s, named, sums, places, shape, bytes, soon, fixed, even, isKnown, grouped, show, tenths, hundredths, small,
    course, magnetic, share, clock, span, on, tell, lazy, look, lookAll, paint, chosen: null };
})();
