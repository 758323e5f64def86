"use strict";
/* Draws what the plan says. Nothing is worked out here but where things stand on the screen. */
(function () {
  const scene = JSON.parse(document.getElementById("scene").textContent);
  const map = planMap;
  const one = (selector, within) => (within || document).querySelector(selector);
  const all = (selector, within) => Array.from((within || document).querySelectorAll(selector));

  /* ---- layers, from the ground up */
  const order = ["water", "left-out", "search", "graticule", "avoid", "blocked", "ferry", "others", "legs", "wires"];
  order.forEach((name, i) => { map.createPane(name).style.zIndex = 410 + i; });
  const groups = {};
  const keys = [...order, "obstacles", "names", "places", "refused", "sites"];
  keys.forEach((name) => { groups[name] = L.layerGroup().addTo(map); });
  const renderers = {};
  const renderer = (pane) => renderers[pane] || (renderers[pane] = L.svg({ pane: pane, padding: 0.4 }));

  function shape(kind, points, name, pane, words) {
    const options = { className: name, pane: pane, renderer: renderer(pane), interactive: Boolean(words), fill: kind === "area",
      stroke: true, color: null, weight: null, fillColor: null, smoothFactor: 0.6 };
    const made = kind === "area" ? L.polygon(points, options) : L.polyline(points, options);
    if (words) made.bindTooltip(text(words), { sticky: true });
    return made;
  }
  function text(words) {
    const span = document.createElement("span");
    span.textContent = words;
    return span;
  }
  function mark(at, name, html, words, extra) {
    const size = name.startsWith("site") ? [28, 28] : [0, 0];
    const icon = L.divIcon({ className: "mark " + name, html: "<div>" + html + "</div>", iconSize: size });
    const made = L.marker(at, Object.assign({ icon: icon, keyboard: false }, extra));
    made.on("add", () => { const e = made.getElement(); if (e) { e.setAttribute("aria-label", words); } });
    if (words) made.bindTooltip(text(words), { offset: [10, 0] });
    return made;
  }
  function word(at, name, words) {
    const icon = L.divIcon({ className: name, html: "", iconSize: [0, 0] });
    const made = L.marker(at, { icon: icon, interactive: false, keyboard: false, zIndexOffset: -1000 });
    made.on("add", () => { const div = document.createElement("div"); div.textContent = words; made.getElement().replaceChildren(div); });
    return made;
  }
  Object.entries(scene.layers).forEach(([name, features]) => features.forEach((f) => {
    if (f.k === "mark") mark(f.at, f.c, f.h, f.t).addTo(groups[name]);
    else if (f.k === "word") word(f.at, f.c, f.t).addTo(groups[name]);
    else {
      const pane = order.includes(name) ? name : "wires";
      if (f.c === "wire") {
        shape("line", f.g, "wire-rim", pane).addTo(groups[name]);
        shape("line", f.g, "wire-ticks", pane).addTo(groups[name]);
      }
      shape(f.k, f.g, f.c, pane, f.t).addTo(groups[name]);
    }
  }));

  /* ---- the frame: parallels and meridians, named on the margin */
  const [[south, west], [north, east]] = planRelief.getBounds ? [
    [planRelief.getBounds().getSouth(), planRelief.getBounds().getWest()],
    [planRelief.getBounds().getNorth(), planRelief.getBounds().getEast()]] : scene.view;
  scene.graticule.lat.forEach((g) => shape("line", [[g.v, west], [g.v, east]], "graticule", "graticule").addTo(groups.graticule));
  scene.graticule.lon.forEach((g) => shape("line", [[south, g.v], [north, g.v]], "graticule", "graticule").addTo(groups.graticule));
  const frame = document.getElementById("frame");
  const sheet = one(".sheet");
  function label(name, style, words) {
    const e = document.createElement(words ? "span" : "i");
    e.className = name;
    Object.assign(e.style, style);
    if (words) e.textContent = words;
    frame.append(e);
  }
  function drawFrame() {
    frame.replaceChildren();
    const size = map.getSize();
    const box = map.getContainer();
    const left = box.offsetLeft + 1, top = box.offsetTop + 1;
    let last = -100;
    scene.graticule.lon.forEach((g) => {
      const x = map.latLngToContainerPoint([map.getCenter().lat, g.v]).x;
      if (x < 34 || x > size.x - 34 || x - last < 76) return;
      last = x;
      ["", " below"].forEach((side) => label("lon" + side, { left: left + x + "px" }, g.t));
      label("v", { left: left + x + "px", top: top - 6 + "px", width: "1px", height: "5px" });
      label("v", { left: left + x + "px", top: top + size.y + "px", width: "1px", height: "5px" });
    });
    last = size.y + 100;
    scene.graticule.lat.forEach((g) => {
      const y = map.latLngToContainerPoint([g.v, map.getCenter().lng]).y;
      if (y < 34 || y > size.y - 34 || last - y < 76) return;
      last = y;
      ["", " right"].forEach((side) => label("lat" + side, { top: top + y + "px" }, g.t));
      label("h", { top: top + y + "px", left: left - 6 + "px", height: "1px", width: "5px" });
      label("h", { top: top + y + "px", left: left + size.x + "px", height: "1px", width: "5px" });
    });
    const drift = L.DomUtil.getPosition(map.getPane("mapPane"));
    box.classList.toggle("far", map.getZoom() < 11.2);
    if (drift) box.style.backgroundPosition = drift.x + "px " + drift.y + "px";
  }
  map.on("move zoom resize viewreset", drawFrame);

  /* ---- the scale: nautical miles and kilometres */
  const Scale = L.Control.Scale.extend({
    _updateImperial: function (most) {
      const miles = most / 1852;
      if (miles < 1) { L.Control.Scale.prototype._updateImperial.call(this, most); return; }
      const round = this._getRoundNum(miles);
      this._updateScale(this._iScale, round + " NM", round / miles);
    },
  });
  new Scale({ maxWidth: 150, position: "bottomleft" }).addTo(map);
  L.control.zoom({ position: "topleft", zoomInTitle: "Closer", zoomOutTitle: "Wider" }).addTo(map);

  /* ---- what is under the pointer */
  const readout = document.getElementById("readout");
  const field = scene.heights;
  const cells = new Int16Array(Uint8Array.from(atob(field.cells), (c) => c.charCodeAt(0)).buffer);
  function ddm(value, letters, width) {
    const thousandths = Math.round(Math.abs(value) * 60000);
    const degrees = String(Math.floor(thousandths / 60000)).padStart(width, "0");
    const minutes = ((thousandths % 60000) / 1000).toFixed(3).padStart(6, "0");
    return letters[value < 0 ? 1 : 0] + " " + degrees + "° " + minutes + "'";
  }
  function highest(at) {
    const p = L.Projection.SphericalMercator.project(at);
    const a = L.Projection.SphericalMercator.project(L.latLng(field.bounds[0]));
    const b = L.Projection.SphericalMercator.project(L.latLng(field.bounds[1]));
    const c = Math.floor(((p.x - a.x) / (b.x - a.x)) * field.cols);
    const r = Math.floor(((b.y - p.y) / (b.y - a.y)) * field.rows);
    const inside = c >= 0 && r >= 0 && c < field.cols && r < field.rows;
    const h = inside ? cells[r * field.cols + c] : -32768;
    return h === -32768 ? "ground not known" : "up to " + h + " " + scene.heightUnit + " " + scene.seaLevel;
  }
  map.on("mousemove click", (e) => {
    readout.textContent = ddm(e.latlng.lat, "NS", 2) + "  " + ddm(e.latlng.wrap().lng, "EW", 3) + "  ·  " + highest(e.latlng);
  });
  map.on("mouseout", () => { readout.textContent = ""; });

  /* ---- sites */
  const markers = {};
  scene.sites.forEach((site) => {
    const group = site.rank === null ? "refused" : "sites";
    const made = mark(site.at, "site" + (site.rank === null ? " refused" : ""), site.h, site.t,
      { keyboard: true, riseOnHover: true, zIndexOffset: site.rank === null ? 5000 : 1000000 - 5000 * site.rank });
    made.bindPopup(() => popup(site.id), { maxWidth: 420, minWidth: Math.min(380, window.innerWidth - 70), maxHeight: Math.max(220, map.getSize().y - 90), autoPanPaddingTopLeft: [16, 34], autoPanPaddingBottomRight: [112, 36] });
    made.on("popupopen", () => select(site.id, { popup: true }));
    made.addTo(groups[group]);
    markers[site.id] = made;
  });
  function popup(id) {
    const content = document.getElementById("popup-" + id).content.cloneNode(true);
    const rose = one(".rose", document.getElementById("detail-" + id));
    if (rose) one(".rose-here", content).append(rose.cloneNode(true));
    return content.firstElementChild;
  }

  let chosen = null;
  let dot = null;
  function drawLegs() {
    groups.blocked.clearLayers(); groups.legs.clearLayers(); groups.others.clearLayers(); groups.ferry.clearLayers();
    Object.entries(scene.legs).forEach(([id, legs]) => legs.forEach((leg) => {
      if (id !== chosen) {
        if (leg.leg === "loaded") shape("line", leg.g, "leg other", "others").addTo(groups.others);
        return;
      }
      const into = leg.leg === "ferry" ? "ferry" : "legs";
      shape("line", leg.g, "leg-rim " + leg.leg, into).addTo(groups[into]);
      shape("line", leg.g, "leg " + leg.leg, into, leg.t).addTo(groups[into]);
      if (leg.leg !== "ferry") leg.heads.forEach((h) => mark(h.at, h.c, h.h, "", { interactive: false }).addTo(groups[into]));
      leg.marks.forEach((w) => mark(w.at, w.c, w.h, w.t).addTo(groups[into]));
    }));
  }
  function drawBlocked() {
    (scene.blocked[chosen] || []).forEach((f) =>
      (f.k === "word" ? word(f.at, f.c, f.t) : shape(f.k, f.g, f.c, "blocked", f.t)).addTo(groups.blocked));
  }

  /* ---- room: of one water's discs that would overlap the best is shown, and the chosen one; of words, what fits */
  function settle() {
    const kept = [];
    scene.sites.forEach((site) => {
      const e = markers[site.id].getElement();
      if (!e) return;
      const at = map.latLngToLayerPoint(site.at);
      const over = kept.find((k) => k.water === site.water && k.at.distanceTo(at) < 30);
      e.classList.toggle("behind", Boolean(over) && site.id !== chosen);
      e.removeAttribute("data-more");
      if (over && site.id !== chosen) over.e.dataset.more = Number(over.e.dataset.more || 0) + 1;
      else if (!over) kept.push({ water: site.water, at: at, e: e });
    });
    const within = map.getContainer();
    const words = [".place-name", ".why", ".blocked-word > div", ".agl", ".avoid-word > div", ".water-word > div",
      ".left-out-word > div", ".spot > div"].flatMap((selector) => all(selector, within));
    words.forEach((e) => { e.style.visibility = ""; });
    const taken = all(".mark.site:not(.behind) .disc", within).map((e) => e.getBoundingClientRect());
    const always = ".place-name, .why, .blocked-word > div";
    const hidden = words.filter((e) => {
      const r = e.getBoundingClientRect();
      if (!r.width) return false;
      const hit = taken.some((o) => r.left < o.right && o.left < r.right && r.top + 2 < o.bottom && o.top + 2 < r.bottom);
      if (!hit || e.matches(always)) taken.push(r);
      return hit && !e.matches(always);
    });
    hidden.forEach((e) => { e.style.visibility = "hidden"; });
  }
  map.on("zoomend viewreset", settle);

  function select(id, how) {
    how = how || {};
    if (!document.getElementById("detail-" + id)) return;
    if (id !== chosen) {
      chosen = id;
      drawLegs();
      drawBlocked();
      all(".detail").forEach((e) => { e.hidden = e.dataset.site !== id; });
      all("[data-site].chosen").forEach((e) => e.classList.remove("chosen"));
      all("tr[data-site], li[data-site]").forEach((e) => {
        e.classList.toggle("chosen", e.dataset.site === id);
        if (e.tagName !== "TR") return;
        e.setAttribute("aria-selected", String(e.dataset.site === id));
        if (how.popup && e.dataset.site === id) e.scrollIntoView({ block: "nearest" });
      });
      Object.entries(markers).forEach(([key, m]) => m.getElement() && m.getElement().classList.toggle("chosen", key === id));
      settle();
    }
    if (how.show) {
      if (!map.getBounds().contains(markers[id].getLatLng())) map.panTo(markers[id].getLatLng());
      if (how.focus) document.getElementById("detail-" + id).scrollIntoView({ block: "nearest" });
    }
  }
  all("tr[data-site]").forEach((row) => row.addEventListener("click", () => select(row.dataset.site, { show: true })));
  all("li[data-site] button").forEach((b) => b.addEventListener("click", () =>
    select(b.closest("li").dataset.site, { show: true, focus: true })));

  /* ---- sorting */
  const table = document.getElementById("ranking");
  const heads = table ? all("thead th", table) : [];
  heads.forEach((head, column) => one("button", head).addEventListener("click", () => {
    const down = head.getAttribute("aria-sort") === "ascending" ||
      (!head.hasAttribute("aria-sort") && head.classList.contains("rate"));
    heads.forEach((h) => h.removeAttribute("aria-sort"));
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    const value = (row) => {
      const cell = row.children[column];
      return cell.dataset.t !== undefined ? cell.dataset.t : cell.dataset.v === undefined ? null : Number(cell.dataset.v);
    };
    const rows = all("tbody tr", table).sort((a, b) => {
      const x = value(a), y = value(b);
      if (x === null || y === null) return (x === null) - (y === null); /* not known stays last */
      const sign = typeof x === "string" ? x.localeCompare(y, "en") : x - y;
      return down ? -sign : sign;
    });
    one("tbody", table).append(...rows);
  }));

  /* ---- the pointer on a profile, and its dot on the map */
  all("figure.leg").forEach((figure) => {
    const drawing = one("svg", figure);
    const caption = one(".probe", figure);
    const cursor = document.createElementNS("http://www.w3.org/2000/svg", "path");
    cursor.setAttribute("style", "stroke:var(--ink);stroke-width:1");
    drawing.append(cursor);
    const leave = () => { caption.textContent = ""; cursor.removeAttribute("d"); if (dot) { dot.remove(); dot = null; } };
    const read = (e) => {
      const probe = scene.legs[figure.closest(".detail").dataset.site][Number(figure.dataset.leg)].probe;
      if (!probe.x.length) return;
      const box = drawing.getBoundingClientRect();
      const x = ((e.clientX - box.left) / box.width) * drawing.viewBox.baseVal.width;
      let i = probe.x.findIndex((v) => v >= x);
      if (i < 0) i = probe.x.length - 1;
      cursor.setAttribute("d", "M" + probe.x[i] + " 20V182");
      caption.textContent = probe.far[i] + " along · aircraft " + probe.path[i] + " · " + probe.room[i] + " above the lowest allowed";
      if (!dot) dot = L.circleMarker(probe.at[i], { className: "probe-dot", radius: 7, pane: "markerPane", renderer: renderer("legs"), interactive: false }).addTo(map);
      dot.setLatLng(probe.at[i]);
    };
    ["pointermove", "pointerdown"].forEach((name) => figure.addEventListener(name, read));
    figure.addEventListener("pointerleave", leave);
    figure.addEventListener("pointercancel", leave);
  });

  /* ---- layer switches */
  all("input[data-layer]").forEach((input) => input.addEventListener("change", () => {
    const group = groups[input.dataset.layer];
    if (input.checked) group.addTo(map); else group.remove();
    if (chosen) Object.entries(markers).forEach(([key, m]) => m.getElement() && m.getElement().classList.toggle("chosen", key === chosen));
    settle();
  }));

  /* ---- screen and paper */
  const home = () => map.fitBounds(scene.view, { animate: false, paddingTopLeft: [8, 8], paddingBottomRight: [64, 8] });
  let before = null;
  function paper(on) {
    all("details").forEach((e) => { if (on && !before) e.dataset.open = e.open ? "1" : ""; e.open = on || Boolean(e.dataset.open); });
    if (on && !before) { before = { centre: map.getCenter(), zoom: map.getZoom() }; map.closePopup(); map.invalidateSize({ animate: false }); home(); drawFrame(); settle(); }
    if (!on && before) { map.invalidateSize({ animate: false }); map.setView(before.centre, before.zoom, { animate: false }); before = null; drawFrame(); settle(); }
  }
  window.matchMedia("print").addEventListener("change", (e) => paper(e.matches));
  new ResizeObserver(() => { map.invalidateSize({ animate: false }); drawFrame(); }).observe(sheet);
  home();
  drawFrame();
  const first = scene.sites.find((s) => s.rank !== null) || scene.sites[0];
  if (first) select(first.id);
})();
