/* Readings reduced with their budgets (measures/reduce.py, reduce_in_piece.py, instrument.py, combine.py).
   A line of a budget is {name, estimate, u, by, unit}: by is the derivative of the result. A value is what
   ReducedValue of measures/types.py is. */
(function () {
  "use strict";
  var C = window.coilbookCheck, F = window.coilbookFormulas, G = window.coilbookGrammar;
  var K = window.coilbookBench.constants, B = window.coilbookBench.names;
  var D = window.coilbookCheckData, L = D.limits, N = D.names;
  var COMMON = new Set(N.common), FRACTION = /\p{Nd}\s*[/⁄]\s*(\p{Nd}+)/u;
  var QUALITY = { "coil-inductance": "coil-quality", "pair-inductance": "pair-quality" };

  function line(name, estimate, halfWidth, by, unit) {
    return { name: name, estimate: estimate, u: F.rectangular(halfWidth), by: by, unit: unit };
  }
  function effect(l) { return Math.abs(l.by) * l.u; }
  function uncertainty(budget) { return Math.hypot.apply(null, budget.map(effect)); }
  function moved(l, by, name) { return { name: name, estimate: l.estimate, u: l.u, by: by, unit: l.unit }; }
  function scaled(budget, factor) { return budget.map(function (l) { return moved(l, l.by * factor, l.name); }); }

  /** Return the budget of a result from [weight, value] of its parts, with what they share joined.
      In one sitting a temperature that was noted once is one input whatever its signs. */
  function combinedBudget(parts, oneSitting) {
    var shared = new Map(), own = [];
    parts.forEach(function (part) {
      var value = part[1], label = value.component.replace(/_/g, " ");
      value.budget.forEach(function (l) {
        var by = part[0] * l.by;
        var which = l.name === B.percent ? value.meter : l.name === B.temperature ? value.date : COMMON.has(l.name) ? "" : null;
        if (which === null) { own.push(moved(l, by, label + ": " + l.name)); return; }
        var noted = oneSitting && l.name === B.temperature && value.flags.indexOf("no_temperature") < 0;
        if (noted) { own.push(line(label + ": " + N.byHand, 0, L.handlingHalfWidthK, by, "K")); }
        var key = [l.name, l.estimate, l.u, which, noted || by >= 0].join("|");
        shared.set(key, moved(l, (shared.has(key) ? shared.get(key).by : 0) + by, l.name));
      });
    });
    return Array.from(shared.values()).concat(own);
  }

  /* What the meter brings. */
  function stepOf(reading) {
    if (reading.step !== null) { return reading.step; }
    var written = FRACTION.exec(reading.written);
    var part = Math.max(K.fractionDenominator, written ? Number(G.plainDigits(written[1])) : 0);
    return C.kindOf(reading.prop) === "length" ? F.convert(1 / part, "inch", C.unitAs(reading.prop.unit)) : 1 / part;
  }
  function instrumentBudget(reading, value) {
    var unit = reading.prop.unit || "", meter = reading.meter;
    if (meter === null) {
      return unit === "pieces" ? [[], []] : [[line(B.resolution, 0, stepOf(reading) / 2, 1, unit)], ["no_instrument"]];
    }
    var share = F.rectangular(meter.percent), digits = Math.max(meter.digits, 0.5);
    var whole = F.rectangular(F.accuracyHalfWidth(value, meter.percent, digits, stepOf(reading)));
    var rest = Math.sqrt(Math.max(0, whole * whole - Math.pow(share * value / 100, 2)));
    var lines = [{ name: B.digits, estimate: 0, u: rest, by: 1, unit: unit }];
    if (meter.percent) { lines.unshift({ name: B.percent, estimate: 0, u: share, by: value / 100, unit: "%" }); }
    return [lines, []];
  }

  /* A reading on its way. */
  function work(reading) {
    var brought = instrumentBudget(reading, reading.value);
    return {
      reading: reading, value: reading.value, unit: reading.prop.unit || "", qualifier: reading.qualifier, steps: [],
      budget: brought[0], flags: brought[1].slice() };
  }
  function step(w, code, after, derivative, inputs, data) {
    w.steps.push({ code: code, before: w.value, after: after, data: data });
    w.budget = scaled(w.budget, derivative).concat(inputs);
    w.value = after;
  }
  function bound(w, qualifier, flag) {
    w.flags.push(flag);
    if (w.qualifier !== "" && w.qualifier !== qualifier) { w.value = 0; w.budget = []; qualifier = ">"; }
    w.qualifier = qualifier;
  }
  function finish(reading, w, interval) {
    return {
      component: reading.component, property_id: reading.id, unit: reading.prop.unit || "",
      value: w ? w.value : null, u: w ? uncertainty(w.budget) : null, qualifier: w ? w.qualifier : reading.qualifier,
      category: reading.category, line: reading.line, written: reading.written, date: reading.date,
      meter: reading.meter ? reading.meter.id : null, steps: w ? w.steps : [], budget: w ? w.budget : [],
      flags: w ? C.unique(w.flags) : [], interval: interval || null, hertz: reading.testFrequencyHz };
  }

  function outOfCircuit(reading, w) {
    var toOhm = F.scale(C.unitAs(w.unit), "ohm"), readOhm = w.value * toOhm, path = reading.parallelOhm;
    if (path === null) {
      var atMost = null;
      if (readOhm < K.smallestAcrossOhm && w.qualifier !== ">") {
        atMost = F.takeOutParallelOhm(readOhm, K.smallestAcrossOhm) / toOhm;
      }
      bound(w, ">", "parallel_unknown");
      return atMost;
    }
    if (readOhm >= path) { bound(w, ">", "parallel_impossible"); return null; }
    var free = F.takeOutParallelOhm(readOhm, path), gap = path - readOhm;
    step(w, "parallel", free / toOhm, Math.pow(path / gap, 2),
      [line(B.parallel, path / 1000, path / 1000 * reading.parallelTolerance / 100,
        -Math.pow(readOhm / gap, 2) * 1000 / toOhm, "kΩ")],
      { parallel_kohm: path / 1000, tolerance_percent: reading.parallelTolerance });
    return null;
  }
  function to20c(reading, w, atMost) {
    var t = reading.temperatureC, half = reading.halfWidthK;
    if (t === null) {
      t = K.referenceTemperatureC;
      half = K.unstatedTemperatureHalfWidthK;
      w.flags.push("no_temperature");
    }
    var factor = F.temperatureFactor(t);
    if (atMost !== null) { atMost /= factor; }
    if (w.flags.indexOf("parallel_unknown") >= 0) {
      var data = { smallest_kohm: K.smallestAcrossOhm / 1000 };
      if (atMost !== null) { data.at_most = atMost; }
      step(w, "path_unknown", w.value, 1, [], data);
    }
    var after = F.to20c(w.value, t);
    step(w, "temperature", after, 1 / factor, [
      line(B.temperature, t, half, -after * K.alpha20PerK / factor, "°C"),
      line(B.coefficient, K.alpha20PerK, K.alpha20PerK * K.conductivityHalfWidth,
        -after * (t - K.referenceTemperatureC) / factor, "1/K")
    ], { temperature_c: t, half_width_k: half, coefficient_per_k: K.alpha20PerK });
    return atMost;
  }
  function withoutZero(reading, w) {
    var zero = reading.zero;
    if (zero === null) { return; }
    if (w.value <= zero) {
      step(w, "zero", zero, 1, [], { zero: zero });
      bound(w, "<", "above_reading");
      return;
    }
    step(w, "zero", w.value - zero, 1, [line(N.zero, zero, (reading.zeroStep || 0) / 2, -1, w.unit)], { zero: zero });
  }

  function trouble(reading, code, data) {
    data.written = reading.written;
    return { trouble: { code: code, component: reading.component, property_id: reading.id, line: reading.line, data: data } };
  }
  /** Return a reading reduced as it stands alone, or {trouble} where it cannot be. */
  function reduceReading(reading) {
    var value = reading.value, reduction = reading.prop.reduction, atMost = null;
    if (value === null) { return finish(reading, null); }
    var nothing = reduction === "flux" || reduction === "insulation" || reading.qualifier !== "";
    if (value < 0 || (value === 0 && !nothing)) { return trouble(reading, "not_above_zero", { value: value }); }
    var w = work(reading);
    if (reduction === "copper") {
      if (reading.circuit === "in_circuit") { atMost = outOfCircuit(reading, w); }
      atMost = to20c(reading, w, atMost);
    } else if (reduction === "inductance" && reading.equivalent === "parallel") {
      bound(w, "<", "parallel_equivalent");
    } else if (reduction === "flux") {
      withoutZero(reading, w);
      if (reading.standoffM > 0) { bound(w, ">", "standoff"); }
    } else if (reduction === "insulation") { w.flags.push("insulation"); }
    return finish(reading, w, w.flags.indexOf("parallel_unknown") >= 0 ? [w.value, atMost] : null);
  }

  /* The best of several. */
  function comparable(value) { return value.value !== null && value.qualifier === ""; }
  function key(component, id) { return component + "|" + id; }
  function rank(value) {
    var day = value.date ? Date.parse(value.date) / 864e5 + 719163 : 0, number = comparable(value);
    if (value.property_id === "pole-flux-density" && number) { return [0, day || Infinity, 0]; }
    return number ? [0, value.u, -day] : [1, 0, -day];
  }
  function before(one, other) {
    for (var i = 0; i < one.length; i++) { if (one[i] !== other[i]) { return one[i] < other[i]; } }
    return false;
  }
  /** Return, by "component|property", the value that stands for it. */
  function bestOf(values) {
    var best = new Map(), ranks = new Map();
    values.forEach(function (value) {
      var k = key(value.component, value.property_id), r = rank(value);
      if (!best.has(k) || before(r, ranks.get(k))) { best.set(k, value); ranks.set(k, r); }
    });
    return best;
  }
  function numberOf(best, component, id) {
    var found = best.get(key(component, id));
    return found && comparable(found) ? found : null;
  }
  function above0(best, component, id) {
    var found = numberOf(best, component, id);
    return found && found.value > 0 ? found : null;
  }

  /* What other values of the piece make of a reading. */
  function passingOn(value, used) {
    used.forEach(function (one) {
      one.flags.forEach(function (flag) {
        if (N.passedOnFlags.indexOf(flag) >= 0 && value.flags.indexOf(flag) < 0) { value.flags.push(flag); }
      });
    });
    return value;
  }
  function seriesInductance(value, reading, best) {
    var quality = value.flags.indexOf("parallel_equivalent") >= 0
      ? above0(best, value.component, QUALITY[value.property_id] || "") : null;
    if (quality === null || reading.value === null) { return value; }
    var one = value.hertz, other = quality.hertz;
    if (one !== null && other !== null && Math.abs(one - other) > L.sameFrequency * Math.max(one, other)) { return value; }
    var w = work(reading), q = quality.value, parallel = w.value;
    var lines = scaled(quality.budget, 2 * parallel * q / Math.pow(1 + q * q, 2));
    step(w, "series", F.seriesInductanceH(parallel, q), q * q / (1 + q * q),
      lines.map(function (l) { return moved(l, l.by, "quality factor: " + l.name); }), { quality: q });
    return passingOn(finish(reading, w), [quality]);
  }
  function atTheFace(value, reading, family, best) {
    var flags = value.flags;
    if (flags.indexOf("standoff") < 0 || flags.indexOf("above_reading") >= 0 || family.pole_kind !== "rods") { return value; }
    var diameter = above0(best, reading.component, "magnet-width") || above0(best, "pickup", "pole-diameter");
    var length = above0(best, reading.component, "magnet-length");
    if (!diameter || !length || reading.standoffM > L.farthestStandoffM) { return value; }
    var toM = [F.scale(C.unitAs(diameter.unit), "meter"), F.scale(C.unitAs(length.unit), "meter")];
    var rod = { diameter_m: diameter.value * toM[0], along_m: length.value * toM[1] };
    var gap = reading.standoffM, depth = L.sensorDepthM;
    var ratio = F.standoffRatio(rod, gap, depth), by = F.standoffSensitivities(rod, gap, depth), w = work(reading);
    withoutZero(reading, w);
    var after = w.value * ratio, count = reading.standoffStepM || 0.0254 / K.fractionDenominator;
    var lines = [
      line(N.standoff, gap * 1e3, Math.max(count / 2, L.standoffHalfWidthM) * 1e3, after * by.standoff_m / 1e3, "mm"),
      line(N.sensorDepth, depth * 1e3, depth * 1e3, after * by.sensor_depth_m / 1e3, "mm"),
      line(N.neighbours, 1, L.neighboursPerM2 * gap * gap, after, "1")
    ];
    [["diameter", diameter, toM[0], by.diameter_m], ["length", length, toM[1], by.along_m]].forEach(function (part) {
      scaled(part[1].budget, after * part[3] * part[2]).forEach(function (l) {
        lines.push(moved(l, l.by, part[0] + " of the rod: " + l.name));
      });
    });
    step(w, "standoff", after, ratio, lines, {
      standoff_mm: gap * 1e3, sensor_depth_mm: depth * 1e3, diameter_mm: rod.diameter_m * 1e3,
      length_mm: rod.along_m * 1e3, ratio: ratio });
    return passingOn(finish(reading, w), [diameter, length]);
  }

  /** Return every reading of a piece reduced, in order, and the troubles of those that cannot be. */
  function reduceReadings(readings, family) {
    var kept = [], values = [], troubles = [];
    readings.forEach(function (reading) {
      var found = reduceReading(reading);
      if (found.trouble) { troubles.push(found.trouble); } else { kept.push(reading); values.push(found); }
    });
    function settle(how) {
      var best = bestOf(values);
      values = values.map(function (value, at) { return how(value, kept[at], best); });
    }
    settle(seriesInductance);
    settle(function (value, reading, best) { return atTheFace(value, reading, family, best); });
    return { values: values, troubles: troubles };
  }

  Object.assign(C, {
    line: line, effect: effect, uncertainty: uncertainty, moved: moved, scaled: scaled, combinedBudget: combinedBudget,
    comparable: comparable, key: key, bestOf: bestOf, numberOf: numberOf, above0: above0, reduceReadings: reduceReadings
  });
})();
