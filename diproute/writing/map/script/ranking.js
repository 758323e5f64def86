"use strict";
/* The ranking: a plain table of the moment that is shown; search, filter, sort; and the list of what is unsuitable. */
(function (dip) {
  const { data, h, words, text, one, all } = dip;
  const table = document.getElementById("ranking"), body = one("tbody", table);
  const refused = document.getElementById("refused-list"), none = document.getElementById("none");
  const counted = document.getElementById("counted");
  dip.compared = [];
  const strays = data.sites.flatMap((site) => (site.range ? site.range.slice(0, 2) : [])).concat(data.sites.map((site) => (site.rank === null ? null : site.rate))).filter((v) => v !== null);
  const scale = strays.length ? [Math.min(...strays), Math.max(...strays)] : [0, 0];

  const rows = [], cells = [];
  function row(i) {
    if (rows[i]) return rows[i];
    const site = data.sites[i], cell = (key, inside) => h("td", { class: key }, inside || "");
    const pick = h("input", { type: "checkbox", "aria-label": dip.fill(words.compareWith, { name: site.name }), change: () => dip.compare(i, { open: true }) });
    pick.checked = dip.compared.includes(i);
    rows[i] = h("tr", { "data-site": site.id, class: i === dip.chosen ? "chosen" : null }, cell("rank", h("span", { class: "disc" })), h("th", { scope: "row", class: "site" }, h("button", { type: "button" }, dip.named(site.name))),
      cell("rate"), cell("fill"), cell("line"), cell("cycle"), cell("far"),
      cell("dense"), cell("care", String(site.care.length)), h("td", { class: "pick" }, h("label", { class: "box" }, pick)));
    rows[i].addEventListener("click", (e) => { if (!e.target.closest(".pick")) dip.choose(i, { show: true, card: true }); });
    cells[i] = Object.fromEntries(["rank", "rate", "fill", "line", "cycle", "far", "dense"].map((key) => [key, one("td." + key, rows[i])]));
    return rows[i];
  }

  function value(i, key) {
    const site = data.sites[i], now = dip.answer(i);
    return { rank: dip.ranks[i], site: site.name, rate: now.rate, fill: now.fill, line: now.line, cycle: isPlan() ? site.cycle : null, far: isPlan() ? site.far : null, dense: now.dense, care: site.care.length }[key];
  }
  let order = { key: "rank", down: false };
  function sorted(numbers) {
    return numbers.sort((a, b) => {
      const x = value(a, order.key), y = value(b, order.key);
      if (!dip.isKnown(x) || !dip.isKnown(y)) return (dip.isKnown(y) ? 1 : 0) - (dip.isKnown(x) ? 1 : 0) || a - b;
      const sign = typeof x === "string" ? x.localeCompare(y, "en", { numeric: true }) : x - y;
      return (order.down ? -sign : sign) || a - b;
    });
  }
  const isPlan = () => dip.moment.kind === "plan";
  function write(i) {
    row(i);
    const of = cells[i], now = dip.answer(i), site = data.sites[i], rank = dip.ranks[i];
    const cell = (key) => of[key];
    cell("rank").firstChild.textContent = rank === null ? "" : rank;
    cell("rate").textContent = dip.show(now.rate, "volume", true);
    if (isPlan() && site.range && scale[0] < scale[1])
      cell("rate").append(dip.whisker(site.range[0], site.rate, site.range[1], scale, dip.fill(words.range, { range: text(site.range[2]) })));
    cell("fill").textContent = dip.share(now.fill);
    cell("line").textContent = dip.show(now.line, "line", true);
    /* the plan holds a cycle and a leg of its own time alone */
    cell("cycle").textContent = !isPlan() ? "–" : site.cycle === null ? words.unknown : dip.clock(site.cycle / 10);
    cell("far").textContent = isPlan() ? dip.show(dip.tenths(site.far), "distance", true) : "–";
    cell("dense").textContent = dip.show(now.dense ?? (isPlan() ? null : NaN), "height", true);
  }
  function list() {
    const there = sorted(data.sites.map((_, i) => i).filter((i) => dip.ranks[i] !== null && passes(i)));
    const gone = data.sites.map((_, i) => i).filter((i) => dip.ranks[i] === null && passes(i));
    const banded = isPlan() && order.key === "rank" && !order.down;
    const ranked = there.map((i, k) => () => {
      write(i);
      rows[i].classList.toggle("band", banded && k > 0 && data.sites[i].band !== data.sites[there[k - 1]].band);
      body.append(rows[i]);
    });
    const shut = gone.map((i) => () => refused.append(item(i)));
    body.replaceChildren();
    refused.replaceChildren();
    inTurn([...ranked, ...shut]);
    table.hidden = !there.length;
    none.hidden = dip.ranks.some((rank) => rank !== null);
    counted.textContent = there.length + gone.length === data.sites.length ? "" : dip.fill(words.counted, { shown: there.length + gone.length, all: data.sites.length });
    document.getElementById("refused").hidden = !gone.length;
  }
  /* the first of a long list at once, the rest behind the picture; a newer list stops an older one */
  const AT_ONCE = 40;
  const later = window.requestIdleCallback ? (job) => window.requestIdleCallback(job, { timeout: 200 }) : setTimeout;
  let turn = 0;
  function inTurn(jobs) {
    const mine = ++turn;
    jobs.slice(0, AT_ONCE).forEach((job) => job());
    const rest = (from) => later(() => {
      if (mine !== turn) return;
      jobs.slice(from, from + 2 * AT_ONCE).forEach((job) => job());
      if (from + 2 * AT_ONCE < jobs.length) rest(from + 2 * AT_ONCE);
    });
    if (jobs.length > AT_ONCE) rest(AT_ONCE);
  }
  function item(i) {
    const spans = ((data.hours && data.hours.spans[i]) || []).map(text);
    const why = isPlan() ? data.sites[i].refused.map(text) : [dip.answer(i).why || words.unknown];
    return h("li", { "data-site": data.sites[i].id, class: i === dip.chosen ? "chosen" : null },
      h("button", { type: "button", click: () => dip.choose(i, { show: true, card: true }) }, h("span", { class: "disc hollow", "aria-hidden": "true" }), " ", dip.named(data.sites[i].name)),
      h("ul", { class: "because" }, why.map((one_) => h("li", {}, one_)), dip.moment.kind === "hour" && spans.length ? h("li", {}, spans.join("; ")) : null));
  }
  function renew() {
    document.getElementById("said").textContent = dip.momentWords();
    list();
  }
  all("thead th[data-key]", table).forEach((head) => one("button", head).addEventListener("click", () => {
    const same = order.key === head.dataset.key;
    order = { key: head.dataset.key, down: same ? !order.down : head.dataset.key === "rate" };
    all("thead th", table).forEach((e) => e.removeAttribute("aria-sort"));
    head.setAttribute("aria-sort", order.down ? "descending" : "ascending");
    list();
  }));

  /* search and filter */
  const asked = { find: document.getElementById("find"), line: document.getElementById("filter-line"), fresh: document.getElementById("filter-fresh"),
    depth: document.getElementById("filter-depth"), care: document.getElementById("filter-care") };
  data.plan.lines.forEach(([tenths, name]) => asked.line.append(h("option", { value: tenths }, dip.fill(words.lineAtMost, { line: text(name) }))));
  const kinds = [...new Set(data.sites.flatMap((site) => site.care.map(([kind]) => kind)))].sort((a, b) => text(a).localeCompare(text(b), "en"));
  kinds.forEach((kind) => asked.care.append(h("option", { value: kind }, text(kind))));
  const plainly = (word) => word.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  function passes(i) {
    const site = data.sites[i], line = asked.line.value, find = plainly(asked.find.value.trim());
    if (find && !plainly(site.name + " " + site.water).includes(find)) return false;
    if (line !== "" && !(site.line !== null && site.line <= Number(line))) return false;
    if (asked.fresh.checked && site.salt) return false;
    if (asked.depth.checked && site.depth === null) return false;
    return asked.care.value === "" || !site.care.some(([kind]) => kind === Number(asked.care.value));
  }
  dip.passes = passes;
  Object.values(asked).forEach((input) => input.addEventListener("input", () => { list(); dip.tell("filter"); }));

  dip.on("moment", renew);
  dip.on("choose", (i) => {
    rows.forEach((row, k) => { row.classList.toggle("chosen", k === i); });
    all("li[data-site]", refused).forEach((e) => e.classList.toggle("chosen", e.dataset.site === data.sites[i].id));
  });
  dip.on("compared", () => rows.forEach((row, i) => { one("input", row).checked = dip.compared.includes(i); }));
  Object.assign(dip, { renewRanking: renew });
})(window.dip);
