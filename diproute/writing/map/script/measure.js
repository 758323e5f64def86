"use strict";
/* Measuring between two taps, rings round a place, and what is under the pointer. */
(function (dip) {
  const { data, map, words } = dip;
  const NM = 1852;
  const told = document.getElementById("measured"), button = document.getElementById("measure"), rings = document.getElementById("rings");
  const group = dip.groups.measure;
  let from = null, on = false, ringed = null;

  /* speed over the ground on a course, at an airspeed, in the wind that is shown; null: it cannot be held */
  function over(airspeed, deg) {
    const [wind, speed] = dip.momentWind();
    if (!dip.isKnown(speed) || (!dip.isKnown(wind) && speed > 0)) return null;
    const off = (((wind ?? 0) - deg) * Math.PI) / 180, across = speed * Math.sin(off);
    if (Math.abs(across) >= airspeed) return null;
    const along = Math.sqrt(airspeed ** 2 - across ** 2) - speed * Math.cos(off);
    return along > 0 ? along : null;
  }
  function say(a, b) {
    const [metres, deg] = dip.inverse(a.lat, a.lng, b.lat, b.lng);
    const [loaded, empty] = data.plan.airspeed.map((v) => over(v, deg)).map((v) => (v === null ? words.unknown : dip.span(metres / v)));
    return dip.fill(words.measured, { nm: dip.grouped(dip.fixed(metres / NM, 2)), km: dip.grouped(dip.fixed(metres / 1000, 2)), true: dip.course(deg), mag: dip.magnetic(deg), loaded: loaded, empty: empty });
  }
  function mode(wanted) {
    on = wanted;
    from = null;
    button.setAttribute("aria-pressed", String(on));
    map.getContainer().classList.toggle("measuring", on);
    told.textContent = on ? words.measureFirst : "";
    told.hidden = !on;
    if (!on) group.clearLayers();
  }
  function tap(at) {
    if (from === null) {
      group.clearLayers();
      from = at;
      dip.dot(at).addTo(group);
      told.textContent = words.measureSecond;
      return;
    }
    dip.drawn("line", [from, at], "measure-rim", "marks").addTo(group);
    dip.drawn("line", [from, at], "measure", "marks").addTo(group);
    dip.dot(at).addTo(group);
    told.textContent = say(from, at);
    from = null;
  }
  button.addEventListener("click", () => mode(!on));
  map.on("click", (e) => { if (on) tap(e.latlng); });
  map.on("contextmenu", (e) => { if (!on) mode(true); tap(e.latlng); });
  dip.on("moment", () => { if (on && from === null) { told.textContent = words.measureFirst; group.clearLayers(); } });
  map.getContainer().addEventListener("keydown", (e) => {
    if (e.key === "Escape" && on) mode(false);
    if (e.key === "m" && e.target === map.getContainer()) { if (!on) mode(true); tap(map.getCenter()); }
  });

  /* rings round the chosen site: 1, 2, 5 and 10 NM */
  function drawRings(wanted) {
    if (ringed) { ringed.remove(); ringed = null; }
    rings.setAttribute("aria-pressed", String(wanted));
    if (!wanted || dip.chosen === null) return;
    const [lat, lon] = data.sites[dip.chosen].at;
    ringed = L.layerGroup();
    [1, 2, 5, 10].forEach((miles) => {
      const rim = Array.from({ length: 73 }, (_, k) => dip.ahead(lat, lon, k * 5, miles * NM));
      dip.drawn("line", rim, "ring-rim", "areas").addTo(ringed);
      dip.drawn("line", rim, "ring", "areas").addTo(ringed);
      dip.mark(rim[0], "ring-word", miles + " NM", null, { interactive: false }).addTo(ringed);
    });
    ringed.addTo(map);
  }
  const isRinged = () => rings.getAttribute("aria-pressed") === "true";
  rings.addEventListener("click", () => drawRings(!isRinged()));
  dip.on("choose", () => { if (isRinged()) drawRings(true); });

  /* what is under the pointer: place, ground, what stands on it, told apart as far as the coarse heights do */
  const readout = document.getElementById("readout-said"), field = data.heights;
  const rows = { ground: new Int16Array(dip.bytes(field.ground).buffer), top: new Int16Array(dip.bytes(field.top).buffer) };
  const unit = data.units.height[3] + " " + words.seaLevel;
  function cellAt(at) {
    const [p, a, b] = [at, L.latLng(field.bounds[0]), L.latLng(field.bounds[1])].map((v) => L.Projection.SphericalMercator.project(v));
    const c = Math.floor(((p.x - a.x) / (b.x - a.x)) * field.cols), r = Math.floor(((b.y - p.y) / (b.y - a.y)) * field.rows);
    return c >= 0 && r >= 0 && c < field.cols && r < field.rows ? r * field.cols + c : null;
  }
  function heightWords(at) {
    const cell = cellAt(at);
    const ground = cell === null ? -32768 : rows.ground[cell], top = cell === null ? -32768 : rows.top[cell];
    if (ground === -32768) return words.groundUnknown;
    const said = [dip.fill(words.groundUpTo, { high: dip.grouped(String(ground)) + " " + unit })];
    const stands = (field.standing[cell] || []).map((n) => dip.text(field.names[n]));
    if (top === -32768) said.push(words.topUnknown);
    else if (top > ground) said.push(dip.fill(stands.length ? words.topWithObstacle : words.treesUpTo, { high: dip.grouped(String(top)) + " " + unit }));
    if (stands.length) said.push(dip.fill(words.obstacleHere, { what: stands.slice(0, 2).join("; ") }));
    return said.join(" · ");
  }
  let last = null;
  function read(at) {
    last = at;
    readout.textContent = dip.forms[dip.form](at.lat, at.lng) + "  ·  " + heightWords(at);
  }
  map.on("mousemove click", (e) => read(e.latlng));
  map.on("moveend", () => { if (document.activeElement === map.getContainer()) read(map.getCenter()); });
  map.on("mouseout", () => { readout.textContent = words.readoutHint; });
  const form = document.getElementById("form");
  form.addEventListener("change", () => { dip.form = form.value; if (last) read(last); dip.tell("form"); });
  Object.assign(dip, { measureWords: say, heightWords });
})(window.dip);
