"use strict";
/* The light of the screen, the wind on the map, and paper: the map at a round scale, then a page a chosen site. */
(function (dip) {
  const { map, h, s, words, all, one } = dip;
  const root = document.documentElement, sun = document.getElementById("sun");
  function sunlight(on) {
    dip.sunlit = on;
    root.classList.toggle("sun", on);
    sun.setAttribute("aria-pressed", String(on));
    map.invalidateSize({ animate: false });
    dip.tell("light");
    dip.drawFrame();
  }
  sun.addEventListener("click", () => sunlight(!dip.sunlit));
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => dip.tell("light"));

  const windBox = document.getElementById("wind");
  function wind() {
    const [from, speed, gust] = dip.momentWind(), parts = dip.barbs(from, speed, 4);
    const still = parts === null ? words.windUnknown : parts.length ? null : words.calm;
    windBox.replaceChildren(still ? h("p", {}, still) : s("svg", { viewBox: "-48 -48 96 96", width: 58, height: 58, "aria-hidden": "true" }, s("circle", { r: 4, fill: "none", stroke: "var(--ink)", "stroke-width": 1.4 }), parts));
    if (!still) windBox.append(h("p", {}, words.windShort + " " + dip.course(from) + " " + words.trueWord), h("p", {}, dip.show(speed, "wind")));
    if (dip.isKnown(gust)) windBox.append(h("p", {}, words.gusts + " " + dip.show(gust, "wind")));
  }
  dip.on("moment", wind);
  wind();

  /* paper */
  const PIXEL_M = 0.0254 / 96, paper = document.getElementById("paper"), scaled = document.getElementById("scale-said");
  const ROUND = [5000, 10000, 15000, 20000, 25000, 30000, 40000, 50000, 60000, 80000, 100000, 120000, 150000, 200000, 250000, 300000, 400000, 500000, 1000000, 2000000];
  let before = null;
  function scaleAt(lat, zoom) { return (40075016.686 * Math.cos((lat * Math.PI) / 180)) / (256 * 2 ** zoom) / PIXEL_M; }
  function roundScale() {
    const bounds = L.latLngBounds(dip.data.map.view), lat = bounds.getCenter().lat;
    const most = scaleAt(lat, map.getBoundsZoom(bounds, false, L.point(20, 20)));
    const scale = ROUND.find((one_) => one_ >= most) || Math.ceil(most / 1e6) * 1e6;
    map.options.zoomSnap = 0;
    map.setMinZoom(0);
    map.setView(bounds.getCenter(), Math.log2(scaleAt(lat, 0) / scale), { animate: false });
    scaled.textContent = dip.fill(words.scale, { scale: dip.grouped(String(scale)) });
  }
  function sheets() {
    const chosen = dip.compared.length ? dip.compared : dip.chosen === null ? [] : [dip.chosen];
    paper.replaceChildren(...chosen.flatMap(dip.paperCard));
  }
  function onPaper(on) {
    if (on && !before) {
      before = { centre: map.getCenter(), zoom: map.getZoom(), snap: map.options.zoomSnap };
      root.classList.add("paper");
      dip.lookAll();
      sheets();
      all("details").forEach((e) => { e.dataset.open = e.open ? "1" : ""; e.open = true; });
      map.invalidateSize({ animate: false });
      roundScale();
      now();
    } else if (!on && before) {
      root.classList.remove("paper");
      all("details").forEach((e) => { e.open = Boolean(e.dataset.open); });
      paper.replaceChildren();
      map.options.zoomSnap = before.snap;
      map.invalidateSize({ animate: false });
      dip.leash();
      map.setView(before.centre, before.zoom, { animate: false });
      before = null;
      now();
    }
  }
  /* paper waits for no next picture: everything is drawn at once */
  function now() {
    dip.tell("light");
    dip.drawFrame();
    dip.settleNow();
    dip.canvas._redrawBounds = null;
    dip.canvas._redraw();
  }
  window.matchMedia("print").addEventListener("change", (e) => onPaper(e.matches));
  window.addEventListener("beforeprint", () => onPaper(true));
  window.addEventListener("afterprint", () => onPaper(false));
  one("#print").addEventListener("click", () => window.print());
  Object.assign(dip, { sunlight, onPaper });
})(window.dip);
