"use strict";
/* What is shown: the plan's own time, an hour of the day, or another weather of the grid; each ranks the sites anew. */
(function (dip) {
  const { data, tenths, text } = dip;
  const { hours, whatIf, sites } = data;
  const moment = { kind: "plan", hour: null, node: null };

  /* a site's cells of the grid, taken apart when first asked for */
  const opened = {};
  function cells(i) {
    if (!opened[i]) {
      const raw = dip.bytes(whatIf.sites[i]);
      const count = whatIf.winds * whatIf.heat.length;
      const rate = new Int16Array(raw.buffer.slice(0, 2 * count));
      const column = (k) => raw.subarray(2 * count + k * count, 2 * count + (k + 1) * count);
      opened[i] = { rate: rate, fill: column(0), line: column(1), in: column(2), out: column(3) };
    }
    return opened[i];
  }
  const planned = (i) => {
    const site = sites[i];
    return { rate: tenths(site.rate), fill: site.fill, fuel: tenths(site.fuel), margin: tenths(site.margin), line: tenths(site.line),
      dense: dip.hundredths(site.dense), in: text(site.in), out: text(site.out), works: site.rank !== null, short: text(site.short),
      why: site.refused.map(text).join("; "), care: [] };
  };
  const shut = (i, short, why, dense) => ({ rate: null, fill: null, fuel: null, margin: null, line: null, dense: isFinite(dense) ? dense : null,
    in: "", out: "", works: false, short: short, why: why, care: [] });
  function keepsRefusal(i) {
    const site = sites[i];
    if (site.rank === null) return shut(i, text(site.short), site.refused.map(text).join("; "), NaN);
    return shut(i, dip.words.notWorked, dip.words.notWorked, NaN);
  }
  function inHour(i, h) {
    const row = hours.sites[i];
    if (!row) return hours.dark[h] ? shut(i, dip.words.dark, dip.words.dark, NaN) : keepsRefusal(i);
    const dense = dip.hundredths(row.dense[h]);
    if (row.rate[h] === null) return shut(i, hours.dark[h] ? dip.words.dark : text(row.short[h]), text(row.why[h]), dense);
    return { rate: tenths(row.rate[h]), fill: row.fill[h], fuel: tenths(row.fuel[h]), margin: tenths(row.margin[h]), line: tenths(row.line[h]),
      dense: dense, in: text(row.in[h]), out: text(row.out[h]), works: true, short: "", why: "", care: row.care[h].map(text) };
  }
  function inWeather(i, node, heat) {
    if (node === null) return shut(i, dip.words.notWorked, dip.words.notWorked, NaN);
    if (!whatIf.sites[i]) return keepsRefusal(i);
    const of = cells(i), at = heat * whatIf.winds + node;
    const rate = of.rate[at];
    if (rate < 0) {
      const [short, why] = whatIf.why[-1 - rate] || [null, null];
      return shut(i, text(short) || dip.words.unknown, text(why) || dip.words.unknown, NaN);
    }
    const entry = (table, k) => (k === 255 ? null : table[k]);
    return { rate: rate * whatIf.step, fill: entry(whatIf.fill, of.fill[at]), fuel: null, margin: null, line: tenths(entry(whatIf.line, of.line[at])),
      dense: null, in: text(entry(whatIf.course, of.in[at])), out: text(entry(whatIf.course, of.out[at])), works: true, short: "", why: "", care: [] };
  }
  function answerIn(i, what) {
    if (what.kind === "hour") return inHour(i, what.hour);
    if (what.kind === "weather") return inWeather(i, what.node, what.heat);
    return planned(i);
  }
  function work() {
    dip.answers = sites.map((_, i) => answerIn(i, moment));
    if (moment.kind === "plan") { dip.ranks = sites.map((site) => site.rank); return; }
    dip.ranks = sites.map(() => null);
    dip.answers.map((one, i) => [one, i]).filter(([one]) => one.works)
      .sort(([a, i], [b, j]) => b.rate - a.rate || i - j).forEach(([, i], rank) => { dip.ranks[i] = rank + 1; });
  }
  function set(what) {
    Object.keys(moment).forEach((key) => delete moment[key]);
    Object.assign(moment, what);
    work();
    dip.tell("moment", moment);
  }
  /* the moment in words, and its wind */
  function said() {
    if (moment.kind === "hour") return dip.fill(dip.words.inHour, { clock: hours.clock[moment.hour], weather: text(hours.weather[moment.hour]) });
    if (moment.kind === "weather") return dip.fill(dip.words.inWeather, { wind: dip.windWords(), heat: text(whatIf.heat[moment.heat]) });
    return dip.fill(dip.words.inPlan, { clock: data.plan.clock, heat: dip.show(data.plan.heat, "temperature"), wind: text(data.plan.windWords) });
  }
  function wind() {
    if (moment.kind === "hour") { const [from, speed, gust] = hours.wind[moment.hour]; return [tenths(from), speed, gust]; }
    if (moment.kind === "weather") return moment.speed < 0 ? [null, 0, null] : [whatIf.fromDeg[moment.from], whatIf.speedMs[moment.speed], null];
    return data.plan.wind;
  }
  work();
  Object.assign(dip, { moment, setMoment: set, answer: (i) => dip.answers[i], momentWords: said, momentWind: wind });
})(window.dip);
