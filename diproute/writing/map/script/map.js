"use strict";
/* The map: ground, waters, wires, obstacles and areas, the frame with its minutes, the scale. */
(function (dip) {
  const map = (dip.map = planMap);
  const scene = dip.data.map;
  const canvas = L.canvas({ padding: 0.25 });
  /* on paper what is cleared prints as white, and hides the ground: there the canvas begins anew instead */
  const clear = canvas._clear;
  canvas._clear = function () {
    if (!document.documentElement.classList.contains("paper")) { clear.call(this); return; }
    this._redrawBounds = null;
    const wide = this._container.width;
    this._container.width = 1;
    this._container.width = wide;
    if (L.Browser.retina) this._ctx.scale(2, 2);
    this._ctx.translate(-this._bounds.min.x, -this._bounds.min.y);
  };
  const panes = ["areas", "blocked", "ferry", "legs", "marks"];
  panes.forEach((name, i) => { map.createPane(name).style.zIndex = 420 + i; });
  const renderers = {};
  const renderer = (pane) => renderers[pane] || (renderers[pane] = L.svg({ pane: pane, padding: 0.3 }));
  const groups = {};
  ["water", "left-out", "search", "graticule", "avoid", "blocked", "ferry", "others", "legs", "wires", "obstacles", "names", "places",
    "sites", "measure"].forEach((name) => { groups[name] = L.layerGroup().addTo(map); });

  const home = () => map.fitBounds(scene.view, { animate: false, paddingTopLeft: [map.getSize().x < 500 ? 8 : 50, 8], paddingBottomRight: [map.getSize().x < 500 ? 30 : 64, 8] });
  function leash() {
    map.setMaxBounds(L.latLngBounds(scene.bounds).pad(0.25));
    map.setMinZoom(0);
    map.setMinZoom(Math.max(0, map.getBoundsZoom(scene.bounds) - 1));
  }
  leash();
  home();

  /* the many stand on one canvas: their paints are read from the page, anew when the light changes */
  const painted = [];
  function brushed(layer, look, group) {
    painted.push([layer, look]);
    layer.setStyle(look());
    layer.addTo(groups[group]);
    return layer;
  }
  const hint = (layer, number) => (number === null ? layer : layer.bindTooltip(() => dip.named(dip.text(number)), { sticky: true }));
  function many(kind, packed, number, look, group) {
    const options = { renderer: canvas, interactive: number !== null, smoothFactor: 0.7, fill: kind === "area" };
    const at = dip.shape(kind, packed);
    const made = kind === "area" ? L.polygon(at, options) : kind === "line" ? L.polyline(at, options) : L.circleMarker(at, options);
    return brushed(hint(made, number), look, group);
  }
  const thick = () => (dip.sunlit ? 3 : 2.2);
  const looks = {
    water: () => ({ color: dip.paint("shore"), weight: 1.4, fillColor: dip.paint("water"), fillOpacity: 1 }),
    "left-out": () => ({ color: dip.paint("shore"), weight: 1.8, dashArray: "5 4", fillColor: dip.paint("page"), fillOpacity: 0.35 }),
    rim: () => ({ color: dip.paint("page"), weight: thick() + 4.4, opacity: 1, lineCap: "butt" }),
    ticks: () => ({ color: dip.paint("closed"), weight: 9, dashArray: "1.8 17", lineCap: "butt" }),
    wire: () => ({ color: dip.paint("closed"), weight: thick() }),
    thing: () => ({ color: dip.paint("closed"), weight: 1.8, fillColor: dip.paint("hazard"), fillOpacity: 0.35 }),
    net: () => ({ color: dip.paint("ink"), weight: 0.6, opacity: 0.3 }),
  };
  scene.layers.water.forEach(([kind, g, t]) => many(kind, g, t, looks.water, "water"));
  scene.layers["left-out"].forEach(([kind, g, t]) => many(kind, g, t, looks["left-out"], "left-out"));
  const [[south, west], [north, east]] = scene.bounds;
  const net = (a, b) => brushed(L.polyline([a, b], { renderer: canvas, interactive: false }), looks.net, "graticule");
  scene.graticule.lat.forEach((g) => net([g.v, west], [g.v, east]));
  scene.graticule.lon.forEach((g) => net([south, g.v], [north, g.v]));
  [["rim", null], ["ticks", null], ["wire", true]].forEach(([look, words]) =>
    scene.layers.wires.forEach(([kind, g, t]) => many(kind, g, words && t, looks[look], "wires")));
  scene.layers.things.forEach(([kind, g, t]) => many(kind, g, t, looks.thing, "obstacles"));

  /* the sign of an obstacle on the canvas: two legs and a dot, a rim of the page's colour round them */
  const Sign = L.CircleMarker.extend({
    _updatePath: function () {
      const c = this._renderer._ctx;
      if (!this._renderer._drawing || this._empty()) return;
      const p = this._point, high = this.options.tall ? 22 : 15;
      const legs = () => { c.beginPath(); c.moveTo(p.x - 6, p.y); c.lineTo(p.x, p.y - high); c.lineTo(p.x + 6, p.y); };
      c.lineJoin = "miter"; c.lineCap = "butt"; c.setLineDash([]); c.globalAlpha = 1;
      legs(); c.lineWidth = this.options.weight + 4; c.strokeStyle = dip.paints.page; c.stroke();
      legs(); c.lineWidth = this.options.weight; c.strokeStyle = dip.paints.hazard; c.stroke();
      c.beginPath(); c.arc(p.x, p.y, 2, 0, 2 * Math.PI); c.fillStyle = dip.paints.hazard; c.fill();
    },
  });
  scene.obstacles.forEach(([g, t, tall]) => {
    const made = new Sign(dip.shape("mark", g), { renderer: canvas, radius: 11, tall: Boolean(tall) });
    brushed(hint(made, t), () => ({ weight: dip.sunlit ? 3 : 2.3 }), "obstacles");
  });

  /* areas are few and hatched, so they are SVG */
  function drawn(kind, at, name, pane, tip) {
    const options = { className: name, pane: pane, renderer: renderer(pane), interactive: Boolean(tip), fill: kind === "area",
      color: null, weight: null, fillColor: null, smoothFactor: 0.6 };
    const made = kind === "area" ? L.polygon(at, options) : kind === "line" ? L.polyline(at, options) : L.circleMarker(at, Object.assign(options, { radius: 12, fill: true }));
    return tip ? made.bindTooltip(() => dip.named(tip), { sticky: true }) : made;
  }
  scene.layers.search.forEach(([kind, g, t]) => drawn(kind, dip.shape(kind, g), "search", "areas", dip.text(t)).addTo(groups.search));
  scene.layers.avoid.forEach(([kind, g, t, hard]) =>
    drawn(kind, dip.shape(kind, g), hard ? "avoid hard" : "avoid soft", "areas", dip.text(t)).addTo(groups.avoid));

  /* what stands up as a mark of its own: HTML made from elements, never from text */
  function mark(at, name, inside, tip, options) {
    const icon = L.divIcon({ className: "mark " + name, html: dip.h("div", {}, inside), iconSize: (options || {}).size || [0, 0] });
    const made = L.marker(at, Object.assign({ icon: icon, keyboard: false, alt: "" }, options));
    if (tip) {
      made.bindTooltip(() => dip.named(tip), { offset: [10, 0] });
      made.on("add", () => { const e = made.getElement(); e.setAttribute("role", "img"); e.setAttribute("aria-label", tip); });
    }
    return made;
  }
  const sign = {
    drop: () => dip.s("svg", { viewBox: "-11 -11 22 22", width: 22, height: 22, "aria-hidden": "true" },
      dip.s("path", { d: "M0-9L9 0L0 9L-9 0Z", class: "sign-drop" })),
    base: () => dip.s("svg", { viewBox: "-11 -11 22 22", width: 22, height: 22, "aria-hidden": "true" },
      dip.s("circle", { r: 9, class: "sign-base" }), dip.s("path", { d: "M-3.5-5V5M3.5-5V5M-3.5 0H3.5", class: "sign-line" })),
    crossing: () => dip.s("svg", { viewBox: "-12 -12 24 24", width: 24, height: 24, "aria-hidden": "true" },
      dip.s("circle", { r: 9, class: "sign-halo" }), dip.s("circle", { r: 6.5, class: "sign-ring" }), dip.s("path", { d: "M-9 0H9", class: "sign-hazard" })),
    heading: (deg) => dip.s("svg", { viewBox: "-9 -9 18 18", width: 18, height: 18, "aria-hidden": "true" },
      dip.s("path", { d: "M0-7L5 6L0 3L-5 6Z", class: "sign-arrow", transform: "rotate(" + Math.round(deg) + ")" })),
  };
  const placeName = (name) => dip.h("span", { class: "place-name" }, dip.named(name));
  scene.places.forEach(([kind, lat, lon, name, tip]) =>
    mark([lat, lon], kind, [sign[kind](), placeName(dip.text(name))], dip.text(tip)).addTo(groups.places));

  /* paints that are asked for many times a drawing */
  function repaint() {
    dip.paints = { page: dip.paint("page"), hazard: dip.paint("closed"), ink: dip.paint("ink"), warning: dip.paint("warning"), deep: dip.paint("deep") };
    painted.forEach(([layer, look]) => layer.setStyle(look()));
  }
  repaint();
  dip.on("light", repaint);

  /* the frame: parallels and meridians, named on the margin */
  const frame = document.getElementById("frame");
  function label(name, place, words) {
    const e = dip.h(words ? "span" : "i", { class: name }, words);
    Object.assign(e.style, place);
    frame.append(e);
  }
  function drawFrame() {
    frame.replaceChildren();
    const size = map.getSize(), box = map.getContainer();
    const left = box.offsetLeft + 1, top = box.offsetTop + 1;
    let last = -100;
    scene.graticule.lon.forEach((g) => {
      const x = map.latLngToContainerPoint([map.getCenter().lat, g.v]).x;
      if (x < 34 || x > size.x - 34 || x - last < 84) return;
      last = x;
      ["", " below"].forEach((side) => label("lon" + side, { left: left + x + "px" }, g.t));
      label("v", { left: left + x + "px", top: top - 6 + "px", width: "1px", height: "5px" });
      label("v", { left: left + x + "px", top: top + size.y + "px", width: "1px", height: "5px" });
    });
    last = size.y + 100;
    scene.graticule.lat.forEach((g) => {
      const y = map.latLngToContainerPoint([g.v, map.getCenter().lng]).y;
      if (y < 34 || y > size.y - 34 || last - y < 84) return;
      last = y;
      ["", " right"].forEach((side) => label("lat" + side, { top: top + y + "px" }, g.t));
      label("h", { top: top + y + "px", left: left - 6 + "px", height: "1px", width: "5px" });
      label("h", { top: top + y + "px", left: left + size.x + "px", height: "1px", width: "5px" });
    });
    const drift = L.DomUtil.getPosition(map.getPane("mapPane"));
    if (drift) box.style.backgroundPosition = drift.x + "px " + drift.y + "px";
  }
  map.on("move zoom resize viewreset", dip.soon(drawFrame));

  /* the scale: nautical miles and kilometres */
  const Scale = L.Control.Scale.extend({
    _updateImperial: function (most) {
      const miles = most / 1852;
      if (miles < 1) { L.Control.Scale.prototype._updateImperial.call(this, most); return; }
      const round = this._getRoundNum(miles);
      this._updateScale(this._iScale, round + " NM", round / miles);
    },
  });
  new Scale({ maxWidth: 150, position: "bottomleft" }).addTo(map);
  L.control.zoom({ position: "topleft", zoomInTitle: dip.words.closer, zoomOutTitle: dip.words.wider }).addTo(map);
  function show(at) {
    if (!map.getBounds().pad(-0.1).contains(at)) map.panTo(at, { animate: false });
  }
  Object.assign(dip, { groups, renderer, canvas, many, drawn, mark, sign, placeName, drawFrame, goHome: home, leash, goTo: show, looks, brushed });
})(window.dip);
