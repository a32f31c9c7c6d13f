/* What follows from several readings of a piece: the pair, losses, turns, and what cannot all be true
   (measures/piece.py, losses.py, turns_of_piece.py, joint.py, gauges.py, troubles.py). */
(function () {
  "use strict";
  var C = window.coilbookCheck, F = window.coilbookFormulas, Bench = window.coilbookBench, K = Bench.constants;
  var D = window.coilbookCheckData, L = D.limits, N = D.names;
  var COMMON = new Set(N.common);
  var line = C.line, scaled = C.scaled, numberOf = C.numberOf;

  function to(unit, target) { return F.scale(C.unitAs(unit), C.unitAs(target)); }

  /** Return a value worked out from others: what stands against any of them stands against it. */
  function derivedValue(component, id, value, budget, sources, data, flags) {
    var every = ["derived"].concat(flags || []), meters = [];
    sources.forEach(function (s) { every = every.concat(s.flags); meters.push(s.meter); });
    meters = C.unique(meters);
    return {
      component: component, property_id: id, unit: D.properties[id].unit || "", value: value, u: C.uncertainty(budget),
      qualifier: "", category: null, line: 0, written: "",
      date: sources.map(function (s) { return s.date; }).sort().pop(), meter: meters.length === 1 ? meters[0] : null,
      steps: [{ code: "derived", before: value, after: value, data: data }], budget: budget, flags: C.unique(every),
      interval: null, hertz: null };
  }

  function ofThePair(best) {
    var a = numberOf(best, "coil_a", "coil-resistance"), b = numberOf(best, "coil_b", "coil-resistance"), found = [];
    if (!a || !b) { return found; }
    function derive(id, value, byA, byB) {
      var unit = D.properties[id].unit, factor = unit === "%" ? 1 : to(a.unit, unit);
      found.push(derivedValue("pair", id, value * factor, C.combinedBudget([[byA * factor, a], [byB * factor, b]]), [a, b],
        { coil_a: a.value, coil_b: b.value, unit: a.unit }));
    }
    var sign = a.value >= b.value ? 1 : -1, sum = a.value + b.value, read = best.get("pair|pair-resistance");
    if (!read || !(C.comparable(read) || read.qualifier === "open")) { derive("pair-resistance", sum, 1, 1); }
    derive("coil-difference", Math.abs(a.value - b.value), sign, -sign);
    if (a.value > 0 && b.value > 0) {
      var share = 400 * sign / Math.pow(sum, 2);
      derive("coil-imbalance", F.imbalancePercent(a.value, b.value), share * b.value, -share * a.value);
    }
    return found;
  }
  function closureOf(best) {
    var pair = numberOf(best, "pair", "pair-resistance");
    var a = numberOf(best, "coil_a", "coil-resistance"), b = numberOf(best, "coil_b", "coil-resistance");
    if (!pair || !a || !b) { return null; }
    var ofPair = to(pair.unit, "kΩ"), ofCoil = to(a.unit, "kΩ");
    var pairKohm = pair.value * ofPair, sumKohm = (a.value + b.value) * ofCoil, difference = pairKohm - sumKohm;
    var u = C.uncertainty(C.combinedBudget([[ofPair, pair], [-ofCoil, a], [-ofCoil, b]], true));
    var error = F.normalisedError(difference, u);
    return { sum: sumKohm, pair: pairKohm, difference: difference, u: u, error: error, closes: error <= 1 };
  }

  function inductanceRatios(best) {
    return N.coils.concat("pair").map(function (component) {
      var of = component === "pair" ? "pair" : "coil";
      var l = numberOf(best, component, of + "-inductance"), r = numberOf(best, component, of + "-resistance");
      if (!l || !r || Math.pow(r.value, 2) <= 0) { return null; }
      var square = Math.pow(r.value, 2), ratio = l.value / square;
      return derivedValue(component, of + "-inductance-ratio", ratio,
        C.combinedBudget([[1 / square, l], [-2 * ratio / r.value, r]]), [l, r],
        { inductance_h: l.value, resistance_kohm: r.value });
    }).filter(Boolean);
  }
  function warmth(value) {
    var step = value.steps.find(function (s) { return s.code === "temperature"; });
    return step ? F.temperatureFactor(step.data.temperature_c) : 1;
  }
  function extraLosses(best) {
    return N.coils.concat("pair").map(function (component) {
      var of = component === "pair" ? "pair" : "coil";
      var l = numberOf(best, component, of + "-inductance"), q = numberOf(best, component, of + "-quality");
      var r = numberOf(best, component, of + "-resistance");
      if (!l || !q || !r || q.hertz === null || Math.min(l.value, q.value, r.value, q.hertz) <= 0) { return null; }
      var toOhm = to(r.unit, "Ω") * warmth(r), ohm = r.value * toOhm, reactance = 2 * Math.PI * q.hertz * l.value;
      return derivedValue(component, of + "-extra-loss", F.extraLoss(q.value, l.value, ohm, q.hertz),
        C.combinedBudget([[-1 / Math.pow(q.value, 2), q], [ohm / reactance / l.value, l], [-toOhm / reactance, r]]),
        [q, l, r], { quality: q.value, inductance_h: l.value, resistance_ohm: ohm });
    }).filter(Boolean);
  }
  function lossSurpluses(best) {
    var all = [["pair", "pair"]].concat(N.coils.slice(1).map(function (coil) { return [coil, "coil"]; })).map(function (part) {
      return { q: numberOf(best, part[0], part[1] + "-quality"), l: numberOf(best, part[0], part[1] + "-inductance") };
    });
    if (!all.every(function (one) { return one.q && one.l; })) { return []; }
    var q = all[0].q, l = all[0].l, coils = all.slice(1), lost = 0;
    var alike = q.hertz !== null && coils.every(function (c) { return c.q.hertz === q.hertz; });
    if (!alike || !all.every(function (one) { return Math.min(one.q.value, one.l.value) > 0; })) { return []; }
    coils.forEach(function (c) { lost += c.l.value / c.q.value / l.value; });
    var weights = [[-1 / Math.pow(q.value, 2), q], [lost / l.value, l]];
    coils.forEach(function (c) {
      weights.push([c.l.value / l.value / Math.pow(c.q.value, 2), c.q], [-1 / l.value / c.q.value, c.l]);
    });
    var qs = coils.map(function (c) { return c.q.value; }), ls = coils.map(function (c) { return c.l.value; });
    return [derivedValue("pair", N.surplus, F.lossSurplus(q.value, l.value, qs, ls), C.combinedBudget(weights),
      weights.map(function (part) { return part[1]; }), { quality: q.value, quality_a: qs[0], quality_b: qs[1] })];
  }

  /* Turns. */
  function windingLines(w, halfWidths, derivatives) {
    return Object.keys(halfWidths).filter(function (field) { return field in derivatives; }).map(function (field) {
      var shown = N.shown[field], size = shown[2], own = field === "resistivity_ohm_m" ? K.rho20OhmM : w[field];
      return line(shown[0], own / size, halfWidths[field] / size, derivatives[field] * size, shown[1]);
    });
  }
  function over(by, turnsBy) {
    var found = {};
    Object.keys(by).forEach(function (field) { found[field] = -by[field] / turnsBy; });
    return found;
  }
  function byResistance(kohm, budget, w, halfWidths) {
    var turns = F.coilTurns(kohm * 1000, w), by = F.resistanceSensitivities(turns, w);
    var own = scaled(budget, 1 / (by.turns * kohm));
    return { value: turns, budget: own.concat(windingLines(w, halfWidths, over(by, by.turns))) };
  }
  function byMass(grams, budget, w, halfWidths) {
    var turns = F.turnsOfMass(grams / 1000, w), by = F.massSensitivities(turns, w), slopes = over(by, by.turns);
    return {
      value: turns,
      budget: scaled(budget, 1 / (by.turns * grams)).concat(windingLines(w, halfWidths, slopes), [
        line(N.copperDensity, L.densityKgPerM3, L.densityKgPerM3 * L.densityHalfWidth, slopes.copper_kg_per_m3, "kg/m³"),
        line(N.insulationDensity, L.insulationKgPerM3, (L.insulationRange[1] - L.insulationRange[0]) / 2,
          slopes.insulation_kg_per_m3, "kg/m³")
      ]) };
  }

  function identity(l) { return [l.name, l.estimate, l.u, l.unit].join("|"); }
  /** Return the budget of a result from [label, derivative, budget] of estimates that share inputs. */
  function jointBudget(parts) {
    var shared = new Map(), own = [];
    parts.forEach(function (part) {
      part[2].forEach(function (l) {
        var by = part[1] * l.by;
        if (!COMMON.has(l.name)) { own.push(C.moved(l, by, part[0] ? part[0] + ": " + l.name : l.name)); return; }
        var k = identity(l);
        shared.set(k, C.moved(l, (shared.has(k) ? shared.get(k).by : 0) + by, l.name));
      });
    });
    return Array.from(shared.values()).concat(own);
  }
  function covariance(budgets) {
    var inputs = new Map();
    budgets.forEach(function (budget, row) {
      budget.forEach(function (l, place) {
        var k = COMMON.has(l.name) ? identity(l) : row + "|" + place;
        if (!inputs.has(k)) { inputs.set(k, budgets.map(function () { return 0; })); }
        inputs.get(k)[row] += l.by * l.u;
      });
    });
    var columns = Array.from(inputs.values());
    return budgets.map(function (_, i) {
      return budgets.map(function (_, j) { return columns.reduce(function (sum, c) { return sum + c[i] * c[j]; }, 0); });
    });
  }
  /* Solve a small system of equations by elimination; null where it has no one answer. */
  function solved(matrix, target) {
    var rows = matrix.map(function (row, i) { return row.concat(target[i]); }), n = rows.length;
    for (var column = 0; column < n; column++) {
      var pivot = column;
      for (var r = column + 1; r < n; r++) { if (Math.abs(rows[r][column]) > Math.abs(rows[pivot][column])) { pivot = r; } }
      if (Math.abs(rows[pivot][column]) < 1e-13) { return null; }
      var kept = rows[pivot];
      rows[pivot] = rows[column];
      rows[column] = kept;
      for (r = 0; r < n; r++) {
        if (r === column) { continue; }
        var share = rows[r][column] / kept[column];
        for (var c = column; c <= n; c++) { rows[r][c] -= share * kept[c]; }
      }
    }
    return rows.map(function (row, i) { return row[n] / row[i]; });
  }
  function bestWeights(v) {
    var n = v.length, size = Math.max.apply(null, v.map(function (row, i) { return row[i]; })) || 1;
    var system = v.map(function (row) { return row.map(function (x) { return x / size; }).concat(1); });
    system.push(v.map(function () { return 1; }).concat(0));
    var found = solved(system, v.map(function () { return 0; }).concat(1));
    return found ? found.slice(0, n) : v.map(function () { return 1 / n; });
  }
  function chiSquare(values, v) {
    var apart = values.slice(1).map(function (x) { return x - values[0]; });
    var spread = apart.map(function (_, i) {
      return apart.map(function (_, j) { return v[i + 1][j + 1] - v[i + 1][0] - v[0][j + 1] + v[0][0]; });
    });
    var size = Math.max.apply(null, [].concat.apply([], spread).map(Math.abs)) || 1;
    var found = solved(spread.map(function (row) { return row.map(function (x) { return x / size; }); }), apart);
    return found ? found.reduce(function (sum, x, i) { return sum + x / size * apart[i]; }, 0)
      : apart.every(function (x) { return x === 0; }) ? 0 : Infinity;
  }
  /* The probability of so large a chi-square by chance, with one or two degrees of freedom. */
  function byChance(freedom, chi) { return freedom === 1 ? C.erfc(Math.sqrt(chi / 2)) : Math.exp(-chi / 2); }
  function combinedTurns(estimates) {
    var names = Object.keys(estimates), values = names.map(function (n) { return estimates[n].value; });
    var joint = covariance(names.map(function (n) { return estimates[n].budget; })), weights = bestWeights(joint), named = {};
    names.forEach(function (n, i) { named[n] = weights[i]; });
    var probability = byChance(names.length - 1, chiSquare(values, joint));
    return {
      value: values.reduce(function (sum, x, i) { return sum + x * weights[i]; }, 0),
      budget: jointBudget(names.map(function (n, i) { return [n, weights[i], estimates[n].budget]; })),
      weights: named, probability: probability, agrees: probability >= L.agreesAt };
  }
  function fitOf(turns, w, bobbin, halfWidths) {
    var height = w.winding_height_m, depth = bobbin.winding_depth_m, diameter = w.overall_diameter_m;
    var square = F.fillRatio(turns.value, height, depth, diameter, K.squarePacking);
    var half = { overall_diameter_m: halfWidths.overall_diameter_m, winding_height_m: halfWidths.winding_height_m };
    var own = windingLines(w, half, { overall_diameter_m: 2 * square / diameter, winding_height_m: -square / height });
    var depthMm = depth * 1000;
    own.push(line(N.depth, depthMm, L.bobbinHalfWidthM * 1000, -square / depthMm, "mm"));
    var u = C.uncertainty(jointBudget([["", square / turns.value, turns.budget], ["", 1, own]]));
    var nested = turns.value / F.layeredTurns(height, depth, diameter, K.hexagonalPacking);
    var surely = 1 - L.coverageFactor * u / square;
    return {
      ratio: square, u: u, nested: nested,
      fits: nested * surely > 1 ? "cannot_fit" : square * surely > 1 ? "only_if_nested" : "fits" };
  }
  function wireOf(component, family, best) {
    if (family.wire_id === null) { return null; }
    var gauge = best.get(C.key(component, "wire-gauge")), build = Bench.wires[family.wire_id].build;
    if (!gauge || gauge.category === null) { return family.wire_id; }
    return Object.keys(Bench.wires).find(function (id) {
      return D.wires[id] === gauge.category && Bench.wires[id].build === build;
    }) || family.wire_id;
  }
  function turnsOfCoils(family, best) {
    if (family.bobbin_id === null) { return []; }
    var bobbin = Bench.bobbins[family.bobbin_id];
    return N.coils.map(function (component) {
      var read = numberOf(best, component, "coil-resistance"), wireId = wireOf(component, family, best);
      if (!read || wireId === null || read.value <= 0) { return null; }
      var wire = Bench.wires[wireId], w = F.windingOf(wire, bobbin), toKohm = to(read.unit, "kΩ");
      var estimate = byResistance(read.value * toKohm, scaled(read.budget, toKohm), w, wire.half_widths);
      var estimates = { resistance: estimate }, mass = numberOf(best, component, "wire-mass");
      if (mass && mass.value > 0) { estimates.mass = byMass(mass.value, mass.budget, w, wire.half_widths); }
      var counted = numberOf(best, component, "coil-turns");
      if (counted) { estimates.counter = { value: counted.value, budget: counted.budget }; }
      var combined = Object.keys(estimates).length > 1 ? combinedTurns(estimates) : null;
      var agreed = combined !== null && combined.agrees;
      return {
        component: component, wire_id: wireId, bobbin_id: family.bobbin_id, estimates: estimates, combined: combined,
        agreed: agreed, fit: fitOf(agreed ? combined : estimate, w, bobbin, wire.half_widths) };
    }).filter(Boolean);
  }
  function derivedTurns(found, best) {
    return found.filter(function (t) { return !numberOf(best, t.component, "coil-turns"); }).map(function (t) {
      var read = best.get(C.key(t.component, "coil-resistance")), sources = [read], estimate = t.estimates.resistance;
      var data = { resistance_kohm: read.value * to(read.unit, "kΩ"), wire_id: t.wire_id, bobbin_id: t.bobbin_id };
      if (t.agreed) {
        var weighed = best.get(C.key(t.component, "wire-mass"));
        estimate = t.combined;
        sources.push(weighed);
        data.mass_g = weighed.value || 0;
      }
      return derivedValue(t.component, "coil-turns", estimate.value, estimate.budget, sources, data, ["assumed_construction"]);
    });
  }
  function pairTurns(best) {
    var a = numberOf(best, "coil_a", "coil-turns"), b = numberOf(best, "coil_b", "coil-turns");
    if (!a || !b || numberOf(best, "pair", "pair-turns")) { return []; }
    return [derivedValue("pair", "pair-turns", a.value + b.value, C.combinedBudget([[1, a], [1, b]]), [a, b],
      { coil_a: a.value, coil_b: b.value, unit: a.unit })];
  }

  function contradictions(values, best, closure) {
    var found = [], pair = best.get("pair|pair-resistance");
    function tell(code, value, line, data) {
      found.push({ code: code, component: value.component, property_id: value.property_id, line: line, data: data });
    }
    values.forEach(function (v) {
      if (v.flags.indexOf("parallel_impossible") >= 0) { tell("parallel_impossible", v, v.line, { written: v.written }); }
    });
    var coils = ["coil_a", "coil_b"].map(function (c) { return best.get(C.key(c, "coil-resistance")); }).filter(Boolean);
    if (pair && pair.line) {
      var through = C.comparable(pair) && !pair.steps.some(function (s) { return s.code === "parallel"; });
      coils.forEach(function (coil) {
        if (coil.qualifier === "open" && through) {
          tell("coil_open_pair_reads", coil, coil.line, { pair_written: pair.written });
        }
      });
      if (pair.qualifier === "open" && coils.length === 2 && coils.every(C.comparable)) {
        tell("pair_open_coils_read", pair, pair.line, {});
      }
    }
    if (closure && !closure.closes) {
      tell("closure_fails", { component: "pair", property_id: "pair-resistance" }, 0,
        { sum_kohm: closure.sum, pair_kohm: closure.pair, normalised_error: closure.error });
    }
    return found;
  }

  /** Return all that a piece's readings say: {values, best, closure, turns, troubles}. */
  function measurePiece(readings, family) {
    var reduced = C.reduceReadings(readings, family), values = reduced.values, best = C.bestOf(values);
    var closure = closureOf(best), turns = turnsOfCoils(family, best);
    function add(value) { values.push(value); best.set(C.key(value.component, value.property_id), value); }
    /* All but the last from what was read: none of them rests on another. */
    [].concat(ofThePair(best), inductanceRatios(best), extraLosses(best), lossSurpluses(best), derivedTurns(turns, best)).forEach(add);
    pairTurns(best).forEach(add);
    return {
      values: values, best: best, closure: closure, turns: turns,
      troubles: reduced.troubles.concat(contradictions(values, best, closure)) };
  }

  C.measurePiece = measurePiece;
})();
