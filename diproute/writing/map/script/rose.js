"use strict";
/* The rose: what stands round a dip point. It answers the pointer and the arrow keys, and lights up on the map. */
(function (dip) {
  const { s, h, words, text } = dip;
  const LIMIT = 100, FAR = 112, BAND = [116, 122], RIM = 124, KNOT = 1852 / 3600;
  const polar = (deg, r) => [r * Math.sin((deg * Math.PI) / 180), -r * Math.cos((deg * Math.PI) / 180)];
  const at = ([x, y]) => x.toFixed(1) + " " + y.toFixed(1);
  const var_ = (role) => "var(--" + role + ")";
  const apart = (a, b) => Math.abs(((a - b + 180) % 360 + 360) % 360 - 180);
  const line = (a, b, role, width, dash) =>
    s("path", { d: "M" + at(a) + "L" + at(b), fill: "none", stroke: var_(role), "stroke-width": width, "stroke-dasharray": dash || null });
  const halo = (x, y, words_, more) => s("text", Object.assign({ x: x.toFixed(1), y: y.toFixed(1), fill: var_("ink"), stroke: var_("page"), "stroke-width": 3,
    "paint-order": "stroke", "stroke-linejoin": "round" }, more), words_);
  function sector(middle, half, inner, outer) {
    const a = polar(middle - half, outer), b = polar(middle + half, outer), r = outer.toFixed(1), q = inner.toFixed(1);
    if (inner <= 0) return "M0 0L" + at(a) + "A" + r + " " + r + " 0 0 1 " + at(b) + "Z";
    const c = polar(middle + half, inner), d = polar(middle - half, inner);
    return "M" + at(a) + "A" + r + " " + r + " 0 0 1 " + at(b) + "L" + at(c) + "A" + q + " " + q + " 0 0 0 " + at(d) + "Z";
  }
  function arc(middle, half, r) {
    return "M" + at(polar(middle - half, r)) + "A" + r + " " + r + " 0 0 1 " + at(polar(middle + half, r));
  }
  function head(tip, deg, size, look) {
    const a = polar(deg + 158, size), b = polar(deg - 158, size);
    return s("path", Object.assign({ d: "M" + at(tip) + "L" + at([tip[0] + a[0], tip[1] + a[1]]) + "L" + at([tip[0] + b[0], tip[1] + b[1]]) + "Z" }, look));
  }

  /* each corridor with the larger lift of departure and approach over it, and what asks for either */
  function wedges(rose) {
    const bearing = (i) => (rose.at ? rose.at[i] : (i * 360) / rose.count);
    return Array.from({ length: rose.count }, (_, i) => {
      const b = bearing(i);
      let inward = 0;
      for (let n = 1; n < rose.count; n++) if (apart(bearing(n), b + 180) < apart(bearing(inward), b + 180)) inward = n;
      const out = rose.out[i], into = rose.in[inward];
      const known = out !== null && into !== null && !(rose.judged && !(Number(rose.state[i]) & 2));
      return { b, known, lift: known ? Math.max(out, into) / 10 : null, open: known && rose.judged && Boolean(Number(rose.state[i]) & 1),
        out: dip.tenths(out), into: dip.tenths(into), thing: out !== null && (into === null || out >= into) ? rose.outThing[i] : rose.inThing[inward] };
    });
  }
  /* one barbed arrow outside the rim: a full barb 10 kt, a half barb 5 kt, a pennant 50 kt (WMO-No. 485) */
  function barbs(from, speed, rim) {
    if (!dip.isKnown(speed) || (!dip.isKnown(from) && speed > 0)) return null;
    if (!dip.isKnown(from) || speed / KNOT < 1) return [];
    let knots = 5 * Math.round(speed / KNOT / 5), place = rim + 38;
    const parts = [line(polar(from, rim + 3), polar(from, place), "ink", 1.8), head(polar(from, rim + 3), from + 180, 8, { fill: var_("ink") })];
    while (knots >= 50) {
      const a = polar(from, place), b = polar(from, place - 7), c = polar(from + 90, 12);
      parts.push(s("path", { d: "M" + at(a) + "L" + at([a[0] + c[0], a[1] + c[1]]) + "L" + at(b) + "Z", fill: var_("ink") }));
      place -= 9; knots -= 50;
    }
    const lengths = [...Array(Math.floor(knots / 10)).fill(12), ...(knots % 10 >= 5 ? [6.5] : [])];
    lengths.forEach((length) => {
      if (length < 10 && place === rim + 38) place -= 5;
      const a = polar(from, place), c = polar(from + 65, length);
      parts.push(line(a, [a[0] + c[0], a[1] + c[1]], "ink", 1.8));
      place -= 5.5;
    });
    return parts;
  }
  function card() {
    const parts = [s("circle", { r: RIM, fill: "none", stroke: var_("line"), "stroke-width": 0.7 })];
    let ticks = "";
    for (let a = 0; a < 360; a += 10) ticks += "M" + at(polar(a, RIM)) + "L" + at(polar(a, RIM + (a % 30 ? 2.5 : 5)));
    parts.push(s("path", { d: ticks, fill: "none", stroke: var_("line"), "stroke-width": 0.9 }));
    [[0, words.north], [90, words.east], [180, words.south], [270, words.west]].forEach(([a, name]) => {
      const [x, y] = polar(a, RIM + 13);
      parts.push(s("text", { x: x.toFixed(1), y: (y + 4).toFixed(1), "text-anchor": "middle", fill: var_("ink"), "font-weight": a ? null : 600 }, name));
    });
    const declination = dip.data.plan.declination;
    if (Math.abs(declination) >= 0.5) {
      parts.push(line(polar(declination, RIM - 1), polar(declination, RIM + 8), "ink", 1.2));
      const [x, y] = polar(declination, Math.abs(declination) < 8 ? RIM + 21 : RIM + 13);
      parts.push(s("text", { x: x.toFixed(1), y: (y + 4).toFixed(1), "text-anchor": "middle", fill: var_("quiet"), "font-size": 11 }, words.mag));
    }
    return parts;
  }
  function way(start, tip, deg, aside, dashed) {
    const a = [start[0] + aside[0], start[1] + aside[1]], b = [tip[0] + aside[0], tip[1] + aside[1]];
    const back = polar(deg + 180, 9), neck = [b[0] + back[0], b[1] + back[1]];
    return [line(a, neck, "page", 5.5), head(b, deg, 14, { fill: var_("ink"), stroke: var_("page"), "stroke-width": 1.5 }),
      line(a, neck, "ink", 2.6, dashed ? "7 4" : null)];
  }
  function ways(rose) {
    const [into, out] = rose.ways, parts = [];
    const together = into && out && Math.abs(((into[0] - out[0]) % 360 + 360) % 360 - 180) < 20;
    const aside = together ? 6 : 0;
    const name = (bearing, r, word, magnetic) => {
      const [x, y] = polar(bearing, r);
      return halo(x, y + 4, word + " " + dip.course(magnetic) + "M", { "text-anchor": "middle", "font-size": 13, "font-weight": 600 });
    };
    if (into) parts.push(...way(polar(into[0] + 180, RIM - 2), polar(into[0] + 180, 16), into[0], polar(into[0] + 90, aside), true));
    if (out) parts.push(...way(polar(out[0], 10), polar(out[0], RIM - 4), out[0], polar(out[0] + 90, aside), false));
    if (into) parts.push(name(into[0] + 180 + (aside ? -32 : 13), aside ? 54 : 84, words.approach, into[1]));
    if (out) parts.push(name(out[0] + 13, aside ? 98 : 84, words.departure, out[1]));
    return parts;
  }
  function scale(rose) {
    const limit = dip.data.plan.limit, [x, y] = polar(135, LIMIT);
    const taken = [rose.ways[0] && rose.ways[0][0] + 180, rose.ways[1] && rose.ways[1][0]].filter(dip.isKnown);
    const free = [180, 90, 270, 0].filter((b) => taken.every((t) => apart(b, t) > 40))[0] ?? 180;
    const [a, b] = polar(free, LIMIT / 2);
    return [halo(x + 2, y + 8, dip.show(limit, "height") + " " + words.limit, { "font-size": 12, fill: var_("quiet") }),
      halo(a, b + 3, dip.show(limit / 2, "height"), { "font-size": 11, fill: var_("quiet"), "text-anchor": "middle" })];
  }
  function drawing(site, found) {
    const rose = site.rose, half = 180 / rose.count, gap = Math.min(0.5, half / 5);
    const d = { open: "", closed: "", unknown: "", rimClosed: "", rimUnknown: "" };
    found.forEach((one) => {
      if (!one.known) {
        for (let r = 14; r < LIMIT; r += 5) d.unknown += arc(one.b, half, r);
        [BAND[0], (BAND[0] + BAND[1]) / 2, BAND[1]].forEach((r) => { d.rimUnknown += arc(one.b, half, r); });
        return;
      }
      const reach = Math.min(FAR, Math.max(7, (LIMIT * one.lift) / dip.data.plan.limit));
      d[one.open ? "open" : "closed"] += sector(one.b, half - gap, 0, reach);
      if (!one.open) d.rimClosed += sector(one.b, half, BAND[0], BAND[1]);
    });
    const piece = (path, look) => (path ? s("path", Object.assign({ d: path }, look)) : null);
    const wind = barbs(rose.wind[0], rose.wind[1], RIM);
    const still = wind === null ? words.windUnknown : wind.length ? null : words.calm;
    return s("svg", { class: "drawing rose", viewBox: "-170 -170 340 340", "font-family": "system-ui, sans-serif", "font-size": 13, "aria-hidden": "true" },
      piece(d.open, { class: "open", fill: var_("clear"), stroke: var_("line"), "stroke-width": 0.7 }),
      piece(d.closed, { class: "shut", fill: var_("closed") }),
      piece(d.unknown, { class: "unknown", fill: "none", stroke: var_("quiet"), "stroke-width": 1 }),
      piece(d.rimClosed, { fill: var_("closed") }), piece(d.rimUnknown, { fill: "none", stroke: var_("quiet"), "stroke-width": 1 }),
      card(),
      s("circle", { r: LIMIT, fill: "none", stroke: var_("ink"), "stroke-width": 1.4 }),
      s("circle", { r: LIMIT / 2, fill: "none", stroke: var_("line"), "stroke-width": 0.6, "stroke-dasharray": "2 3" }),
      s("circle", { r: 6, fill: var_("water"), stroke: var_("shore"), "stroke-width": 1.2 }),
      still ? s("text", { x: -164, y: 162, fill: var_("quiet") }, still) : wind, ways(rose), scale(rose),
      s("path", { class: "pointed", fill: "none", stroke: var_("shore"), "stroke-width": 3 }));
  }
  /* what a wedge says */
  function said(site, one) {
    const course = dip.magnetic(one.b), limit = dip.show(dip.data.plan.limit, "height");
    if (!one.known) return dip.fill(words.wedgeUnknown, { course });
    const lifts = dip.fill(words.wedgeLifts, { into: dip.show(one.into, "height"), out: dip.show(one.out, "height"), limit });
    const state = one.open ? words.wedgeOpen : words.wedgeClosed;
    const thing = one.thing === null || one.thing === undefined ? null : site.rose.things[one.thing];
    const why = thing === null ? words.wedgeNothing : dip.fill(words.wedgeThing, { what: text(thing[0]),
      far: dip.show(thing[1] / 10, "height"), on: dip.magnetic(thing[2] / 10), high: dip.show(thing[3] / 10, "height") });
    return dip.fill(state, { course }) + " " + lifts + " " + why;
  }
  function lightUp(site, one) {
    const thing = dip.isKnown(one.thing) ? site.rose.things[one.thing] : null;
    const reach = thing ? Math.max(400, thing[1] / 10 + 100) : 1500, half = 180 / site.rose.count;
    const rim = [site.at, ...[-1, -0.5, 0, 0.5, 1].map((part) => dip.ahead(site.at[0], site.at[1], one.b + part * half, reach))];
    const shapes = [dip.drawn("area", rim, "lit-wedge", "marks")];
    if (thing) shapes.push(dip.dot(dip.ahead(site.at[0], site.at[1], thing[2] / 10, thing[1] / 10)));
    dip.light(shapes);
  }

  /* the rose of a card: a slider round the circle, so that keys and readers can walk it */
  function rose(i, live) {
    const site = dip.data.sites[i];
    if (!site.rose) return null;
    const found = wedges(site.rose), picture = drawing(site, found), half = 180 / site.rose.count;
    if (!live) return h("figure", { class: "round", role: "img", "aria-label": text(site.open) }, picture);
    const answer = h("p", { class: "answer", "aria-live": "polite" }, words.roseHint);
    const dial = h("div", { class: "turn", role: "slider", tabindex: 0, "aria-label": words.roseLabel, "aria-valuemin": 0, "aria-valuemax": site.rose.count - 1,
      "aria-valuenow": 0, "aria-valuetext": text(site.open) }, picture);
    let now = null;
    function point(n) {
      if (n === now) return;
      now = n;
      const one = found[n], words_ = said(site, one);
      dip.one(".pointed", picture).setAttribute("d", sector(one.b, half, 8, RIM));
      answer.textContent = words_;
      dial.setAttribute("aria-valuenow", n);
      dial.setAttribute("aria-valuetext", words_);
      lightUp(site, one);
    }
    function leave() {
      now = null;
      dip.one(".pointed", picture).removeAttribute("d");
      dip.light();
    }
    function under(event) {
      const box = picture.getBoundingClientRect();
      const x = event.clientX - box.left - box.width / 2, y = event.clientY - box.top - box.height / 2;
      const far = Math.hypot(x, y) / box.width * 340;
      if (far < 6 || far > RIM + 20) return;
      const deg = ((Math.atan2(x, -y) * 180) / Math.PI + 360) % 360;
      point(found.reduce((best, one, n) => (apart(one.b, deg) < apart(found[best].b, deg) ? n : best), 0));
    }
    ["pointermove", "pointerdown"].forEach((name) => dial.addEventListener(name, under));
    dial.addEventListener("pointerleave", (e) => { if (e.pointerType === "mouse" && document.activeElement !== dial) leave(); });
    dial.addEventListener("blur", leave);
    dial.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 6, PageDown: -6 }[event.key];
      const goal = event.key === "Home" ? 0 : event.key === "End" ? found.length - 1 : step ? ((now ?? (step > 0 ? -1 : 0)) + step + found.length) % found.length : null;
      if (goal === null) return;
      event.preventDefault();
      point(goal);
    });
    return h("div", { class: "rose-box" }, h("figure", { class: "round" }, dial), answer);
  }
  Object.assign(dip, { rose, barbs, polar, wedges, wedgeWords: said });
})(window.dip);
