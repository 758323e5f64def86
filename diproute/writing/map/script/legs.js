"use strict";
/* The legs of the chosen site on the map, what blocks it, and which site is chosen. */
(function (dip) {
  const { data, map, groups, text } = dip;
  const unpacked = new Map();

  /* a leg's path as places, with height and way along it */
  function leg(packed) {
    if (!unpacked.has(packed)) {
      const [lat, lon, high, along] = packed.path.map(dip.sums);
      const at = lat.map((v, i) => [v / 1e5, lon[i] / 1e5]);
      const row = packed.below;
      const below = row && Object.fromEntries(Object.entries(row).map(([key, value]) => [key, key === "step" ? value : dip.sums(value)]));
      unpacked.set(packed, { at, high, along, below, packed, length: packed.length / 10 });
    }
    return unpacked.get(packed);
  }
  /* the place so far along a leg, and the course of its line there */
  function placeAt(of, metres) {
    const { at, along } = of;
    let i = along.findIndex((v, n) => n > 0 && v >= metres);
    if (i < 0) i = along.length - 1;
    const run = along[i] - along[i - 1], part = run > 0 ? Math.min(1, Math.max(0, (metres - along[i - 1]) / run)) : 1;
    return [at[i - 1][0] + part * (at[i][0] - at[i - 1][0]), at[i - 1][1] + part * (at[i][1] - at[i - 1][1])];
  }
  function courseAt(of, metres) {
    const a = placeAt(of, Math.max(0, metres - 60)), b = placeAt(of, Math.min(of.length, metres + 60));
    return (Math.atan2((b[1] - a[1]) * Math.cos((b[0] * Math.PI) / 180), b[0] - a[0]) * 180) / Math.PI;
  }
  /* how far along a leg comes nearest to a place on the screen */
  function nearest(of, latlng) {
    const p = map.latLngToLayerPoint(latlng);
    let best = [Infinity, 0];
    for (let i = 1; i < of.at.length; i++) {
      const a = map.latLngToLayerPoint(of.at[i - 1]), b = map.latLngToLayerPoint(of.at[i]);
      const run = b.subtract(a), square = run.x ** 2 + run.y ** 2;
      const part = square ? Math.min(1, Math.max(0, ((p.x - a.x) * run.x + (p.y - a.y) * run.y) / square)) : 0;
      const off = p.distanceTo(a.add(run.multiplyBy(part)));
      if (off < best[0]) best = [off, of.along[i - 1] + part * (of.along[i] - of.along[i - 1])];
    }
    return best[1];
  }

  function draw() {
    ["blocked", "legs", "ferry"].forEach((name) => groups[name].clearLayers());
    const i = dip.chosen;
    if (i === null) return;
    const site = data.sites[i];
    site.legs.forEach((packed, number) => {
      const of = leg(packed);
      dip.drawn("line", of.at, "leg-rim " + packed.kind, "legs").addTo(groups.legs);
      const made = dip.drawn("line", of.at, "leg " + packed.kind, "legs", text(packed.title)).addTo(groups.legs);
      made.on("mousemove click", (e) => dip.tell("along", { leg: number, metres: nearest(of, e.latlng), from: "map" }));
      made.on("mouseout", () => dip.tell("along", null));
      [0.3, 0.7].forEach((part) => {
        if (!of.length) return;
        const metres = part * of.length;
        dip.mark(placeAt(of, metres), "heading", dip.sign.heading(courseAt(of, metres)), null, { interactive: false }).addTo(groups.legs);
      });
      packed.wires.forEach((wire, n) => {
        const made = dip.mark(dip.shape("mark", wire.at), "crossing", dip.sign.crossing(), text(wire.words), { keyboard: true });
        const pick = () => dip.tell("wire", { leg: number, wire: n });
        made.on("click", pick);
        made.addTo(groups.legs);
        const e = made.getElement();
        if (!e) return;
        e.dataset.wire = number + "-" + n;
        e.setAttribute("role", "button");
        e.addEventListener("keydown", (event) => { if (event.key === "Enter") pick(); });
      });
      if (packed.drop !== null) {
        const end = of.at[of.at.length - 1];
        dip.mark(end, "drop", [dip.sign.drop(), dip.placeName(packed.drop)], packed.drop).addTo(groups.legs);
      }
    });
    site.ferries.filter((n) => n !== null).forEach((n) => {
      const packed = data.ferries[n], of = leg(packed);
      dip.drawn("line", of.at, "leg-rim ferry", "ferry").addTo(groups.ferry);
      dip.drawn("line", of.at, "leg ferry", "ferry", text(packed.title)).addTo(groups.ferry);
    });
    const blocked = data.map.blocked[i];
    if (!blocked) return;
    blocked.shapes.forEach(([kind, g, t]) =>
      dip.drawn(kind, dip.shape(kind, g), kind === "line" ? "blocked stretch" : "blocked", "blocked", text(t)).addTo(groups.blocked));
    dip.mark(blocked.at, "blocked-word", dip.words.inTheWay, null, { interactive: false }).addTo(groups.blocked);
  }

  /* the loaded legs of all other sites, when asked for */
  let others = false;
  dip.showOthers = function (wanted) {
    if (wanted && !others) {
      data.sites.forEach((site) => site.legs.filter((packed) => packed.kind === "loaded").forEach((packed) =>
        dip.brushed(L.polyline(leg(packed).at, { renderer: dip.canvas, interactive: false }),
          () => ({ color: dip.paint("ink"), weight: 1.1, opacity: 0.55 }), "others")));
      others = true;
    }
  };

  /* choosing a site; `how.card` opens its card */
  function choose(i, how) {
    if (i !== dip.chosen) {
      dip.chosen = i;
      draw();
      dip.tell("choose", i);
    }
    if (how && how.show) dip.goTo(data.sites[i].at);
    if (how && how.card) dip.tell("open", how.focus ? "focus" : "card");
  }

  /* a lit place: what a wedge or a wire speaks of */
  const lit = L.layerGroup().addTo(map);
  function light(shapes) {
    lit.clearLayers();
    (shapes || []).forEach((one) => one.addTo(lit));
  }
  const dot = (at) => L.circleMarker(at, { className: "probe-dot", radius: 8, pane: "marks", renderer: dip.renderer("marks"), interactive: false });
  let spot = null;
  dip.on("along", (where) => {
    if (spot) { spot.remove(); spot = null; }
    if (!where || dip.chosen === null) return;
    spot = dot(placeAt(leg(data.sites[dip.chosen].legs[where.leg]), where.metres)).addTo(map);
  });
  dip.on("wire", (which) => {
    const wire = data.sites[dip.chosen].legs[which.leg].wires[which.wire];
    dip.goTo(dip.shape("mark", wire.at));
    dip.all(".mark.crossing").forEach((e) => e.classList.toggle("lit", e.dataset.wire === which.leg + "-" + which.wire));
  });
  dip.on("choose", () => light());
  Object.assign(dip, { leg, placeAt, choose, light, dot });
})(window.dip);
