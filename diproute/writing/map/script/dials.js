"use strict";
/* What if: dials of the wind and the temperature. They stand on the nodes that were worked and nowhere between. */
(function (dip) {
  const { data, h, words, text } = dip;
  const grid = data.whatIf;
  if (!grid) { dip.windWords = () => ""; return; }
  const dial = { from: document.getElementById("dial-from"), speed: document.getElementById("dial-speed"), heat: document.getElementById("dial-heat") };
  const plan = data.plan;
  const nearest = (list, value) => list.reduce((best, one, i) => (Math.abs(one - value) < Math.abs(list[best] - value) ? i : best), 0);
  const turn = (a, b) => Math.abs(((a - b + 180) % 360 + 360) % 360 - 180);
  /* the speeds begin with calm where calm was worked */
  const calm = grid.node[grid.node.length - 1][0];
  const speeds = calm === null ? grid.speedMs : [0, ...grid.speedMs];
  const first = {
    from: grid.fromDeg.reduce((best, one, i) => (turn(one, plan.wind[0]) < turn(grid.fromDeg[best], plan.wind[0]) ? i : best), 0),
    speed: nearest(speeds, plan.wind[1]), heat: nearest(grid.heatK, plan.heat),
  };
  dial.from.max = grid.fromDeg.length - 1; dial.speed.max = speeds.length - 1; dial.heat.max = grid.heatK.length - 1;
  const speedOf = (k) => (calm === null ? k : k - 1);
  const wordsOf = {
    from: (k) => (speedOf(Number(dial.speed.value)) < 0 ? words.calm : text(grid.from[k])),
    speed: (k) => (speedOf(k) < 0 ? words.calm : text(grid.speed[speedOf(k)])),
    heat: (k) => text(grid.heat[k]),
  };
  function word() {
    Object.entries(dial).forEach(([key, input]) => {
      const said = wordsOf[key](Number(input.value));
      input.setAttribute("aria-valuetext", said);
      document.getElementById("told-" + key).textContent = said;
    });
    dial.from.disabled = speedOf(Number(dial.speed.value)) < 0;
  }
  function rest() {
    Object.entries(first).forEach(([key, k]) => { dial[key].value = k; });
    word();
  }
  function choose() {
    const from = Number(dial.from.value), speed = speedOf(Number(dial.speed.value)), heat = Number(dial.heat.value);
    const node = speed < 0 ? calm : grid.node[from][speed];
    dip.setMoment({ kind: "weather", node: node, from: from, speed: speed, heat: heat });
  }
  dip.windWords = () => (dip.moment.speed < 0 ? words.calm : dip.fill(words.windFrom, { from: text(grid.from[dip.moment.from]), speed: text(grid.speed[dip.moment.speed]) }));

  /* the scale of a dial: a tick a node, hatched beyond the ends, and where the plan's own value is */
  function scale(key, values, own, round) {
    const rail = document.getElementById("scale-" + key);
    const span = values.length > 1 ? values[values.length - 1] - values[0] : 1;
    values.forEach((_, k) => { const e = h("i", { class: "node" }); e.style.left = at(k) + "%"; rail.append(e); });
    function at(k) { return values.length > 1 ? (100 * k) / (values.length - 1) : 50; }
    if (round || !dip.isKnown(own)) return;
    let place = ((own - values[0]) / span) * 100;
    for (let k = 1; k < values.length; k++)
      if (own >= values[k - 1] && own <= values[k]) place = at(k - 1) + ((own - values[k - 1]) / (values[k] - values[k - 1])) * (at(k) - at(k - 1));
    const mine = h("i", { class: "own" });
    mine.style.left = Math.min(106, Math.max(-6, place)) + "%";
    rail.append(mine);
    if (place < 0 || place > 100) rail.closest(".dial").classList.add("beyond");
  }
  scale("from", grid.fromDeg, plan.wind[0], true);
  scale("speed", speeds, plan.wind[1], false);
  scale("heat", grid.heatK, plan.heat, false);
  Object.values(dial).forEach((input) => input.addEventListener("input", choose));
  dip.on("moment", (moment) => {
    if (moment.kind !== "weather") rest(); else word();
    document.getElementById("dials").classList.toggle("idle", moment.kind !== "weather");
  });
  rest();
})(window.dip);
