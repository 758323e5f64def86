"use strict";
/* The discs of the dip sites: rank or hollow, thinned across waters, and the words that take their room. */
(function (dip) {
  const map = dip.map, sites = dip.data.sites;
  const markers = sites.map((site, i) => {
    const made = dip.mark(site.at, "site", "", null, { size: [28, 28], keyboard: true, riseOnHover: true });
    made.bindTooltip(() => dip.named(made.words), { offset: [10, 0] });
    made.on("click", () => dip.choose(i, { card: true }));
    made.on("add", () => { listen(made, i); dress(i); });
    return made;
  });
  function listen(made, i) {
    const e = made.getElement();
    e.setAttribute("role", "button");
    e.dataset.site = sites[i].id;
    e.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      dip.choose(i, { card: true, focus: true });
    });
  }

  /* what a disc says now, by the moment that is shown */
  function dress(i) {
    const e = markers[i].getElement();
    if (!e) return;
    const now = dip.answer(i), site = sites[i];
    const rank = dip.ranks[i];
    const inner = rank === null
      ? [dip.h("span", { class: "disc hollow" }), now.short ? dip.h("span", { class: "why" }, now.short) : null]
      : [dip.h("span", { class: "disc" }, String(rank))];
    e.firstElementChild.replaceChildren(...inner.filter(Boolean));
    e.classList.toggle("refused", rank === null);
    e.classList.toggle("chosen", dip.chosen === i);
    markers[i].words = rank === null
      ? dip.fill(dip.words.discShut, { name: site.name, why: now.short || dip.words.unknown })
      : dip.fill(dip.words.discOpen, { rank: rank, name: site.name, rate: dip.show(now.rate, "volume") });
    e.setAttribute("aria-label", markers[i].words);
    markers[i].setZIndexOffset(rank === null ? 5000 : 1000000 - 3000 * rank);
  }
  function place(i) {
    const into = dip.ranks[i] === null ? dip.groups.refused : dip.groups.sites;
    const from = dip.ranks[i] === null ? dip.groups.sites : dip.groups.refused;
    from.removeLayer(markers[i]);
    if (!into.hasLayer(markers[i])) into.addLayer(markers[i]);
  }
  function renew() {
    sites.forEach((_, i) => { place(i); dress(i); });
    settle();
  }

  /* of one water's discs that would overlap the best is shown, and the chosen one; of words, what fits */
  function settle() {
    const kept = [];
    const byRank = sites.map((_, i) => i).sort((a, b) => (dip.ranks[a] ?? 1e6 + a) - (dip.ranks[b] ?? 1e6 + b));
    const taken = [];
    const whys = [];
    byRank.forEach((i) => {
      const e = markers[i].getElement();
      if (!e) return;
      const site = sites[i], at = map.latLngToContainerPoint(site.at);
      const hidden = dip.passes && !dip.passes(i) && i !== dip.chosen;
      const over = hidden ? null : kept.find((k) => k.water === site.waterId && k.at.distanceTo(at) < 30);
      e.classList.toggle("behind", hidden || (Boolean(over) && i !== dip.chosen));
      e.removeAttribute("data-more");
      if (hidden) return;
      if (over && i !== dip.chosen) { over.e.dataset.more = Number(over.e.dataset.more || 0) + 1; return; }
      if (!over) kept.push({ water: site.waterId, at: at, e: e });
      taken.push({ left: at.x - 14, right: at.x + 14, top: at.y - 14, bottom: at.y + 14 });
      const why = dip.one(".why", e);
      if (why) whys.push([why, at]);
    });
    dip.data.map.obstacles.forEach(([at]) => {
      if (!map.hasLayer(dip.groups.obstacles)) return;
      const p = map.latLngToContainerPoint(dip.shape("mark", at));
      taken.push({ left: p.x - 6, right: p.x + 6, top: p.y - 14, bottom: p.y + 2 });
    });
    const frame = map.getContainer().getBoundingClientRect();
    dip.all(".place-name, .blocked-word > div", map.getContainer()).forEach((e) => {
      const r = e.getBoundingClientRect();
      if (r.width) taken.push({ left: r.left - frame.left, right: r.right - frame.left, top: r.top - frame.top, bottom: r.bottom - frame.top });
    });
    whys.forEach(([why, at]) => {
      const box = { left: at.x + 14, right: at.x + 18 + 6.6 * why.textContent.length, top: at.y - 8, bottom: at.y + 8 };
      taken.push(box);
    });
    dip.drawWords(taken);
  }
  map.on("zoomend viewreset moveend resize", settle);
  dip.on("moment", renew);
  dip.on("light", settle);
  dip.on("filter", settle);
  dip.on("choose", () => {
    markers.forEach((m, i) => { const e = m.getElement(); if (e) e.classList.toggle("chosen", i === dip.chosen); });
    settle();
  });
  Object.assign(dip, { markers, renewDiscs: renew, settle });
})(window.dip);
