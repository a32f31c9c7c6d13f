/* More formulas of measures/ and assessment/, each under the name it has there, for the page that checks a
   piece. Pure functions; what cannot be is refused with a RangeError. */
(function () {
  "use strict";
  var F = window.coilbookFormulas, C = window.coilbookCheck, L = window.coilbookCheckData.limits;
  /* The search over a face, as in measures/magnet_field.py. */
  var S = window.coilbookCheckData.search;

  function refuse(text) { throw new RangeError(text); }
  function positive(values) {
    values.forEach(function (value) { if (!(value > 0 && value < Infinity)) { refuse("Everything must be above 0."); } });
  }
  function notNegative(values) {
    values.forEach(function (value) { if (!(value >= 0 && value < Infinity)) { refuse("Everything must be 0 or more."); } });
  }

  /* An inductance with loss. */
  function seriesInductanceH(parallelH, quality) {
    positive([parallelH, quality]);
    return parallelH / (1 + Math.pow(1 / quality, 2));
  }
  function extraLoss(quality, inductanceH, resistanceOhm, hertz) {
    positive([quality, inductanceH, resistanceOhm, hertz]);
    return 1 / quality - resistanceOhm / (2 * Math.PI * hertz * inductanceH);
  }
  function lossSurplus(quality, inductanceH, qualities, inductancesH) {
    positive([quality, inductanceH].concat(qualities, inductancesH));
    return 1 / quality - (inductancesH[0] / qualities[0] + inductancesH[1] / qualities[1]) / inductanceH;
  }

  /* Turns from the weight of the wire. */
  function woundMassKgPerM(w) {
    var bare = w.bare_diameter_m * w.bare_diameter_m / (1 + w.stretch), coat = w.overall_diameter_m * w.overall_diameter_m - bare;
    if (coat < 0) { refuse("The wire is thicker than it is over its insulation."); }
    return Math.PI / 4 * (L.densityKgPerM3 * bare + L.insulationKgPerM3 * coat);
  }
  function turnsOfMass(massKg, w) {
    positive([massKg]);
    return F.turnsOfLength(massKg / woundMassKgPerM(w), w);
  }
  function massSensitivities(turns, w) {
    var length = F.resistanceSensitivities(turns, w), grown = length.packing * w.packing;
    var perM = woundMassKgPerM(w) / (Math.PI / 4), drawn = 1 + w.stretch, bare = w.bare_diameter_m, over = w.overall_diameter_m;
    var heavier = L.densityKgPerM3 - L.insulationKgPerM3;
    return {
      turns: length.turns, bare_diameter_m: 2 * bare * heavier / drawn / perM,
      overall_diameter_m: 2 * over * L.insulationKgPerM3 / perM + 2 * grown / over, core_length_m: length.core_length_m,
      core_width_m: length.core_width_m, winding_height_m: length.winding_height_m, packing: length.packing,
      stretch: -(bare * bare) * heavier / (drawn * drawn) / perM, copper_kg_per_m3: bare * bare / drawn / perM,
      insulation_kg_per_m3: (over * over - bare * bare / drawn) / perM };
  }

  function normalisedError(difference, u) {
    positive([u]);
    notNegative([Math.abs(difference)]);
    return Math.abs(difference) / (2 * u);
  }

  /** Return how probable it is that the true value lies below, within and above a range; null is no limit. */
  function conformance(value, u, low, high) {
    var given = [value, u, low, high].filter(function (x) { return x !== null; });
    if (!given.every(isFinite) || u < 0) { refuse("That cannot be compared."); }
    if ((low === null && high === null) || (low !== null && high !== null && low > high)) { refuse("That is no range."); }
    var fromLow = low === null ? -Infinity : low - value, toHigh = high === null ? Infinity : high - value;
    if (u === 0) {
      var below = Number(fromLow > 0), above = Number(toHigh < 0);
      return { below: below, within: 1 - below - above, above: above };
    }
    var zLow = fromLow / u, zHigh = toHigh / u;
    var within = zLow > 0 ? C.below(-zLow) - C.below(-zHigh) : C.below(zHigh) - C.below(zLow);
    return { below: C.below(zLow), within: within, above: C.below(-zHigh) };
  }

  /* A rod magnet {diameter_m, along_m}, alone in air. */
  function rodOnAxisT(polarisationT, rod, standoffM) {
    positive([polarisationT, rod.diameter_m, rod.along_m]);
    notNegative([standoffM]);
    var radius = rod.diameter_m / 2, far = standoffM + rod.along_m;
    return polarisationT / 2 * (far / Math.hypot(far, radius) - standoffM / Math.hypot(standoffM, radius));
  }
  function standoffRatio(rod, standoffM, depthM) {
    notNegative([standoffM, depthM]);
    return rodOnAxisT(1, rod, depthM) / rodOnAxisT(1, rod, standoffM + depthM);
  }
  function logSlopes(rod, distanceM) {
    var radius = rod.diameter_m / 2, end = distanceM + rod.along_m, field = rodOnAxisT(2, rod, distanceM);
    var here3 = Math.pow(Math.hypot(distanceM, radius), 3), end3 = Math.pow(Math.hypot(end, radius), 3);
    return {
      distance: (radius * radius / end3 - radius * radius / here3) / field, along: radius * radius / end3 / field,
      diameter: (distanceM * radius / here3 - end * radius / end3) / 2 / field };
  }
  function standoffSensitivities(rod, standoffM, depthM) {
    notNegative([standoffM, depthM]);
    var near = logSlopes(rod, depthM), far = logSlopes(rod, standoffM + depthM);
    return {
      diameter_m: near.diameter - far.diameter, along_m: near.along - far.along, standoff_m: -far.distance,
      sensor_depth_m: near.distance - far.distance };
  }
  /* The generalised complete elliptic integral C(k, p, 1, s) by Bulirsch's means, p and s above 0. */
  function elliptic(k, p, s) {
    var pp = Math.sqrt(p), em = 1, f = 1, ss = s / pp, cc = 1 + ss / pp, g = k / pp, kk = k;
    ss = 2 * (ss + f * g);
    pp += g;
    g = em;
    em += k;
    while (Math.abs(g - k) > g * 1e-7) {
      k = 2 * Math.sqrt(kk);
      kk = k * em;
      f = cc;
      cc += ss / pp;
      g = kk / pp;
      ss = 2 * (ss + f * g);
      pp += g;
      g = em;
      em += k;
    }
    return Math.PI / 2 * (ss + cc * em) / (em * (em + pp));
  }
  function rodAlong(rod, radius, z) {
    var a = rod.diameter_m / 2, gamma = (a - radius) / (a + radius), axial = 0;
    [1, -1].forEach(function (end) {
      var w = z + end * rod.along_m / 2, far2 = w * w + (a + radius) * (a + radius), near2 = w * w + (a - radius) * (a - radius);
      axial += end * w / Math.sqrt(far2) * elliptic(Math.sqrt(near2 / far2), gamma * gamma, gamma);
    });
    return axial * a / (a + radius) / Math.PI;
  }
  /** Return the highest flux density anywhere over a rod's face, for a polarisation and a stand-off. */
  function highestOverFaceT(polarisationT, rod, standoffM) {
    positive([polarisationT, rod.diameter_m, rod.along_m]);
    notNegative([standoffM]);
    var z = standoffM + rod.along_m / 2, step = Math.PI / 2 / S.places, angles = [], highest = 0;
    for (var place = 0; place < S.places; place++) { angles.push(step * place); }
    for (var round = 0; round < S.rounds; round++) {
      var best = 0;
      highest = -Infinity;
      for (var i = 0; i < angles.length; i++) {
        var found = rodAlong(rod, rod.diameter_m / 2 * Math.sin(angles[i]), z);
        if (found > highest) { highest = found; best = angles[i]; }
      }
      angles = [];
      for (var part = -3; part <= 3; part++) { angles.push(Math.min(Math.max(best + step * part / 3, 0), S.rim)); }
      step /= 3;
    }
    return polarisationT * highest;
  }

  Object.assign(F, {
    seriesInductanceH: seriesInductanceH, extraLoss: extraLoss, lossSurplus: lossSurplus, turnsOfMass: turnsOfMass,
    massSensitivities: massSensitivities, normalisedError: normalisedError, conformance: conformance,
    rodOnAxisT: rodOnAxisT, standoffRatio: standoffRatio, standoffSensitivities: standoffSensitivities,
    highestOverFaceT: highestOverFaceT
  });
})();
