"use strict";
/* Words on the map: drawn on a canvas, each only where it finds room. */
(function (dip) {
  const scene = dip.data.map, map = dip.map;
  const looks = {
    obstacle: { font: "600 12px system-ui, sans-serif", paint: "warning", place: (p) => [p.x + 8, p.y - 14], align: "left", layer: "obstacles" },
    avoid: { font: "600 12px system-ui, sans-serif", paint: "warning", place: (p) => [p.x, p.y], align: "center", layer: "names" },
    water: { font: "italic 500 13px system-ui, sans-serif", paint: "deep", place: (p) => [p.x, p.y + 17], align: "center", layer: "names" },
    "left-out": { font: "12px system-ui, sans-serif", paint: "deep", place: (p) => [p.x, p.y], align: "center", layer: "left-out" },
    spot: { font: "12px system-ui, sans-serif", paint: "ink", place: (p) => [p.x + 6, p.y], align: "left", layer: "names", dot: true },
  };
  const all = [
    ...scene.obstacles.filter((one) => one[3]).map(([at, , , high]) => ["obstacle", L.latLng(dip.shape("mark", at)), high]),
    ...scene.words.map(([look, lat, lon, text]) => [look, L.latLng(lat, lon), dip.text(text)]),
  ];
  const canvas = dip.h("canvas", { class: "words", "aria-hidden": "true" });
  map.createPane("words").style.zIndex = 550;
  map.getPane("words").style.pointerEvents = "none";
  map.getPane("words").append(canvas);
  dip.written = [];

  /* the boxes that signs and discs take before any word does */
  function draw(taken) {
    const size = map.getSize(), ratio = window.devicePixelRatio || 1;
    const corner = map.containerPointToLayerPoint([0, 0]);
    canvas.width = 1; // begins anew, see the map's canvas
    canvas.width = Math.round(size.x * ratio); canvas.height = Math.round(size.y * ratio);
    canvas.style.width = size.x + "px"; canvas.style.height = size.y + "px";
    L.DomUtil.setPosition(canvas, corner);
    const c = canvas.getContext("2d");
    c.scale(ratio, ratio);
    c.textBaseline = "middle"; c.lineJoin = "round";
    const big = dip.sunlit ? 1.2 : 1;
    dip.written = [];
    all.forEach(([name, at, text]) => {
      const look = looks[name];
      if (!map.hasLayer(dip.groups[look.layer])) return;
      const point = map.latLngToContainerPoint(at);
      if (point.x < -60 || point.y < -20 || point.x > size.x + 60 || point.y > size.y + 20) return;
      const [x, y] = look.place(point);
      c.font = look.font.replace(/(\d+)px/, (_, px) => Math.round(px * big) + "px");
      const wide = c.measureText(text).width, tall = 14 * big;
      const left = look.align === "center" ? x - wide / 2 : x;
      const box = { left: left, right: left + wide, top: y - tall / 2, bottom: y + tall / 2 };
      if (box.left < 0 || box.right > size.x) return;
      if (taken.some((o) => box.left < o.right && o.left < box.right && box.top < o.bottom && o.top < box.bottom)) return;
      taken.push(box);
      dip.written.push(Object.assign({ look: name, text: text }, box));
      c.textAlign = look.align;
      c.strokeStyle = dip.paints.page; c.lineWidth = 4.5; c.strokeText(text, x, y);
      c.fillStyle = dip.paints[look.paint]; c.fillText(text, x, y);
      if (look.dot) { c.beginPath(); c.arc(point.x, point.y, 2, 0, 2 * Math.PI); c.fill(); }
    });
  }
  dip.drawWords = draw;
})(window.dip);
