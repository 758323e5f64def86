"use strict";
/* Places in words, and distances on the WGS 84 ellipsoid. */
(function (dip) {
  const A = 6378137, F = 1 / 298.257223563, B = A * (1 - F);
  const RAD = Math.PI / 180;

  function parts(value, letters, width, places, decimals) {
    const scale = 10 ** decimals;
    const count = dip.even(Math.abs(value) * 60 ** places * scale);
    const last = ((count % (60 * scale)) / scale).toFixed(decimals).padStart(decimals + 3, "0");
    const rest = Math.floor(count / (60 * scale));
    const head = letters[value < 0 ? 1 : 0] + " ";
    if (places === 1) return head + String(rest).padStart(width, "0") + "° " + last + "'";
    return head + String(Math.floor(rest / 60)).padStart(width, "0") + "° " + String(rest % 60).padStart(2, "0") + "' " + last + '"';
  }
  const home = (lon) => ((lon + 180) % 360 + 360) % 360 - 180;
  const ddm = (lat, lon) => [parts(lat, "NS", 2, 1, 3), parts(home(lon), "EW", 3, 1, 3)];
  const dms = (lat, lon) => [parts(lat, "NS", 2, 2, 1), parts(home(lon), "EW", 3, 2, 1)];

  /* the grid zone: six degrees wide, but for south-west Norway and Svalbard */
  function zone(lat, lon) {
    if (lat >= 56 && lat < 64 && lon >= 3 && lon < 12) return 32;
    if (lat >= 72 && lon >= 0 && lon < 42) return [31, 33, 35, 37][lon < 9 ? 0 : lon < 21 ? 1 : lon < 33 ? 2 : 3];
    return Math.min(60, Math.floor((lon + 180) / 6) + 1);
  }
  /* transverse Mercator by the Krueger series to the fourth power of n (L. Krueger, 1912), then the letters of the square */
  function mgrs(lat, anyLon) {
    const lon = home(anyLon);
    if (lat < -80 || lat > 84) return dip.words.noGrid;
    const z = zone(lat, lon), n = F / (2 - F), e = (2 * Math.sqrt(n)) / (1 + n);
    const radius = (A / (1 + n)) * (1 + n ** 2 / 4 + n ** 4 / 64);
    const series = [n / 2 - (2 * n ** 2) / 3 + (5 * n ** 3) / 16 + (41 * n ** 4) / 180,
      (13 * n ** 2) / 48 - (3 * n ** 3) / 5 + (557 * n ** 4) / 1440, (61 * n ** 3) / 240 - (103 * n ** 4) / 140, (49561 * n ** 4) / 161280];
    const sine = Math.sin(lat * RAD), away = (lon - (6 * z - 183)) * RAD;
    const t = Math.sinh(Math.atanh(sine) - e * Math.atanh(e * sine));
    const x = Math.atan2(t, Math.cos(away)), y = Math.atanh(Math.sin(away) / Math.hypot(1, t));
    let east = y, north = x;
    series.forEach((c, i) => {
      const k = 2 * (i + 1);
      east += c * Math.cos(k * x) * Math.sinh(k * y);
      north += c * Math.sin(k * x) * Math.cosh(k * y);
    });
    east = 500000 + 0.9996 * radius * east;
    north = 0.9996 * radius * north + (lat < 0 ? 10000000 : 0);
    const column = ["ABCDEFGH", "JKLMNPQR", "STUVWXYZ"][(z - 1) % 3][Math.floor(east / 1e5) - 1];
    const row = "ABCDEFGHJKLMNPQRSTUV"[(Math.floor(north / 1e5) + (z % 2 ? 0 : 5)) % 20];
    const band = "CDEFGHJKLMNPQRSTUVWXX"[Math.floor((lat + 80) / 8)];
    const digits = (v) => String(Math.floor(v % 1e5)).padStart(5, "0");
    return String(z).padStart(2, "0") + band + " " + column + row + " " + digits(east) + " " + digits(north);
  }
  const forms = { ddm: (a, o) => ddm(a, o).join("  "), dms: (a, o) => dms(a, o).join("  "), mgrs };

  /* distance [m] and first course [deg true] (T. Vincenty, Survey Review 23, 1975) */
  function inverse(lat1, lon1, lat2, lon2) {
    const u1 = Math.atan((1 - F) * Math.tan(lat1 * RAD)), u2 = Math.atan((1 - F) * Math.tan(lat2 * RAD));
    const apart = (lon2 - lon1) * RAD;
    let lambda = apart, sinS, cosS, sigma, cosA2, cosM;
    for (let i = 0; i < 60; i++) {
      const x = Math.cos(u2) * Math.sin(lambda);
      const y = Math.cos(u1) * Math.sin(u2) - Math.sin(u1) * Math.cos(u2) * Math.cos(lambda);
      sinS = Math.hypot(x, y);
      if (sinS === 0) return [0, 0];
      cosS = Math.sin(u1) * Math.sin(u2) + Math.cos(u1) * Math.cos(u2) * Math.cos(lambda);
      sigma = Math.atan2(sinS, cosS);
      const sinA = (Math.cos(u1) * Math.cos(u2) * Math.sin(lambda)) / sinS;
      cosA2 = 1 - sinA ** 2;
      cosM = cosA2 === 0 ? 0 : cosS - (2 * Math.sin(u1) * Math.sin(u2)) / cosA2;
      const c = (F / 16) * cosA2 * (4 + F * (4 - 3 * cosA2));
      const next = apart + (1 - c) * F * sinA * (sigma + c * sinS * (cosM + c * cosS * (-1 + 2 * cosM ** 2)));
      if (Math.abs(next - lambda) < 1e-12) { lambda = next; break; }
      lambda = next;
    }
    const k2 = (cosA2 * (A ** 2 - B ** 2)) / B ** 2;
    const big = 1 + (k2 / 16384) * (4096 + k2 * (-768 + k2 * (320 - 175 * k2)));
    const small = (k2 / 1024) * (256 + k2 * (-128 + k2 * (74 - 47 * k2)));
    const off = small * sinS * (cosM + (small / 4) * (cosS * (-1 + 2 * cosM ** 2)
      - (small / 6) * cosM * (-3 + 4 * sinS ** 2) * (-3 + 4 * cosM ** 2)));
    const first = Math.atan2(Math.cos(u2) * Math.sin(lambda), Math.cos(u1) * Math.sin(u2) - Math.sin(u1) * Math.cos(u2) * Math.cos(lambda));
    return [B * big * (sigma - off), (first / RAD + 360) % 360];
  }
  /* the place so far off on a course, by the radii of curvature in the middle: for rings and marks, to some metres in 50 km */
  function ahead(lat, lon, deg, metres) {
    const e2 = F * (2 - F);
    let middle = lat;
    let found = [lat, lon];
    for (let i = 0; i < 3; i++) {
      const w = 1 - e2 * Math.sin(middle * RAD) ** 2;
      const across = A / Math.sqrt(w), along = (A * (1 - e2)) / w ** 1.5;
      const north = metres * Math.cos(deg * RAD), east = metres * Math.sin(deg * RAD);
      const dLon = east / (across * Math.cos(middle * RAD));
      const bend = (dLon * Math.sin(middle * RAD)) / 2;
      found = [lat + (north * Math.cos(bend) - east * Math.sin(bend)) / along / RAD,
        lon + (east * Math.cos(bend) + north * Math.sin(bend)) / (across * Math.cos(middle * RAD)) / RAD];
      middle = (lat + found[0]) / 2;
    }
    return found;
  }
  Object.assign(dip, { ddm, dms, mgrs, forms, inverse, ahead, home });
})(window.dip);
