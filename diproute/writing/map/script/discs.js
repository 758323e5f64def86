"use strict";
/* The discs of the dip sites: rank or hollow, thinned across waters, and the words that take their room. */
(function (dip) {
  const map = dip.map, sites = dip.data.sites;
  const markers = sites.map((site, i) => {
    const made = dip.mark(site.at, "site", "", null, { size: [28, 28], keyboard: true, riseOnHover: true });
    made.bindTooltip(() => dip.named(made.words), { offset: [10, 0] });
    made.on("click", () => dip.choose(i, { card: true }));
    made.on("add", () => listen(made, i));
    return made.addTo(dip.groups.sites);
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

  /* what a disc says now, by the moment that is shown; only what has changed is written */
  const worn = sites.map(() => "");
  function dress(i) {
    const e = markers[i].getElement();
    if (!e) return;
    const now = dip.answer(i), site = sites[i], rank = dip.ranks[i];
    markers[i].words = rank === null
      ? dip.fill(dip.words.discShut, { name: site.name, why: now.short || dip.words.unknown })
      : dip.fill(dip.words.discOpen, { rank: rank, name: site.name, rate: dip.show(now.rate, "volume") });
    e.setAttribute("aria-label", markers[i].words);
    const look = rank === null ? "–" + now.short : String(rank);
    if (worn[i] === look && e.firstElementChild.firstElementChild) return;
    worn[i] = look;
    const disc = dip.h("span", { class: rank === null ? "disc hollow" : "disc" }, rank === null ? null : look);
    e.firstElementChild.replaceChildren(disc, ...(rank === null && now.short ? [dip.h("span", { class: "why" }, now.short)] : []));
    e.classList.toggle("refused", rank === null);
    e.classList.toggle("chosen", dip.chosen === i);
    markers[i].setZIndexOffset(rank === null ? 5000 : 1000000 - 3000 * rank);
  }
  function renew() {
    sites.forEach((_, i) => dress(i));
    settle();
  }
  /* suitable and unsuitable ones are shown or not, as the legend says */
  const shown = { sites: true, refused: true };
  dip.showDiscs = (kind, wanted) => { shown[kind] = wanted; settle(); };

  /* of one water's discs that would overlap the best is shown, and the chosen one; of words, what fits */
  function settleNow() {
    const kept = [];
    const byRank = sites.map((_, i) => i).sort((a, b) => (dip.ranks[a] ?? 1e6 + a) - (dip.ranks[b] ?? 1e6 + b));
    const taken = [];
    const whys = [];
    byRank.forEach((i) => {
      const e = markers[i].getElement();
      if (!e) return;
      const site = sites[i], at = map.latLngToContainerPoint(site.at);
      const hidden = !shown[dip.ranks[i] === null ? "refused" : "sites"] || (dip.passes && !dip.passes(i) && i !== dip.chosen);
      const over = hidden ? null : kept.find((k) => k.water === site.waterId && k.at.distanceTo(at) < 30);
      e.classList.toggle("behind", hidden || (Boolean(over) && i !== dip.chosen));
      e.removeAttribute("data-more");
      if (hidden) return;
      if (over && i !== dip.chosen) { over.e.dataset.more = Number(over.e.dataset.more || 0) + 1; return; }
      if (!over) kept.push({ water: site.waterId, at: at, e: e });
      taken.push({ left: at.x - 14, right: at.x + 14, top: at.y - 14, bottom: at.y + 14 });
      if (worn[i].length > 1 && worn[i][0] === "–") whys.push([worn[i].length - 1, at]);
    });
    dip.data.map.obstacles.forEach(([at]) => {
      if (!map.hasLayer(dip.groups.obstacles)) return;
      const p = map.latLngToContainerPoint(dip.shape("mark", at));
      taken.push({ left: p.x - 6, right: p.x + 6, top: p.y - 14, bottom: p.y + 2 });
    });
    dip.data.map.places.forEach(([, lat, lon, name]) => {
      const p = map.latLngToContainerPoint([lat, lon]);
      taken.push({ left: p.x - 12, right: p.x + 18 + 8 * dip.text(name).length, top: p.y - 12, bottom: p.y + 12 });
    });
    const blocked = dip.chosen === null ? null : dip.data.map.blocked[dip.chosen];
    if (blocked) {
      const p = map.latLngToContainerPoint(blocked.at), half = 4 * dip.words.inTheWay.length;
      taken.push({ left: p.x - half, right: p.x + half, top: p.y, bottom: p.y + 20 });
    }
    kept.filter((k) => k.e.dataset.more).forEach((k) => taken.push({ left: k.at.x - 32, right: k.at.x - 9, top: k.at.y - 24, bottom: k.at.y - 6 }));
    whys.forEach(([letters, at]) => taken.push({ left: at.x + 14, right: at.x + 18 + 7 * letters, top: at.y - 8, bottom: at.y + 8 }));
    dip.drawWords(taken);
  }
  const settle = dip.soon(settleNow);
  map.on("zoomend viewreset moveend resize", settle);
  dip.on("moment", renew);
  dip.on("light", settle);
  dip.on("filter", settle);
  dip.on("choose", () => {
    dip.all(".mark.site.chosen", map.getContainer()).forEach((e) => e.classList.remove("chosen"));
    const e = markers[dip.chosen].getElement();
    if (e) e.classList.add("chosen");
    settle();
  });
  Object.assign(dip, { markers, renewDiscs: renew, settle, settleNow });
})(window.dip);
