"use strict";
/* The page as it opens: the best site chosen, its legs drawn, the ranking beside the map. */
(function (dip) {
  const sheet = dip.one(".sheet");
  dip.drawFrame();
  dip.setMoment({ kind: "plan" });
  const first = dip.data.sites.findIndex((site) => site.rank !== null);
  if (dip.data.sites.length) dip.choose(first < 0 ? 0 : first);
  dip.tell("started");
  let size = [sheet.clientWidth, sheet.clientHeight];
  new ResizeObserver(() => {
    if (sheet.clientWidth === size[0] && sheet.clientHeight === size[1]) return;
    size = [sheet.clientWidth, sheet.clientHeight];
    dip.map.invalidateSize({ animate: false });
    dip.drawFrame();
  }).observe(sheet);
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
})(window.dip);
