"use strict";
/* The profile of a leg: ground, trees, floor, wires and the aircraft; linked with the leg on the map, both ways. */
(function (dip) {
  const { s, h, words, text } = dip;
  const WIDTH = 500, HEIGHT = 208, LEFT = 50, RIGHT = 488, TOP = 18, BOTTOM = 168;
  const var_ = (role) => "var(--" + role + ")";
  const n = (v) => v.toFixed(1);
  const track = (points, close) => "M" + points.map(([x, y]) => n(x) + " " + n(y)).join("L") + (close ? "Z" : "");
  const say = (x, y, words_, more) => s("text", Object.assign({ x: n(x), y: n(y), fill: var_("ink") }, more), words_);

  /* a straight scale with round ticks in the reader's unit */
  function axis(what, low, high, start, end, wanted) {
    const [factor, offset] = dip.data.units[what];
    const at = (value) => start + ((value - low) / (high - low)) * (end - start);
    const from = (low - offset) / factor, to = (high - offset) / factor;
    const rough = (to - from) / wanted, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((m) => m * power).reduce((a, b) => (Math.abs(Math.log(b / rough)) < Math.abs(Math.log(a / rough)) ? b : a));
    const decimals = Math.max(0, -Math.floor(Math.log10(step)));
    const ticks = [];
    for (let i = Math.ceil(from / step - 1e-9); i <= Math.floor(to / step + 1e-9); i++)
      ticks.push([at(i * step * factor + offset), dip.grouped((i * step + 0).toFixed(decimals)).replace(/^-(0(\.0+)?)$/, "$1")]);
    return { at, ticks, unit: dip.data.units[what][3] };
  }
  function runs(row) {
    const found = [];
    row.forEach((known, i) => {
      if (!known) return;
      if (i && row[i - 1]) found[found.length - 1][1] = i + 1;
      else found.push([i, i + 1]);
    });
    return found;
  }
  const hatched = (x1, x2) => [s("rect", { class: "unknown", x: n(x1), y: TOP, width: n(Math.max(0, x2 - x1)), height: BOTTOM - TOP, fill: "url(#hatch-line)" })];

  function heights(of) {
    const below = of.below;
    const known = (row) => row.filter((v) => v !== null);
    return [...of.high, ...of.packed.wires.map((w) => w.top / 10), ...(below ? [...known(below.ground), ...known(below.top), ...known(below.floor)] : [])];
  }
  function scales(several) {
    const high = several.flatMap(heights), low = Math.min(...high), peak = Math.max(...high), spare = Math.max(20, 0.12 * (peak - low));
    return { across: axis("distance", 0, Math.max(1, ...several.map((of) => of.length)), LEFT, RIGHT, 6), up: axis("height", low - spare, peak + spare, BOTTOM, TOP, 4) };
  }
  function beneath(of, { across, up }) {
    const below = of.below;
    if (!below) return hatched(LEFT, RIGHT);
    const edge = (step) => across.at(step * below.step);
    function over(row, [first, end]) {
      const points = [[edge(first), up.at(row[first])]];
      for (let i = first; i < end; i++) points.push([(edge(i) + edge(i + 1)) / 2, up.at(row[i])]);
      points.push([edge(end), up.at(row[end - 1])]);
      return points;
    }
    const parts = [];
    const known = (row) => runs(row.map((v) => v !== null));
    known(below.top).forEach((run) => {
      const tops = over(below.top, run);
      parts.push(s("path", { d: track([...tops, [tops[tops.length - 1][0], BOTTOM], [tops[0][0], BOTTOM]], true), fill: var_("trees") }));
    });
    known(below.ground).forEach((run) => {
      const earth = over(below.ground, run);
      parts.push(s("path", { d: track([...earth, [earth[earth.length - 1][0], BOTTOM], [earth[0][0], BOTTOM]], true), fill: var_("ground") }),
        s("path", { d: track(earth), fill: "none", stroke: var_("line"), "stroke-width": 0.8 }));
    });
    runs(below.ground.map((v, i) => v === null || below.top[i] === null)).forEach(([a, b]) => parts.push(...hatched(edge(a), edge(b))));
    known(below.floor).forEach((run) => parts.push(s("path", { d: track(over(below.floor, run)), fill: "none", stroke: var_("hazard"), "stroke-width": 1.1, "stroke-dasharray": "2 2.5" })));
    return parts;
  }
  const DASH = { loaded: null, empty: "8 5", ferry: "1.5 4" };
  function craft(of, { across, up }, role, dash) {
    const flown = of.along.map((d, i) => [across.at(d), up.at(of.high[i])]);
    const first = flown[0], last = flown[flown.length - 1];
    return [s("path", { d: track(flown), fill: "none", stroke: var_("page"), "stroke-width": 5, "stroke-linejoin": "round" }),
      s("path", { class: "craft", d: track(flown), fill: "none", stroke: var_(role), "stroke-width": 2.2, "stroke-dasharray": dash }),
      s("circle", { cx: n(first[0]), cy: n(first[1]), r: 3.2, fill: var_(role) }),
      s("circle", { cx: n(last[0]), cy: n(last[1]), r: 3.2, fill: var_("page"), stroke: var_(role), "stroke-width": 1.8 })];
  }
  function wires(of, { across, up }) {
    return of.packed.wires.map((wire, i) => {
      const x = across.at(wire.along / 10), y = up.at(wire.top / 10), flip = x > (LEFT + RIGHT) / 2;
      return s("g", { class: "wire", "data-wire": i },
        s("path", { d: "M" + n(x) + " " + n(y) + "V" + BOTTOM + "M" + n(x - 5) + " " + n(y) + "H" + n(x + 5), fill: "none", stroke: var_("hazard"), "stroke-width": 2 }),
        say(flip ? x - 8 : x + 8, BOTTOM - 6 - 15 * (i % 3), text(wire.short), { fill: var_("warning"), stroke: var_("page"), "stroke-width": 3, "paint-order": "stroke",
          "stroke-linejoin": "round", "text-anchor": flip ? "end" : null }));
    });
  }
  function frame({ across, up }) {
    return [s("path", { d: "M" + LEFT + " " + BOTTOM + "H" + RIGHT, stroke: var_("ink"), "stroke-width": 1 }),
      up.ticks.map(([y, name]) => say(LEFT - 6, y + 4, name, { "text-anchor": "end", fill: var_("quiet"), "font-size": 12 })),
      say(LEFT - 6, TOP - 6, up.unit, { "text-anchor": "end", fill: var_("quiet"), "font-size": 12 }),
      across.ticks.map(([x, name]) => [s("path", { d: "M" + n(x) + " " + BOTTOM + "v4", stroke: var_("ink"), "stroke-width": 1 }),
        say(x, BOTTOM + 16, name, { "text-anchor": "middle", fill: var_("quiet"), "font-size": 12 })]),
      say(RIGHT, BOTTOM + 32, across.unit, { "text-anchor": "end", fill: var_("quiet"), "font-size": 12 })];
  }
  const rules = ({ up }) => up.ticks.map(([y]) => s("path", { d: "M" + LEFT + " " + n(y) + "H" + RIGHT, stroke: var_("rule"), "stroke-width": 0.6 }));
  const sheet = (kind, ...inside) => s("svg", { class: "drawing " + kind, viewBox: "0 0 " + WIDTH + " " + HEIGHT, "font-family": "system-ui, sans-serif", "font-size": 12,
    "aria-hidden": "true" }, ...inside);
  function drawing(of) {
    const both = scales([of]);
    return [both, sheet("profile", rules(both), beneath(of, both), craft(of, both, "ink", DASH[of.packed.kind]), wires(of, both), frame(both),
      s("path", { class: "cursor", fill: "none", stroke: var_("ink"), "stroke-width": 1 }))];
  }

  /* the profile of one leg on a card; it listens to the map, and the map to it */
  function profile(i, number, live) {
    const packed = dip.data.sites[i].legs[number], of = dip.leg(packed);
    const [both, picture] = drawing(of);
    const label = text(packed.title) + ", " + text(packed.peak);
    const title = h("p", { class: "caption" }, h("b", {}, text(packed.title)), " ", h("span", {}, text(packed.peak)));
    if (!live) return h("figure", { class: "leg", role: "img", "aria-label": label }, title, picture);
    const caption = h("figcaption", { class: "probe" }, words.profileHint);
    const steps = of.below ? of.below.craft.length : 0;
    const slide = h("div", { class: "slide", role: "slider", tabindex: 0, "aria-label": label, "aria-valuemin": 0, "aria-valuemax": Math.max(0, steps - 1), "aria-valuenow": 0,
      "aria-valuetext": words.profileHint }, picture);
    let now = null;
    function read(step, from) {
      if (!steps) return;
      now = Math.min(steps - 1, Math.max(0, step));
      const below = of.below, metres = (now + 0.5) * below.step;
      dip.one(".cursor", picture).setAttribute("d", "M" + n(both.across.at(metres)) + " " + TOP + "V" + BOTTOM);
      const feet = (v) => dip.show(v, "height") + (v === null ? "" : " " + words.seaLevel);
      const said = dip.fill(words.probe, { far: dip.show(metres, "distance"), craft: feet(below.craft[now]), ground: feet(below.ground[now]), top: feet(below.top[now]),
        room: dip.show(below.room[now], "height") });
      caption.textContent = said;
      slide.setAttribute("aria-valuenow", now);
      slide.setAttribute("aria-valuetext", said);
      if (from !== "map") dip.tell("along", { leg: number, metres: metres, from: "profile" });
    }
    function leave() { dip.one(".cursor", picture).removeAttribute("d"); }
    function under(event) {
      const box = picture.getBoundingClientRect();
      const x = ((event.clientX - box.left) / box.width) * WIDTH;
      const metres = ((x - LEFT) / (RIGHT - LEFT)) * Math.max(1, of.length);
      if (steps) read(Math.floor(metres / of.below.step), "profile");
    }
    ["pointermove", "pointerdown"].forEach((name) => slide.addEventListener(name, under));
    slide.addEventListener("pointerleave", () => { if (document.activeElement !== slide) { leave(); dip.tell("along", null); } });
    slide.addEventListener("blur", () => { leave(); dip.tell("along", null); });
    slide.addEventListener("keydown", (event) => {
      const goal = { ArrowRight: (now ?? -1) + 1, ArrowUp: (now ?? -1) + 1, ArrowLeft: (now ?? 1) - 1, ArrowDown: (now ?? 1) - 1, PageUp: (now ?? 0) + 10, PageDown: (now ?? 0) - 10,
        Home: 0, End: steps - 1 }[event.key];
      if (goal === undefined) return;
      event.preventDefault();
      read(goal, "profile");
    });
    const list = packed.wires.length ? h("ul", { class: "wires" }, packed.wires.map((wire, k) => h("li", {}, h("button", { type: "button", "data-wire": k,
      click: () => dip.tell("wire", { leg: number, wire: k }) }, text(wire.words))))) : null;
    const figure = h("figure", { class: "leg", "data-leg": number }, title, slide, caption, list);
    figure.follow = (where) => {
      if (where && where.leg === number && where.from === "map" && steps) read(Math.floor(where.metres / of.below.step), "map");
      else if (!where) leave();
    };
    figure.pick = (which) => {
      dip.all("[data-wire]", figure).forEach((e) => e.classList.toggle("lit", which.leg === number && Number(e.dataset.wire) === which.wire));
      if (which.leg === number) figure.scrollIntoView({ block: "nearest" });
    };
    return figure;
  }
  dip.on("along", (where) => dip.all("#card figure.leg").forEach((f) => f.follow && f.follow(where)));
  dip.on("wire", (which) => dip.all("#card figure.leg").forEach((f) => f.pick && f.pick(which)));

  /* the loaded legs of several sites over each other, on one scale */
  function overlaid(list, looks) {
    const several = list.map((i) => dip.data.sites[i].legs.find((packed) => packed.kind === "loaded")).map((packed) => packed && dip.leg(packed));
    const there = several.filter(Boolean);
    if (!there.length) return null;
    const both = scales(there);
    const earth = several.map((of, k) => of && of.below && runs(of.below.top.map((v) => v !== null)).map(([a, b]) => s("path", { fill: "none", stroke: var_(looks[k][0]), "stroke-width": 1,
      opacity: 0.8, d: track(of.below.top.slice(a, b).map((v, q) => [both.across.at((a + q + 0.5) * of.below.step), both.up.at(v)])) })));
    return h("figure", { role: "img", "aria-label": words.overlaid }, h("p", { class: "caption" }, h("b", {}, words.overlaid), " ", h("span", {}, words.overlaidReading)),
      sheet("profile", rules(both), earth, several.map((of, k) => of && craft(of, both, looks[k][0], looks[k][1])), frame(both)));
  }
  Object.assign(dip, { profile, overlaid, axis, track, svgWords: say });
})(window.dip);
