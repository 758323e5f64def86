"use strict";
/* The cycle bar, the load stair, the curve of water against fuel, and the whisker of a range. */
(function (dip) {
  const { s, h, words, text } = dip;
  const WIDTH = 500, LETTER = 6.7;
  const var_ = (role) => (role === "none" ? "none" : "var(--" + role + ")");
  const n = (v) => v.toFixed(1);
  const say = dip.svgWords;
  const halo = (x, y, words_, more) => say(x, y, words_, Object.assign({ stroke: var_("page"), "stroke-width": 3, "paint-order": "stroke", "stroke-linejoin": "round" }, more));
  const box = (x, y, wide, high, fill, edge, width) => s("rect", { x: n(x), y: n(y), width: n(Math.max(0, wide)), height: n(high), fill: fill, stroke: var_(edge), "stroke-width": width });
  const line = (x1, y1, x2, y2, role, width, dash) =>
    s("path", { d: "M" + n(x1) + " " + n(y1) + "L" + n(x2) + " " + n(y2), fill: "none", stroke: var_(role), "stroke-width": width, "stroke-dasharray": dash || null });
  const picture = (kind, high, heading, label, ...inside) => h("figure", { class: "bar", tabindex: 0 }, h("p", { class: "caption" }, h("b", {}, heading)), s("svg", { class: "drawing " + kind, role: "img", "aria-label": label, viewBox: "0 0 " + WIDTH + " " + n(high),
    "font-family": "system-ui, sans-serif", "font-size": 12 }, ...inside));

  function cycle(site) {
    if (!site.cycleParts) return null;
    const total = site.cycle / 10, heading = dip.fill(words.oneCycle, { time: dip.span(total) });
    const parts = [], said = [], rows = [], TOP = 2;
    let x = 0;
    site.cycleParts.forEach(([name, tenths, fill, ink, isDrop]) => {
      const wide = total ? (WIDTH * tenths) / 10 / total : 0, seconds = dip.fixed(tenths / 10, 0) + " s", word = text(name), middle = x + wide / 2;
      said.push(word + " " + seconds);
      parts.push(box(x + 0.5, TOP, wide - 1, 34, var_(fill), "ink", 1));
      if (isDrop) parts.push(s("rect", { x: n(x + 1), y: TOP, width: n(Math.max(0, wide - 2)), height: 34, fill: "url(#hatch-ink)" }));
      if (wide >= LETTER * word.length + 8) {
        parts.push(say(middle, TOP + 14, word, { "text-anchor": "middle", fill: var_(ink) }), say(middle, TOP + 28, seconds, { "text-anchor": "middle", fill: var_(ink) }));
      } else if (dip.even(tenths / 10) > 0) {
        const label = said[said.length - 1], half = (LETTER * label.length) / 2, left = Math.min(Math.max(middle - half, 0), WIDTH - 2 * half);
        let row = rows.findIndex((end) => left > end + 6);
        if (row < 0) { row = rows.length; rows.push(0); }
        rows[row] = left + 2 * half;
        const y = TOP + 51 + 16 * row;
        parts.push(line(middle, TOP + 34, middle, y - 10, "line", 0.8), halo(left + half, y, label, { "text-anchor": "middle" }));
      }
      x += wide;
    });
    return picture("cycle", TOP + 42 + 16 * rows.length, heading, heading + ": " + said.join(", "), ...parts);
  }

  function stair(site) {
    if (!site.stair) return null;
    const LEFT = 172, RIGHT = 424, TOP = 22, ROW = 20;
    const { heading, steps } = site.stair, top = text(heading);
    if (!steps.length) return h("p", { class: "caption none" }, top);
    const high = steps[0][1], low = Math.min(0, steps[steps.length - 1][2]);
    const at = (mass) => LEFT + ((mass - low) / (high - low)) * (RIGHT - LEFT);
    const parts = [say(0, 12, words.grossWeight), box(LEFT, 1, at(high) - LEFT, 13, "none", "ink", 1.2),
      say(WIDTH, 12, dip.show(high / 10, "mass"), { "text-anchor": "end", "font-weight": 600 }), line(at(high), 1, at(high), TOP, "ink", 1)];
    steps.forEach(([name, above, below, fill, edge, weight, mass, isHatched], i) => {
      const y = TOP + i * ROW, x1 = at(below), x2 = at(above);
      parts.push(box(x1, y, Math.max(1, x2 - x1), 13, var_(fill), edge, 1));
      if (isHatched) parts.push(s("rect", { x: n(x1), y: n(y), width: n(Math.max(0, x2 - x1)), height: 13, fill: "url(#hatch-line)" }));
      if (i + 1 < steps.length) parts.push(line(x1, y, x1, y + ROW, "ink", 1));
      parts.push(say(0, y + 11, text(name), { "font-weight": weight }), say(WIDTH, y + 11, mass, { "text-anchor": "end", "font-weight": weight }));
    });
    const end = TOP + ROW * steps.length;
    if (low < 0) parts.push(line(at(0), TOP - 4, at(0), end, "hazard", 1.6),
      halo(at(0) + 4, end + 11, dip.fill(words.tooHeavy, { mass: dip.show(-low / 10, "mass") }), { fill: var_("warning"), "font-weight": 600 }));
    return picture("stair", end + 16, top, top + ": " + steps.map((step) => text(step[0]) + " " + step[6].replace("− ", "")).join(", "), ...parts);
  }

  function curves(site) {
    if (!site.curve.length) return null;
    const LEFT = 52, RIGHT = 452, TOP = 18, BOTTOM = 200;
    const several = site.curve.map(([fill, fuels, rates]) => {
      const kg = dip.sums(fuels).map((v) => v / 10), litres = dip.sums(rates);
      return { fill, kg, points: kg.map((v, i) => [v, litres[i]]).filter(([, rate]) => rate !== null).sort((a, b) => a[0] - b[0]), shut: litres[litres.length - 1] === null };
    });
    const fuels = several.flatMap((c) => c.kg), rates = several.flatMap((c) => c.points.map(([, rate]) => rate));
    if (!rates.length || Math.min(...fuels) === Math.max(...fuels)) {
      const note = rates.length ? words.oneFuel : words.noPair;
      return h("p", { class: "caption" }, note);
    }
    const across = dip.axis("mass", Math.min(...fuels), Math.max(...fuels), LEFT, RIGHT, 6), up = dip.axis("volume", 0, Math.max(1, ...rates) * 1.25, BOTTOM, TOP, 4);
    const parts = [...up.ticks.map(([y]) => line(LEFT, y, RIGHT, y, "rule", 0.6))];

    /* hatched: above the best that is allowed, from the fuel on at which the fullest setting is not */
    const most = Math.max(...fuels), ends = several.map((c) => (c.points.length ? c.points[c.points.length - 1][0] : Math.min(...fuels)));
    const knots = [...new Set([...several.flatMap((c) => c.points.map(([kg]) => kg)), ...ends.map((v) => v + 1e-6), most])].filter((v) => v >= ends[0] && v <= most).sort((a, b) => a - b);
    const value = (points, kg) => {
      if (!points.length || kg < points[0][0] || kg > points[points.length - 1][0]) return 0;
      const i = Math.max(1, points.findIndex(([v]) => v >= kg));
      if (points.length === 1) return points[0][1];
      const [[a, p], [b, q]] = [points[i - 1], points[i]];
      return p + ((kg - a) / (b - a)) * (q - p);
    };
    if (knots.length >= 2) {
      const edge = knots.map((kg) => [across.at(kg), up.at(Math.max(0, ...several.map((c) => value(c.points, kg))))]);
      edge.unshift([edge[0][0], TOP]);
      parts.push(s("path", { d: dip.track([...edge, [edge[edge.length - 1][0], TOP]], true), fill: "url(#hatch-soft-hazard)" }), s("path", { d: dip.track(edge), fill: "none", stroke: var_("hazard"), "stroke-width": 1.2 }),
        halo((edge[0][0] + RIGHT) / 2, TOP + 14, words.noMargin, { "text-anchor": "middle", fill: var_("warning"), "font-weight": 600 }));
    }
    several.filter((c) => c.points.length).forEach((c) => {
      const drawn = c.points.map(([kg, rate]) => [across.at(kg), up.at(rate)]), mine = c.fill === site.fill, [x, y] = drawn[drawn.length - 1];
      parts.push(s("path", { d: dip.track(drawn), fill: "none", stroke: var_("shore"), "stroke-width": mine ? 2.6 : 1.3 }));
      if (c.shut) parts.push(s("circle", { cx: n(x), cy: n(y), r: 2.6, fill: var_("hazard") }));
      parts.push(halo(x + 7, y + 4, dip.share(c.fill), { fill: var_("shore"), "font-weight": mine ? 600 : null }));
    });
    let label = dip.fill(words.curvesLabel, { count: several.length });
    if (site.fuel !== null && site.rate !== null) {
      const x = across.at(site.fuel / 10), y = up.at(site.rate / 10);
      label += "; " + dip.fill(words.curvesChosen, { rate: dip.show(site.rate / 10, "volume"), fuel: dip.show(site.fuel / 10, "mass"), fill: dip.share(site.fill) });
      parts.push(line(x, y, x, BOTTOM, "ink", 1, "2 3"), s("circle", { cx: n(x), cy: n(y), r: 5, fill: var_("ink"), stroke: var_("page"), "stroke-width": 1.5 }));
    }
    const small = { fill: var_("quiet"), "font-size": 12 };
    parts.push(line(LEFT, BOTTOM, RIGHT, BOTTOM, "ink", 1), ...up.ticks.map(([y, name]) => say(LEFT - 6, y + 4, name, Object.assign({ "text-anchor": "end" }, small))),
      say(RIGHT, 11, up.unit + " " + words.anHour, Object.assign({ "text-anchor": "end" }, small)),
      ...across.ticks.flatMap(([x, name]) => [line(x, BOTTOM, x, BOTTOM + 4, "ink", 1), say(x, BOTTOM + 16, name, Object.assign({ "text-anchor": "middle" }, small))]),
      say(RIGHT, BOTTOM + 33, words.fuelUnit + ", " + across.unit, Object.assign({ "text-anchor": "end" }, small)));
    return picture("curves", 240, words.curves, label, ...parts);
  }

  function whisker(low, value, high, [from, to], label) {
    const at = (v) => 3 + ((v - from) / (to - from)) * 66;
    return s("svg", { class: "drawing whisker", role: "img", "aria-label": label, viewBox: "0 0 72 10" }, line(2, 5, 70, 5, "rule", 0.8),
      low !== null && high !== null ? line(at(low), 5, at(high), 5, "shore", 3) : null, value !== null ? line(at(value), 1, at(value), 9, "ink", 1.6) : null);
  }
  Object.assign(dip, { cycleBar: cycle, loadStair: stair, curves, whisker });
})(window.dip);
