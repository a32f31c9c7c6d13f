/* A piece that was typed, told as `coilbook compare --json` tells it: the front of the check_*.js. Pure. */
(function () {
  "use strict";
  var C = window.coilbookCheck, F = window.coilbookFormulas, D = window.coilbookCheckData, L = D.limits, N = D.names;

  /* The word that leads a piece's page, and why (assessment/lead.py). */
  function leadOf(row, measured, verdicts, places, findings) {
    var rewound = row.state === "rewound", words = new Map(), reasons = [], count = { consistent: 0, not_consistent: 0, too_close_to_call: 0 };
    verdicts.forEach(function (v) {
      if ((rewound && C.winding.has(v.value.property_id)) || v.value.flags.indexOf("assumed_construction") >= 0) { return; }
      var k = C.key(v.value.component, v.value.property_id);
      if (!words.has(k)) { words.set(k, []); }
      words.get(k).push(v.word);
    });
    words.forEach(function (found, k) {
      var word = C.joined(found), of = k.split("|");
      if (word in count) { count[word] += 1; }
      if (word === "not_consistent") { reasons.push({ code: "outside", component: of[0], property_id: of[1] }); }
    });
    function ofFinding(code) {
      return function (f) { return { code: code, finding: f.code, component: f.component, property_id: f.property_id }; };
    }
    function aboutTheRecord(f) { return N.aboutTheRecord.indexOf(f.code) >= 0; }
    var decided = count.consistent + count.not_consistent;
    reasons = reasons.concat(findings.filter(function (f) { return !aboutTheRecord(f); }).map(ofFinding("finding")));
    var beside = decided ? [{ code: "decided", inside: count.consistent, decided: decided }] : [];
    var placed = places.filter(function (p) { return p.percentile !== null; });
    if (placed.length) {
      var usual = placed.filter(function (p) { return L.middle[0] <= p.percentile && p.percentile <= L.middle[1]; });
      beside.push({ code: "placed", usual: usual.length, placed: placed.length });
    }
    if (rewound) { beside.push({ code: "winding_left_out" }); }
    beside = beside.concat(findings.filter(aboutTheRecord).map(ofFinding("record")));
    if (reasons.length) { return { word: "unusual", reasons: reasons.concat(beside) }; }
    if (decided >= L.smallestDecided) { return { word: "typical", reasons: beside }; }
    var why = { code: "too_few_decided", decided: decided, needs: L.smallestDecided };
    if (!measured.best.size) { why = { code: "nothing_read" }; }
    else if (!decided && count.too_close_to_call) { why = { code: "all_too_close", close: count.too_close_to_call }; }
    else if (!decided) { why = { code: "nothing_documented" }; }
    return { word: "cannot_tell", reasons: [why].concat(beside) };
  }

  /* What is handed out. */
  function expanded(u) { return L.coverageFactor * u; }
  function budgetOut(budget) {
    return budget.map(function (l) {
      return { name: l.name, estimate: l.estimate, unit: l.unit, standard_uncertainty: l.u, effect: C.effect(l) };
    });
  }
  function finite(db) { return isFinite(db) ? db : null; }
  function verdictOut(v) {
    var c = v.claim;
    return {
      verdict: v.word, probability: v.probability, inside_at: D.thresholds.inside, outside_at: D.thresholds.outside,
      claim_id: c.claim_id, period_id: c.period_id, position: c.position, evidence: c.evidence, low: c.low,
      typical: c.typical, high: c.high, category: c.category, reasons: v.reasons };
  }
  function placeOut(p) {
    return {
      period_id: p.period_id, position: p.position, peers: p.peers.length, percentile: p.percentile,
      peer_median: p.standing ? p.standing.median : null, peers_sorted: p.peers, summary: C.summaryOf(p.peers) };
  }
  function valueOut(value, best, verdicts, places) {
    function mine(list) { return list.filter(function (one) { return one.value === value; }); }
    return {
      component: value.component, property_id: value.property_id, line: value.line || null,
      reading: value.line ? value.line - 1 : null, written: value.written, value: value.value, unit: value.unit,
      U: value.u === null ? null : expanded(value.u), standard_uncertainty: value.u, qualifier: value.qualifier,
      interval: value.interval, category: value.category, flags: value.flags, steps: value.steps,
      budget: budgetOut(value.budget), stands: best.get(C.key(value.component, value.property_id)) === value,
      verdicts: mine(verdicts).map(verdictOut), places: mine(places).map(placeOut) };
  }
  function closureOut(c) {
    return c && {
      sum_kohm: c.sum, pair_kohm: c.pair, difference_kohm: c.difference, U_kohm: expanded(c.u), normalised_error: c.error,
      closes: c.closes };
  }
  function humOut(best) {
    var imbalance = C.numberOf(best, "pair", "coil-imbalance");
    if (!imbalance) { return null; }
    var left = F.humLeftInterval(imbalance.value, imbalance.u, L.coverageFactor);
    return { level_db: finite(left.level_db), low_db: finite(left.low_db), high_db: finite(left.high_db) };
  }
  function turnsOut(t) {
    var own = t.estimates.resistance, estimates = {};
    function estimateOut(e) { return { turns: e.value, U: expanded(C.uncertainty(e.budget)) }; }
    Object.keys(t.estimates).forEach(function (name) { estimates[name] = estimateOut(t.estimates[name]); });
    return {
      component: t.component, turns: own.value, U: expanded(C.uncertainty(own.budget)), wire_id: t.wire_id,
      bobbin_id: t.bobbin_id, budget: budgetOut(own.budget), fits: t.fit.fits,
      dominant: own.budget.reduce(function (a, b) { return C.effect(b) > C.effect(a) ? b : a; }).name,
      fill_percent: 100 * t.fit.ratio, fill_nested_percent: 100 * t.fit.nested, estimates: estimates,
      combined: t.combined && Object.assign(estimateOut(t.combined), {
        weights: t.combined.weights, probability: t.combined.probability, agrees: t.combined.agrees }) };
  }
  function findingOut(f) {
    var certain = !isFinite(f.strength);
    return {
      code: f.code, component: f.component, property_id: f.property_id || null,
      standard_deviations: certain ? null : f.strength, certain: certain, fault: f.fault, explanations: f.explanations,
      next_step: f.next_step, data: f.data };
  }

  /** Return all that can be said of a piece from what was typed of it, and every slip in that.

      The input has the piece's cells as in pieces.csv and `readings` with the cells of readings.csv; an
      `accuracy` beside them is the meter's, {percent, digits}. A reading with an error is left out. */
  function assess(input) {
    var piece = C.readPiece(input), problems = piece.problems.slice(), readings = [];
    (input.readings || []).forEach(function (cells, index) {
      var read = C.readReading(cells, index, piece);
      problems = problems.concat(read.problems);
      if (read.reading) { readings.push(read.reading); }
    });
    var row = piece.row, out = Object.assign({}, row, { features: row.features.join(";") });
    var empty = {
      piece: out, kind: D.kind, values: [], closure: null, hum: null, turns: [], troubles: [],
      lead: { word: "cannot_tell", reasons: [{ code: "nothing_read" }] }, findings: [], consistency: null, next_readings: [],
      problems: problems, peers_loaded: Boolean(window.coilbookPeersOf && window.coilbookPeersOf[row.family_id]) };
    if (!piece.family) { return empty; }
    var measured = C.measurePiece(readings, piece.family), judged = C.judging();
    var verdicts = C.verdictsOf(row, measured, judged), places = C.placesOf(row, measured);
    var consistent = C.consistencyOf(piece, measured, judged);
    var findings = C.findingsOf(piece, readings, measured, verdicts, consistent);
    return Object.assign(empty, {
      values: measured.values.map(function (v) { return valueOut(v, measured.best, verdicts, places); }),
      closure: closureOut(measured.closure), hum: humOut(measured.best), turns: measured.turns.map(turnsOut),
      troubles: measured.troubles.map(function (t) {
        return {
          code: t.code, component: t.component, property_id: t.property_id, line: t.line || null,
          reading: t.line ? t.line - 1 : null, data: t.data };
      }),
      lead: leadOf(row, measured, verdicts, places, findings), findings: findings.map(findingOut),
      consistency: consistent, next_readings: C.nextReadings(piece, consistent) });
  }

  C.assess = assess;
})();
