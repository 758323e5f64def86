"use strict";
/* The hours under the map: a slider with a tick an hour, and the way back to the plan's own time. */
(function (dip) {
  const { data, h, words } = dip;
  const hours = data.hours;
  const said = document.getElementById("moment-said"), back = document.getElementById("moment-plan");
  back.addEventListener("click", () => dip.setMoment({ kind: "plan" }));
  dip.on("moment", (moment) => {
    said.textContent = dip.momentWords();
    back.setAttribute("aria-pressed", String(moment.kind === "plan"));
  });
  if (!hours) return;

  const STEP = 34, THUMB = 24;
  const slider = document.getElementById("hour"), scale = document.getElementById("hour-scale"), reel = document.getElementById("hour-reel");
  const count = hours.clock.length;
  reel.style.width = (count - 1) * STEP + THUMB + "px";
  slider.max = count - 1;
  const best = hours.clock.map((_, k) => Math.max(0, ...Object.values(hours.sites).map((row) => row.rate[k] || 0)));
  const most = Math.max(1, ...best);
  hours.clock.forEach((clock, k) => {
    const open = !hours.dark[k] && best[k] > 0;
    const tick = h("button", { type: "button", tabindex: -1, class: "tick" + (hours.dark[k] ? " dark" : "") + (open ? "" : " shut") + (k === hours.now ? " now" : ""),
      title: clock + ", " + dip.text(hours.weather[k]), "aria-hidden": "true", click: () => { slider.value = k; choose(); } }, h("i", {}), h("span", {}, clock.slice(0, 2)));
    tick.style.left = k * STEP - (STEP - THUMB) / 2 + "px";
    tick.firstElementChild.style.height = Math.round((20 * best[k]) / most) + "px";
    scale.append(tick);
  });
  function choose() {
    const k = Number(slider.value);
    dip.setMoment({ kind: "hour", hour: k });
  }
  function word(k) {
    slider.setAttribute("aria-valuetext", hours.clock[k] + ", " + dip.text(hours.weather[k]));
    dip.all(".tick", scale).forEach((e, n) => e.classList.toggle("on", n === k && dip.moment.kind === "hour"));
  }
  slider.addEventListener("input", choose);
  slider.value = hours.now ?? 0;
  word(Number(slider.value));
  dip.on("moment", (moment) => {
    if (moment.kind !== "weather") slider.value = moment.hour ?? hours.now ?? 0;
    slider.classList.toggle("idle", moment.kind !== "hour");
    word(Number(slider.value));
  });
  slider.classList.add("idle");
})(window.dip);
