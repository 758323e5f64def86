"use strict";
/* The parts beside the map: tabs, the sheet of a phone, the list of what is unknown, layer switches. */
(function (dip) {
  const { data, h, one, all, text, words } = dip;
  const side = document.getElementById("side"), tabs = all("[role=tab]"), main = one("main");
  const isOpen = (tab) => tab.getAttribute("aria-selected") === "true";
  function open(name, focus) {
    tabs.forEach((tab) => {
      const here = tab.dataset.part === name;
      tab.setAttribute("aria-selected", String(here));
      tab.tabIndex = here ? 0 : -1;
      document.getElementById(tab.getAttribute("aria-controls")).classList.toggle("open", here);
      if (here && focus) tab.focus();
    });
    side.dataset.part = name;
    dip.look(name);
    dip.look("site"); // on a wide screen the card stands beside every part
  }
  tabs.forEach((tab, k) => {
    tab.addEventListener("click", () => { open(tab.dataset.part); raise(); });
    tab.addEventListener("keydown", (e) => {
      const seen = tabs.filter((t) => t.offsetParent !== null), at = seen.indexOf(tab);
      const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: seen.length - 1 }[e.key];
      if (to === undefined) return;
      e.preventDefault();
      open(seen[(to + seen.length) % seen.length].dataset.part, true);
    });
  });
  dip.on("open", (what) => {
    open(what === "compare" ? "compare" : "site");
    raise();
    if (what === "focus") { const head = one("#card-head h2"); if (head) head.focus(); }
  });
  all("[data-goto]").forEach((e) => e.addEventListener("click", () => open(e.dataset.goto, true)));

  /* on a phone the side is a sheet from below, at three heights */
  const HEIGHTS = ["low", "half", "full"];
  const handle = document.getElementById("handle");
  const height = () => HEIGHTS.indexOf(main.dataset.sheet);
  function stand(k) {
    main.dataset.sheet = HEIGHTS[Math.max(0, Math.min(2, k))];
    handle.setAttribute("aria-valuenow", height());
    handle.setAttribute("aria-valuetext", words.sheet[height()]);
  }
  function raise() { if (height() === 0) stand(1); }
  handle.addEventListener("keydown", (e) => {
    const step = { ArrowUp: 1, ArrowDown: -1, ArrowRight: 1, ArrowLeft: -1 }[e.key];
    if (step) { e.preventDefault(); stand(height() + step); }
  });
  let grip = null;
  handle.addEventListener("pointerdown", (e) => { grip = { y: e.clientY, from: height(), moved: false }; handle.setPointerCapture(e.pointerId); });
  handle.addEventListener("pointermove", (e) => {
    if (!grip) return;
    const off = grip.y - e.clientY;
    if (Math.abs(off) > 8) grip.moved = true;
    stand(grip.from + Math.round(off / (window.innerHeight * 0.36)) + (Math.abs(off) > 40 && Math.abs(off) < window.innerHeight * 0.18 ? Math.sign(off) : 0));
  });
  handle.addEventListener("pointerup", () => { if (grip && !grip.moved) stand((height() + 1) % 3); grip = null; });
  handle.addEventListener("pointercancel", () => { grip = null; });
  stand(0);

  /* what is not known: each with its place */
  const list = document.getElementById("unknown-list");
  dip.lazy("unknown", () => list.replaceChildren(...data.unknown.map(([of, what, at, site]) => {
    const inside = [h("b", {}, dip.named(text(of))), ": ", h("span", { class: "unknown" }, text(what))];
    if (!at) return h("li", {}, inside);
    const go = () => {
      if (site !== null) { dip.choose(site, { show: true }); return; }
      dip.map.setView(at, Math.max(dip.map.getZoom(), 13), { animate: false });
      dip.light([dip.dot(at)]);
    };
    return h("li", {}, h("button", { type: "button", title: words.goThere, click: go }, inside));
  })));
  if (!data.unknown.length) dip.lazy("unknown", () => list.replaceChildren(h("li", {}, words.allKnown)));

  /* layer switches; the legs of the other sites are off until asked for */
  all("input[data-layer]").forEach((input) => {
    const group = dip.groups[input.dataset.layer];
    const set = () => {
      if (input.dataset.layer in { sites: 1, refused: 1 }) { dip.showDiscs(input.dataset.layer, input.checked); return; }
      if (input.dataset.layer === "others") dip.showOthers(input.checked);
      if (input.checked) group.addTo(dip.map); else group.remove();
      dip.settle();
    };
    input.addEventListener("change", set);
  });
  Object.assign(dip, { openPart: open, standSheet: stand, isOpenPart: (name) => tabs.some((tab) => tab.dataset.part === name && isOpen(tab)) });
})(window.dip);
