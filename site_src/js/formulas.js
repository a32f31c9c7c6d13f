/* The formulas of measures/ that the tool pages need, each under the name it has there. Constants
   come from Python by the data script bench.js. Pure functions; what cannot be is refused with a
   RangeError. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var K = coilbook.bench.constants;
  var LINES = coilbook.bench.lines;
  var ROOT_3 = Math.sqrt(3);

  function refuse(text) { throw new RangeError(text); }
  function positive(values) {
    Object.keys(values).forEach(function (name) {
      if (!(values[name] > 0 && values[name] < Infinity)) { refuse(name + " must be above 0."); }
    });
  }
  function notNegative(values) {
    Object.keys(values).forEach(function (name) {
      if (!(values[name] >= 0 && values[name] < Infinity)) { refuse(name + " must be 0 or more."); }
    });
  }

  /* Units. */
  function convert(value, source, target) {
    if (source === target) { return value; }
    var line = LINES[source + "|" + target];
    if (!line) { refuse("One cannot be turned into the other."); }
    return value * line[0] + line[1];
  }
  function scale(source, target) { return source === target ? 1 : LINES[source + "|" + target][0]; }

  /* Copper and temperature. */
  function temperatureFactor(temperatureC) {
    var low = K.temperatureRangeC[0], high = K.temperatureRangeC[1];
    if (!(temperatureC >= low && temperatureC <= high)) {
      refuse("The temperature is outside " + low + " to " + high + " °C.");
    }
    return 1 + K.alpha20PerK * (temperatureC - K.referenceTemperatureC);
  }
  function to20c(resistanceOhm, temperatureC) {
    notNegative({ "The resistance": resistanceOhm });
    return resistanceOhm / temperatureFactor(temperatureC);
  }
  function atTemperature(resistance20Ohm, temperatureC) {
    notNegative({ "The resistance": resistance20Ohm });
    return resistance20Ohm * temperatureFactor(temperatureC);
  }

  /* A path in parallel. */
  function parallelOhm(resistanceOhm, parallelResistanceOhm) {
    positive(
      { "The resistance": resistanceOhm, "The resistance in parallel": parallelResistanceOhm });
    return resistanceOhm * parallelResistanceOhm / (resistanceOhm + parallelResistanceOhm);
  }
  function takeOutParallelOhm(readingOhm, parallelResistanceOhm) {
    notNegative({ "The reading": readingOhm });
    positive({ "The resistance in parallel": parallelResistanceOhm });
    if (readingOhm >= parallelResistanceOhm) {
      refuse("A reading cannot reach the resistance that lies in parallel. "
        + "Check what is connected, or unsolder one lead.");
    }
    return readingOhm * parallelResistanceOhm / (parallelResistanceOhm - readingOhm);
  }

  /* Wire. */
  function awgDiameterM(awg) {
    if (!(awg >= K.gauges[0] && awg <= K.gauges[1])) { refuse("No such gauge."); }
    return K.awg36DiameterM * Math.pow(K.awgRatio, (36 - awg) / 39);
  }
  function wireResistanceOhmPerM(bareDiameterM) {
    positive({ "The diameter": bareDiameterM });
    return 4 * K.rho20OhmM / (Math.PI * bareDiameterM * bareDiameterM);
  }

  /* A coil on a racetrack core. A winding is {bare_diameter_m, overall_diameter_m, core_length_m,
     core_width_m, winding_height_m, packing, stretch}. */
  function winding(w) {
    positive({
      "The bare diameter": w.bare_diameter_m, "The overall diameter": w.overall_diameter_m,
      "The core's length": w.core_length_m, "The core's width": w.core_width_m,
      "The winding height": w.winding_height_m, "The packing": w.packing });
    if (w.core_width_m > w.core_length_m) { refuse("The core's width is above its length."); }
    if (!(w.stretch >= 0 && w.stretch < 1)) { refuse("The stretch is not a share from 0 to 1."); }
    return w;
  }
  function windingOf(wire, bobbin) {
    return {
      bare_diameter_m: wire.bare_diameter_m, overall_diameter_m: wire.overall_diameter_m,
      core_length_m: bobbin.core_length_m, core_width_m: bobbin.core_width_m,
      winding_height_m: bobbin.winding_height_m,
      packing: (K.packingRange[0] + K.packingRange[1]) / 2,
        stretch: (K.stretchRange[0] + K.stretchRange[1]) / 2 };
  }
  function perimeterM(w) {
    return 2 * (w.core_length_m - w.core_width_m) + Math.PI * w.core_width_m;
  }
  function growthM(w) {
    return w.overall_diameter_m * w.overall_diameter_m * w.packing / w.winding_height_m;
  }
  function ohmPerM(w) {
    return K.rho20OhmM * (1 + w.stretch) / (Math.PI * w.bare_diameter_m * w.bare_diameter_m / 4);
  }
  function meanTurnM(turns, w) {
    positive({ "The number of turns": turns });
    winding(w);
    return perimeterM(w) + Math.PI * growthM(w) * turns;
  }
  function wireLengthM(turns, w) { return turns * meanTurnM(turns, w); }
  function coilResistanceOhm(turns, w) { return ohmPerM(w) * wireLengthM(turns, w); }
  function turnsOfLength(lengthM, w) {
    positive({ "The length": lengthM });
    winding(w);
    var p = perimeterM(w);
    return 2 * lengthM / (p + Math.sqrt(p * p + 4 * Math.PI * growthM(w) * lengthM));
  }
  function coilTurns(resistanceOhm, w) {
    positive({ "The resistance": resistanceOhm });
    return turnsOfLength(resistanceOhm / ohmPerM(w), w);
  }
  function resistanceSensitivities(turns, w) {
    var mean = meanTurnM(turns, w), grown = Math.PI * growthM(w) * turns / mean;
    return {
      turns: (1 + grown) / turns, bare_diameter_m: -2 / w.bare_diameter_m,
      overall_diameter_m: 2 * grown / w.overall_diameter_m, core_length_m: 2 / mean,
      core_width_m: (Math.PI - 2) / mean, winding_height_m: -grown / w.winding_height_m,
      packing: grown / w.packing, stretch: 1 / (1 + w.stretch),
        resistivity_ohm_m: 1 / K.rho20OhmM };
  }
  /** Return a coil's resistance at 20 °C from its turns, {value, u, lines}; the turns are exact. */
  function resistanceEstimate(turns, w, halfWidths) {
    var value = coilResistanceOhm(turns, w), by = resistanceSensitivities(turns, w);
    return estimate(value, Object.keys(halfWidths).map(function (field) {
      return { name: field, effect: Math.abs(value * by[field]) * rectangular(halfWidths[field]) };
    }));
  }
  /** Return a coil's turns from its resistance at 20 °C with standard uncertainty, {value, u,
   * lines}. */
  function turnsEstimate(resistanceOhm, uOhm, w, halfWidths) {
    var turns = coilTurns(resistanceOhm, w), by = resistanceSensitivities(turns, w);
    var lines = [{ name: "resistance", effect: uOhm / (by.turns * resistanceOhm) }];
    return estimate(turns, lines.concat(Object.keys(halfWidths).map(function (field) {
      return { name: field,
        effect: Math.abs(by[field] / by.turns) * rectangular(halfWidths[field]) };
    })));
  }
  function layeredTurns(heightM, depthM, overallDiameterM, packing) {
    positive({ "The height": heightM, "The depth": depthM, "The diameter": overallDiameterM,
      "The packing": packing });
    return heightM * depthM / (packing * overallDiameterM * overallDiameterM);
  }
  function scatterTurns(heightM, depthM, overallDiameterM, fillFactor) {
    positive({ "The height": heightM, "The depth": depthM, "The diameter": overallDiameterM,
      "The fill": fillFactor });
    if (fillFactor > Math.PI / (2 * ROOT_3)) { refuse("Round wire cannot fill a window so far."); }
    return fillFactor * heightM * depthM / (Math.PI * overallDiameterM * overallDiameterM / 4);
  }
  function fillRatio(turns, heightM, depthM, overallDiameterM, packing) {
    positive({ "The number of turns": turns });
    return turns / layeredTurns(heightM, depthM, overallDiameterM, packing);
  }

  /* Two coils. */
  function imbalancePercent(aOhm, bOhm) {
    positive({ "Coil A": aOhm, "Coil B": bOhm });
    return 200 * Math.abs(aOhm - bOhm) / (aOhm + bOhm);
  }
  function humLeftDb(aOhm, bOhm) {
    positive({ "Coil A": aOhm, "Coil B": bOhm });
    return aOhm === bOhm ? -Infinity : 20 * Math.log10(Math.abs(aOhm - bOhm) / (aOhm + bOhm));
  }
  function humLeftOfImbalanceDb(percent) {
    notNegative({ "The imbalance": percent });
    return percent === 0 ? -Infinity : 20 * (Math.log10(Math.min(percent, 200)) - Math.log10(200));
  }
  function humLeftInterval(percent, uPercent, coverageFactor) {
    notNegative({ "The imbalance": percent, "Its uncertainty": uPercent });
    positive({ "The coverage factor": coverageFactor });
    var extent = coverageFactor * uPercent;
    return {
      level_db: humLeftOfImbalanceDb(percent),
      low_db: humLeftOfImbalanceDb(Math.max(percent - extent, 0)),
      high_db: humLeftOfImbalanceDb(percent + extent) };
  }

  /* Response. A circuit is {inductance_h, resistance_ohm, capacitance_f}; a load is {volume_ohm,
     input_ohm, cable_f, tone_ohm, tone_f}, where an infinite resistance is nothing connected. */
  function circuit(c) {
    positive({ "The inductance": c.inductance_h, "The resistance": c.resistance_ohm,
      "The capacitance": c.capacitance_f });
    return c;
  }
  function gainSquared(c, load, hertz) {
    var omega = 2 * Math.PI * hertz;
    var conductance = 1 / load.volume_ohm + 1 / load.input_ohm;
    var susceptance = omega * (c.capacitance_f + load.cable_f);
    if (load.tone_f > 0 && isFinite(load.tone_ohm)) {
      var turn = omega * load.tone_ohm * load.tone_f,
        share = turn / (1 + turn * turn) / load.tone_ohm;
      conductance += turn * share;
      susceptance += share;
    }
    var reactance = omega * c.inductance_h;
    var real = 1 + c.resistance_ohm * conductance - reactance * susceptance;
    var imaginary = c.resistance_ohm * susceptance + reactance * conductance;
    return real * real + imaginary * imaginary;
  }
  function levelDb(c, load, hertz) {
    return -10 * Math.log10(gainSquared(circuit(c), load, hertz));
  }

  function clip(value, most) { return Math.max(-most, Math.min(most, value)); }
  function closerPeak(c, load, peak) {
    var step = K.look;
    for (var round = 0; round < K.rounds; round++) {
      var seen = [-step, 0, step].map(function (d) {
        return Math.log(gainSquared(c, load, peak * (1 + d)));
      });
      var bend = seen[0] - 2 * seen[1] + seen[2];
      var move = bend > 0 ? 0.5 * (seen[0] - seen[2]) / bend : NaN;
      peak *= 1 + step * clip(move, 10);
      step /= 8;
    }
    return peak;
  }
  function closerEdge(c, load, edge) {
    for (var round = 0; round < K.rounds; round++) {
      var here = -10 * Math.log10(gainSquared(c, load, edge));
      var above = -10 * Math.log10(gainSquared(c, load, edge * (1 + 1e-4)));
      edge *= 1 + 1e-4 * clip((K.bandEdgeDb - here) / (above - here), 1e3);
    }
    return edge;
  }
  /** Return peak, its height and the band's edge; NaN where there is none. */
  function marks(c, load) {
    circuit(c);
    var toneOhm = load.tone_f > 0 ? load.tone_ohm : Infinity;
    var conductance = 1 / load.volume_ohm + 1 / load.input_ohm + 1 / toneOhm;
    var capacitance = c.capacitance_f + load.cable_f;
    var a = 1 + c.resistance_ohm * conductance, b = c.inductance_h * capacitance;
    var d = c.resistance_ohm * capacitance + c.inductance_h * conductance;
    var half = (2 * a * b - d * d) / (2 * b * b);
    var rest = (a * a - Math.pow(10, -K.bandEdgeDb / 10)) / (b * b);
    var peak = half > 0 ? Math.sqrt(half) / (2 * Math.PI) : NaN;
    var edge = Math.sqrt(half + Math.sqrt(half * half - rest)) / (2 * Math.PI);
    if (isFinite(toneOhm)) {
      peak = closerPeak(c, load, peak);
      edge = closerEdge(c, load, edge);
    }
    return { peak_hz: peak, height_db: -10 * Math.log10(gainSquared(c, load, peak)),
      edge_hz: edge };
  }

  /* Uncertainty. */
  function rectangular(halfWidth) { return halfWidth / ROOT_3; }
  function accuracyHalfWidth(reading, percent, digits, step) {
    return percent / 100 * Math.abs(reading) + digits * step;
  }
  function estimate(value, lines) {
    return { value: value, u: Math.hypot.apply(null, lines.map(function (l) { return l.effect; })),
      lines: lines };
  }

  /** Return a resistance as it would be read at 20 °C, out of circuit, by a perfect meter.

      A reading is {ohm, step_ohm, qualifier, accuracy (null or {percent, digits}), meter_ohm,
      leads_ohm, in_circuit, parallel_ohm, parallel_tolerance, temperature_c, half_width_k}; what is
      not known is null. The result is {value, u, lines, qualifier, flags, at_most}: as
      reduce_reading of measures/reduce.py. */
  function reduceResistance(reading) {
    var value = reading.ohm, qualifier = reading.qualifier || "", flags = [], lines, atMost = null;
    if (reading.accuracy) {
      var share = rectangular(reading.accuracy.percent);
      var digits = Math.max(reading.accuracy.digits, 0.5);
      var whole = rectangular(
        accuracyHalfWidth(value, reading.accuracy.percent, digits, reading.step_ohm));
      var rest = Math.sqrt(Math.max(0, whole * whole - Math.pow(share * value / 100, 2)));
      lines = [{ name: "percent", effect: share * Math.abs(value) / 100 },
        { name: "digits", effect: rest }];
    } else {
      lines = [{ name: "resolution", effect: rectangular(reading.step_ohm / 2) }];
      flags.push("no_instrument");
    }
    function chain(derivative, more) {
      lines = lines.map(
        function (l) { return { name: l.name, effect: l.effect * Math.abs(derivative) }; }).concat(
        more);
    }
    function bound(which, flag) {
      flags.push(flag);
      if (qualifier !== "" && qualifier !== which) { value = 0; lines = []; which = ">"; }
      qualifier = which;
    }
    function takeOut(name, pathOhm, tolerancePercent) {
      if (value >= pathOhm) { bound(">", "parallel_impossible"); return; }
      var free = takeOutParallelOhm(value, pathOhm), gap = pathOhm - value;
      chain(Math.pow(pathOhm / gap, 2),
        [{ name: name, effect: Math.pow(value / gap, 2) * rectangular(
          pathOhm * tolerancePercent / 100) }]);
      value = free;
    }
    if (reading.meter_ohm !== null) {
      takeOut("meter", reading.meter_ohm, 100 * K.inputResistanceHalfWidth);
    }
    if (reading.leads_ohm > 0) {
      if (value <= reading.leads_ohm) { bound("<", "above_reading"); } else {
        value -= reading.leads_ohm;
        chain(1, [{ name: "leads", effect: rectangular(K.leadsHalfWidth * reading.leads_ohm) }]);
      }
    }
    if (reading.in_circuit) {
      if (reading.parallel_ohm !== null) {
        takeOut("parallel", reading.parallel_ohm, reading.parallel_tolerance);
      } else {
        if (value < K.smallestAcrossOhm && qualifier !== ">") {
          atMost = takeOutParallelOhm(value, K.smallestAcrossOhm);
        }
        bound(">", "parallel_unknown");
      }
    }
    var temperatureC = reading.temperature_c, halfWidthK = reading.half_width_k;
    if (temperatureC === null) {
      temperatureC = K.referenceTemperatureC;
      halfWidthK = K.unstatedTemperatureHalfWidthK;
      flags.push("no_temperature");
    }
    var factor = temperatureFactor(temperatureC), after = to20c(value, temperatureC);
    if (atMost !== null) { atMost /= factor; }
    chain(1 / factor, [
      { name: "temperature", effect: after * K.alpha20PerK / factor * rectangular(halfWidthK) },
      { name: "coefficient",
        effect: Math.abs(after * (temperatureC - K.referenceTemperatureC) / factor)
        * rectangular(K.alpha20PerK * K.conductivityHalfWidth) }]);
    var result = estimate(after, lines);
    result.qualifier = qualifier;
    result.flags = flags;
    result.at_most = atMost;
    return result;
  }

  /** Return the nearest whole number of parts of an inch: {whole, top, bottom, rest} (rest in
   * inches). */
  function nearestFraction(inches, bottom) {
    notNegative({ "The length": inches });
    var parts = Math.round(inches * bottom), rest = inches - parts / bottom;
    var whole = Math.floor(parts / bottom), top = parts - whole * bottom;
    while (top > 0 && top % 2 === 0 && bottom % 2 === 0) { top /= 2; bottom /= 2; }
    return { whole: whole, top: top, bottom: top ? bottom : 1, rest: rest };
  }

  coilbook.formulas = {
    convert: convert, scale: scale, temperatureFactor: temperatureFactor, to20c: to20c,
    atTemperature: atTemperature,
    parallelOhm: parallelOhm, takeOutParallelOhm: takeOutParallelOhm, awgDiameterM: awgDiameterM,
    wireResistanceOhmPerM: wireResistanceOhmPerM, windingOf: windingOf, meanTurnM: meanTurnM,
    wireLengthM: wireLengthM,
    coilResistanceOhm: coilResistanceOhm, coilTurns: coilTurns, turnsOfLength: turnsOfLength,
    resistanceSensitivities: resistanceSensitivities,
    resistanceEstimate: resistanceEstimate, turnsEstimate: turnsEstimate,
    layeredTurns: layeredTurns,
    scatterTurns: scatterTurns, fillRatio: fillRatio, imbalancePercent: imbalancePercent,
    humLeftDb: humLeftDb,
    humLeftOfImbalanceDb: humLeftOfImbalanceDb, humLeftInterval: humLeftInterval, levelDb: levelDb,
    marks: marks,
    rectangular: rectangular, accuracyHalfWidth: accuracyHalfWidth,
    reduceResistance: reduceResistance,
    nearestFraction: nearestFraction
  };
})();
