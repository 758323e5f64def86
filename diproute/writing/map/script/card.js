"use strict";
/* The card of a site: four big lines, then all that is known of it. It is built when it is asked for. */
(function (dip) {
  const { data, h, words, text } = dip;
  const list = (numbers) => h("ul", { class: "because" }, numbers.map((number) => h("li", {}, text(number))));

  function table(found) {
    if (!found) return null;
    const isText = (k) => (found.text || []).includes(k);
    const head = h("thead", {}, h("tr", {}, found.heads.map((number, k) => (text(number) === "" && !k ? h("td", {}) : h("th", { scope: "col", class: isText(k) ? "text" : null }, text(number))))));
    const rows = found.rows.map((cells, r) => {
      const spans = cells.length < found.heads.length && cells.length === 2;
      return h("tr", { class: found.taken === r ? "taken" : null }, cells.map((cell, k) => (k === 0
        ? h("th", { scope: "row", class: isText(0) ? "text" : null }, cell)
        : h("td", { class: found.here && found.here[0] === r && found.here[1] === k - 1 ? "here" : isText(k) || spans ? "text" : null, colspan: spans ? found.heads.length - 1 : null }, cell))));
    });
    return h("div", { class: "wide", tabindex: 0, role: "region", "aria-label": words.table }, h("table", { class: "plain" }, head, h("tbody", {}, rows)));
  }
  const folded = (summary, inside) => (inside ? h("details", {}, h("summary", {}, summary), inside) : h("p", {}, summary + "."));

  function waypoints(packed, name) {
    const { lat, lon, far, course, high, time } = packed.points, a = dip.sums(lat), b = dip.sums(lon);
    const rows = a.map((v, i) => [String(i + 1), dip.ddm(v / 60000, b[i] / 60000).join(" "), far[i], course[i], high[i], time[i]]);
    return folded(dip.fill(words.waypoints, { count: rows.length, leg: name || dip.small(text(packed.name)) }), table({ heads: data.plan.waypoints, rows: rows }));
  }
  function hoursOf(i) {
    const row = data.hours && data.hours.sites[i];
    if (!row) return null;
    const units = data.units, spans = (data.hours.spans[i] || []).map(text);
    const rates = row.rate.filter((rate) => rate !== null).map((rate) => rate / 10);
    if (!rates.length) return h("p", {}, words.worksNever);
    const label = dip.fill(words.byTheHour, { low: dip.show(Math.min(...rates), "volume", true), high: dip.show(Math.max(...rates), "volume") });
    const setting = row.fill.map((fill, k) => (row.rate[k] === null ? words.shut : dip.share(fill)));
    const changes = setting.map((word, k) => (k === 0 || setting[k - 1] !== word ? word + " " + words.from + " " + data.hours.clock[k] : null)).filter(Boolean);
    const said = label + "; " + (changes.length > 1 ? dip.fill(words.settings, { said: changes.join(", ") }) : dip.fill(words.settingAll, { said: setting[0] }));
    const head = ["", words.waterHour + ", " + units.volume[3], words.setting, words.line + ", " + units.line[3], words.fuel + ", " + units.mass[3], words.margin + ", " + units.mass[3],
      words.inOut, words.dense + ", " + units.height[3]];
    const body = data.hours.clock.map((clock, k) => {
      const dense = h("td", {}, dip.show(dip.hundredths(row.dense[k]), "height", true));
      if (row.rate[k] === null) return h("tr", {}, h("th", { scope: "row" }, clock), h("td", { class: "text", colspan: 6 }, text(row.why[k])), dense);
      const courses = row.in[k] === null ? words.unknown : text(row.in[k]) + " / " + text(row.out[k]);
      const care = row.care[k].length ? h("td", { class: "text" }, courses + "; " + row.care[k].map(text).join("; ")) : h("td", {}, courses);
      return h("tr", {}, h("th", { scope: "row" }, clock), h("td", {}, dip.show(row.rate[k] / 10, "volume", true)), h("td", {}, dip.share(row.fill[k])),
        h("td", {}, dip.show(dip.tenths(row.line[k]), "line", true)), h("td", {}, dip.show(dip.tenths(row.fuel[k]), "mass", true)), h("td", {}, dip.show(dip.tenths(row.margin[k]), "mass", true)), care, dense);
    });
    const whole = h("div", { class: "wide", tabindex: 0, role: "region", "aria-label": words.hours }, h("table", { class: "plain" },
      h("thead", {}, h("tr", {}, head.map((name, k) => (k ? h("th", { scope: "col" }, name) : h("td", {}))))), h("tbody", {}, body)));
    return [spans.length ? h("p", { class: "spans" }, spans.join("; ") + ".") : null, folded(said, whole)];
  }

  /* the four big lines, as of the moment that is shown */
  function big(i) {
    const site = data.sites[i], now = dip.answer(i);
    const [lat, lon] = dip.ddm(site.at[0], site.at[1]);
    const copied = h("span", { class: "copied", "aria-live": "polite" });
    const copy = h("button", { type: "button", class: "copy", click: () => dip.copy(dip.forms[dip.form](site.at[0], site.at[1]), copied) }, words.copy);
    const form = dip.form === "ddm" ? [h("span", { class: "degrees" }, lat), " ", h("span", { class: "degrees" }, lon)] : [dip.forms[dip.form](site.at[0], site.at[1])];
    const courses = now.in || now.out
      ? [h("span", { class: "word" }, words.in), " ", now.in || words.unknown, "M ", h("span", { class: "word" }, words.out), " ", now.out || words.unknown, "M"]
      : [h("span", { class: "shut" }, now.works ? words.coursesUnknown : words.noCourses)];
    const load = now.works
      ? [dip.share(now.fill) + " ", h("span", { class: "word" }, words.bucket), ", ", now.fuel === null ? words.fuelUntold : dip.show(now.fuel, "mass") + " ", now.fuel === null ? null : h("span", { class: "word" }, words.fuel),
        ", ", now.line === 0 ? words.bellyHook : [dip.show(now.line, "line") + " ", h("span", { class: "word" }, words.line)]]
      : [h("span", { class: "shut" }, words.noLoad)];
    const shut = now.works ? [] : now.why ? now.why.split("; ") : [words.unknown];
    const watch = [...shut, ...now.care, ...site.watch.map(text).filter((line) => !shut.includes(line))];
    const first = watch.slice(0, 2), more = watch.length - first.length;
    const line = (key, name, inside) => h("div", { class: "big " + key }, h("dt", {}, name), h("dd", {}, inside));
    return h("dl", { class: "four", id: "four" }, line("place", words.where, [h("span", { class: "at" }, form), copy, copied]), line("ways", words.inAndOut, courses), line("load", words.load, load),
      line("watch", words.watch, first.length ? [first.map((one) => h("p", {}, one)), more > 0 ? h("p", { class: "quiet" }, dip.fill(words.moreCautions, { count: more })) : null] : words.nothingToWatch));
  }
  function head(i) {
    const site = data.sites[i], rank = dip.ranks[i], now = dip.answer(i);
    const rate = now.works ? dip.fill(words.rateNow, { rate: dip.show(now.rate, "volume") }) : words.unsuitable;
    return [h("h2", { tabindex: -1 }, h("span", { class: rank === null ? "disc hollow" : "disc", "aria-hidden": "true" }, rank === null ? "" : String(rank)), " ",
      h("span", { class: "sr" }, rank === null ? "" : rank + ". "), dip.named(site.name)), h("p", { class: "rate" }, rate),
    dip.moment.kind === "plan" ? null : h("p", { class: "moment-note" }, dip.momentWords() + " " + dip.fill(words.belowIsPlan, { clock: data.plan.clock }))];
  }
  function parts(i, live) {
    const site = data.sites[i], care = site.care.map(([, number]) => number);
    const holds = text(site.holds), note = text(data.plan.goNoGo);
    const region = (label, inside) => h("div", { class: "wide", tabindex: 0, role: "region", "aria-label": label }, inside);
    const rows = (site.score ? site.score[1] : []).map(([name, points, weight, why]) =>
      h("tr", {}, h("th", { scope: "row" }, text(name)), h("td", {}, points), h("td", {}, weight), h("td", { class: "text" }, text(why))));
    return {
      where: [h("p", { class: "where" }, text(site.where)), site.refused.length ? [h("h3", {}, words.refusedBecause), list(site.refused)] : null],
      numbers: h("dl", { class: "numbers" }, site.numbers.map(([name, value]) => h("div", {}, h("dt", {}, text(name)), h("dd", {}, value)))),
      rose: [h("h3", {}, words.approachDeparture), dip.rose(i, live), h("p", {}, text(site.open), site.sectors === null ? null : " " + text(site.sectors))],
      courses: [table(site.courses), site.gates ? folded(words.gates, table(site.gates)) : null],
      legs: site.legs.map((packed, k) => [dip.profile(i, k, live), h("p", { class: "reading" }, text(packed.reading)), packed.care.length ? list(packed.care) : null]),
      ways: site.legs.map((packed) => waypoints(packed)),
      ferries: site.ferries.map((number, k) => (number === null ? null : waypoints(data.ferries[number], k ? words.toBaseText : words.fromBaseText))),
      load: [dip.cycleBar(site), dip.loadStair(site)],
      curve: dip.curves(site),
      heat: site.goNoGo ? [h("h3", {}, words.goNoGo), h("p", { class: "quiet" }, holds ? holds + ". " + note : note), table(site.goNoGo)] : null,
      cycles: [site.loads ? folded(text(site.loads[0]), table(site.loads[1])) : null, hoursOf(i)],
      lines: site.lines ? [h("h3", {}, words.linesCompared), table(site.lines)] : null,
      score: rows.length ? [h("h3", {}, dip.fill(words.score, { points: site.score[0] })), region(words.scoreTable, h("table", { class: "plain" }, h("tbody", {}, rows)))] : null,
      care: care.length ? [h("h3", {}, words.cautions), list(care)] : null,
    };
  }
  function body(i) {
    const of = parts(i, true);
    return [of.where, of.numbers, of.rose, h("p", { class: "quiet" }, words.roseReading), of.courses, of.legs.map((leg, k) => [leg, of.ways[k]]),
      of.legs.length ? h("p", { class: "quiet" }, words.profileReading) : null, of.ferries, of.load, of.curve, of.heat, of.cycles, of.lines, of.score, of.care];
  }
  /* on paper a site has a page with what is flown by, and one with its tables */
  function sheet(i) {
    const of = parts(i, false), name = () => [head(i), h("p", { class: "quiet" }, dip.momentWords())];
    return [h("section", { class: "paper-card" }, name(), big(i), of.where, of.numbers, of.rose, of.courses, of.legs, of.load, of.care),
      h("section", { class: "paper-card more" }, name(), of.heat, of.curve, of.ways, of.ferries, of.cycles, of.lines, of.score)];
  }
  const card = document.getElementById("card");
  const start = document.getElementById("card-head"), rest = document.getElementById("card-body");
  function drawHead() {
    if (dip.chosen === null) return;
    start.replaceChildren(...[head(dip.chosen), big(dip.chosen)].flat(2).filter(Boolean));
  }
  function draw() {
    if (dip.chosen === null) return;
    drawHead();
    rest.replaceChildren(...body(dip.chosen).flat(Infinity).filter(Boolean));
    card.scrollTop = 0;
    const add = document.getElementById("compare-add");
    if (add) add.setAttribute("aria-pressed", String(dip.compared.includes(dip.chosen)));
  }
  dip.copy = function (words_, told) {
    const say = (done) => { told.textContent = done ? words.copied : words.copyFailed; };
    const byHand = () => {
      const area = h("textarea", { readonly: true, class: "sr" });
      area.value = words_;
      document.body.append(area);
      area.select();
      let done = false;
      try { done = document.execCommand("copy"); } catch { done = false; }
      area.remove();
      say(done);
    };
    if (navigator.clipboard && window.isSecureContext) navigator.clipboard.writeText(words_).then(() => say(true), byHand);
    else byHand();
  };
  dip.form = "ddm";
  const redraw = dip.lazy("site", draw);
  dip.on("choose", redraw);
  dip.on("moment", drawHead);
  dip.on("form", drawHead);
  Object.assign(dip, { table, paperCard: sheet, drawCard: draw });
})(window.dip);
