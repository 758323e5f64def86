"use strict";
/* Two or three sites side by side: numbers in rows, profiles over each other, roses at one scale, what only one has. */
(function (dip) {
  const { data, h, words, text } = dip;
  const place = document.getElementById("compare");
  const LOOKS = [["ink", null], ["shore", "9 4"], ["green", "2 3"]];
  const MOST = 3;
  function compare(i, how) {
    const at = dip.compared.indexOf(i);
    if (at >= 0) dip.compared.splice(at, 1);
    else { dip.compared.push(i); if (dip.compared.length > MOST) dip.compared.shift(); }
    redraw();
    dip.tell("compared");
    if (how && how.open && at < 0 && dip.compared.length >= 2) dip.tell("open", "compare");
  }
  function rows(list) {
    const now = (key, print) => list.map((i) => { const one = dip.answer(i); return one.works || key === "dense" ? print(one[key]) : words.shut; });
    const site = (print) => list.map((i) => print(data.sites[i]));
    const show = (what) => (value) => dip.show(value, what);
    const own = (name) => (dip.moment.kind === "plan" ? name : dip.fill(words.ofPlan, { name: name, clock: data.plan.clock }));
    const lift = (k) => (s) => (s.courses && s.courses.rows[k] ? s.courses.rows[k][3] : words.unknown);
    return [
      [words.rank, list.map((i) => (dip.ranks[i] === null ? words.unsuitable : String(dip.ranks[i])))],
      [words.waterHour, now("rate", show("volume"))], [words.setting, now("fill", dip.share)], [words.fuelStart, now("fuel", (v) => (v === null ? words.unknown : dip.show(v, "mass")))],
      [words.lineTaken, now("line", show("line"))], [own(words.lineNeeded), site((s) => dip.show(dip.tenths(s.needed), "line"))],
      [words.margin, now("margin", (v) => (v === null ? words.unknown : dip.show(v, "mass")))],
      [words.inMagnetic, now("in", (v) => v || words.unknown)], [words.outMagnetic, now("out", (v) => v || words.unknown)],
      [own(words.liftIn), site(lift(0))], [own(words.liftOut), site(lift(1))],
      [own(words.cycle), site((s) => (s.cycle === null ? words.unknown : dip.clock(s.cycle / 10)))], [own(words.loadedLeg), site((s) => dip.show(dip.tenths(s.far), "distance"))],
      [own(words.dense), site((s) => dip.show(dip.hundredths(s.dense), "height"))], [words.depth, site((s) => dip.show(dip.tenths(s.depth), "depth"))],
      [words.salt, site((s) => (s.salt ? words.yes : words.no))], [own(words.wiresCrossed), site((s) => (s.legs.length ? String(s.legs.reduce((sum, leg) => sum + leg.wires.length, 0)) : words.unknown))],
      [own(words.cautions), site((s) => String(s.care.length))], [own(words.scoreWord), site((s) => (s.score ? s.score[0] : words.unknown))],
    ];
  }
  function draw() {
    const list = dip.compared;
    const choice = h("select", { "aria-label": words.addSite, change: (e) => { if (e.target.value !== "") compare(Number(e.target.value)); } },
      h("option", { value: "" }, words.addSite), data.sites.map((site, i) => (list.includes(i) ? null : h("option", { value: i }, (dip.ranks[i] === null ? "" : dip.ranks[i] + ". ") + site.name))));
    if (list.length < 2) { place.replaceChildren(h("p", { class: "quiet" }, words.compareHint), h("p", {}, choice)); return; }
    const sign = (k) => dip.s("svg", { viewBox: "0 0 34 8", width: 34, height: 8, "aria-hidden": "true" },
      dip.s("path", { d: "M1 4H33", stroke: "var(--" + LOOKS[k][0] + ")", "stroke-width": 2.4, "stroke-dasharray": LOOKS[k][1] }));
    const heads = list.map((i, k) => h("th", { scope: "col" }, sign(k), " ", h("button", { type: "button", click: () => dip.choose(i, { show: true, card: true }) }, dip.named(data.sites[i].name)),
      h("button", { type: "button", class: "away", "aria-label": dip.fill(words.takeAway, { name: data.sites[i].name }), click: () => compare(i) }, "×")));
    const body = rows(list).map(([name, cells]) => h("tr", { class: new Set(cells).size > 1 ? "differs" : null }, h("th", { scope: "row" }, name), cells.map((cell) => h("td", {}, cell))));
    const said = list.map((i) => [...data.sites[i].refused, ...data.sites[i].care.map(([, n]) => n)]);
    const own = list.map((i, k) => h("li", {}, h("b", {}, dip.named(data.sites[i].name)), h("ul", { class: "because" },
      said[k].filter((n) => said.filter((other) => other.includes(n)).length < list.length).map((n) => h("li", {}, text(n))))));
    place.replaceChildren(...[h("p", { class: "quiet" }, dip.momentWords()), h("div", { class: "wide", tabindex: 0, role: "region", "aria-label": words.compareTable },
      h("table", { class: "plain compare" }, h("thead", {}, h("tr", {}, h("td", {}), heads)), h("tbody", {}, body))), h("p", {}, choice),
    h("h3", {}, words.onlyOne), h("ul", { class: "own" }, own), dip.overlaid(list, LOOKS), h("h3", {}, words.rosesScale),
    h("div", { class: "roses" }, list.map((i) => h("div", {}, h("p", {}, dip.named(data.sites[i].name)), dip.rose(i, false))))].filter(Boolean));
  }
  const redraw = dip.lazy("compare", draw);
  document.getElementById("compare-add").addEventListener("click", (e) => {
    compare(dip.chosen, { open: true });
    e.target.setAttribute("aria-pressed", String(dip.compared.includes(dip.chosen)));
  });
  dip.on("moment", redraw);
  Object.assign(dip, { compare });
})(window.dip);
