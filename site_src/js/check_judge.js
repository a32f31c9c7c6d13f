/* Values against documented claims, and among the archive's pieces (assessment/claims.py, judge.py, assess.py;
   stats/standing.py). A reason is {code, …data}, as `coilbook compare --json` has it. */
(function () {
  "use strict";
  var C = window.coilbookCheck, F = window.coilbookFormulas;
  var D = window.coilbookCheckData, L = D.limits, N = D.names, T = D.thresholds;

  /* Which claims apply: by family, periods (null: every one) and position (null: every one). */
  var byFamily = {}, applicable = new Map(), same = new Map();
  D.claims.forEach(function (claim, at) {
    claim.at = at;
    claim.prop = D.properties[claim.property_id];
    (byFamily[claim.family_id] = byFamily[claim.family_id] || []).push(claim);
  });
  /** Return the claims by property; the same claims are always the same list. */
  function claimsOf(familyId, periods, position) {
    var k = [familyId, periods === null ? "*" : periods.slice().sort().join(" "), position].join("|");
    if (applicable.has(k)) { return applicable.get(k); }
    var found = new Map();
    (byFamily[familyId] || []).forEach(function (claim) {
      var inTime = claim.period_id === null || periods === null || periods.indexOf(claim.period_id) >= 0;
      if (inTime && (claim.position === null || position === null || claim.position === position)) {
        if (!found.has(claim.property_id)) { found.set(claim.property_id, []); }
        found.get(claim.property_id).push(claim);
      }
    });
    found.forEach(function (claims, id) {
      var which = claims.map(function (c) { return c.at; }).join(" ");
      if (!same.has(which)) { same.set(which, claims); }
      found.set(id, same.get(which));
    });
    applicable.set(k, found);
    return found;
  }

  function reason(code, data) { return Object.assign({ code: code }, data); }
  function limitsOf(claim) {
    var low = claim.low, high = claim.high, hardLow = claim.prop.hard_low, hardHigh = claim.prop.hard_high, stated = {};
    if (low !== null && hardLow !== null && low <= hardLow) { low = null; }
    if (high !== null && hardHigh !== null && high >= hardHigh) { high = null; }
    if (low !== null) { stated.low = low; }
    if (high !== null) { stated.high = high; }
    return { low: low, high: high, stated: stated };
  }
  function beyond(limits, chances) {
    var sure = 1 - T.outside;
    if (limits.low !== null && chances.below >= sure) { return [reason("below_low", { limit: limits.low })]; }
    if (limits.high !== null && chances.above >= sure) { return [reason("above_high", { limit: limits.high })]; }
    return [];
  }
  function boundVerdict(qualifier, limits, chances) {
    var over = qualifier === ">", ahead = over ? limits.high : limits.low, behind = over ? limits.low : limits.high;
    if (ahead === null && behind !== null && chances.within >= T.inside) {
      return ["inside", [reason("within", limits.stated)]];
    }
    var found = beyond(limits, chances);
    return found.length && found[0].code === (over ? "above_high" : "below_low") ? ["outside", found] : ["not_judged", []];
  }
  function decide(u, limits, chances) {
    if (chances.within >= T.inside) { return ["inside", [reason("within", limits.stated)]]; }
    var found = beyond(limits, chances);
    if (found.length) { return ["outside", found]; }
    var low = limits.low, high = limits.high, reasons = [], spare = 1 - T.inside;
    if (low !== null && high !== null && chances.within <= T.outside) {
      reasons.push(reason("too_uncertain", { width: high - low, standard_uncertainty: u }));
    }
    if (low !== null && (chances.below >= chances.above || chances.below > spare)) {
      reasons.push(reason("straddles_low", { limit: low }));
    }
    if (high !== null && (chances.above > chances.below || chances.above > spare)) {
      reasons.push(reason("straddles_high", { limit: high }));
    }
    return ["too_close_to_call", reasons];
  }
  function howFar(number, u, limits) {
    var side = null;
    ["low", "high"].forEach(function (name) {
      var here = limits[name];
      if (here !== null && (side === null || Math.abs(number - here) < Math.abs(number - limits[side]))) { side = name; }
    });
    var distance = Math.abs(number - limits[side]), data = { side: side, limit: limits[side], distance: distance };
    if (u > 0) { data.standard_uncertainties = distance / u; }
    return reason("how_far", data);
  }
  function ofQuantity(value, number, u, claim) {
    var limits = limitsOf(claim);
    if (limits.low === null && limits.high === null) {
      return ["not_judged", null, [reason("no_range",
        claim.typical === null ? {} : { typical: claim.typical, difference: number - claim.typical })]];
    }
    var chances = F.conformance(number, u, limits.low, limits.high), found;
    if (value.qualifier === "<" || value.qualifier === ">") {
      found = boundVerdict(value.qualifier, limits, chances);
      return [found[0], null, found[1].concat(reason("bound_only", { qualifier: value.qualifier, bound: number }))];
    }
    found = decide(u, limits, chances);
    return [found[0], chances.within, found[1].concat(howFar(number, u, limits))];
  }
  function ofCategory(value, claim, alternatives) {
    var found = value.category || "", stated = claim.category || "";
    if (found === stated) { return ["inside", null, [reason("category_same", { category: found })]]; }
    var other = alternatives.find(function (c) { return c.category === found; }), data = { stated: stated, found: found };
    if (other) {
      data.claim_id = other.claim_id;
      return ["not_judged", null, [reason("category_alternative", data)]];
    }
    return ["outside", null, [reason("category_differs", data)]];
  }
  /** Return the verdict {word, probability, reasons} on a value; number and u may be others than its own. */
  function judge(value, claim, alternatives, number, u) {
    var found;
    if (claim.prop.kind === "category") { found = ofCategory(value, claim, alternatives); }
    else if (value.value === null) { found = ["not_judged", null, [reason("open_circuit")]]; }
    else if (value.flags.indexOf("parallel_impossible") >= 0) {
      found = ["not_judged", null, [reason("parallel_impossible")]];
    } else { found = ofQuantity(value, number, u, claim); }
    var passedOn = Object.keys(N.passedOnReasons).filter(function (flag) { return value.flags.indexOf(flag) >= 0; })
      .map(function (flag) { return reason(N.passedOnReasons[flag]); });
    return { claim: claim, value: value, word: found[0], probability: found[1], reasons: found[2].concat(passedOn) };
  }
  /** Return a function that judges, and reaches each verdict on a quantity once. */
  function judging() {
    var reached = new Map();
    return function (value, claim, alternatives) {
      if (claim.prop.kind === "category") { return judge(value, claim, alternatives || []); }
      if (!reached.has(value)) { reached.set(value, new Map()); }
      var mine = reached.get(value);
      if (!mine.has(claim)) { mine.set(claim, judge(value, claim, [], value.value, value.u)); }
      return mine.get(claim);
    };
  }

  function touched(row) {
    if (row.year_first === null) { return []; }
    return D.families[row.family_id].periods.filter(function (id) {
      return D.periods[id].first_year <= row.year_last && row.year_first <= D.periods[id].last_year;
    });
  }
  function within(row) {
    return touched(row).filter(function (id) {
      return D.periods[id].first_year <= row.year_first && row.year_last <= D.periods[id].last_year;
    });
  }
  function alternative(verdict, claims, judged) {
    var mine = verdict.claim, other = claims.find(function (c) {
      return c.period_id === mine.period_id && c.position !== mine.position && judged(verdict.value, c).word === "inside";
    });
    if (!other) { return verdict; }
    return Object.assign({}, verdict, {
      word: "not_judged", reasons: [reason("range_alternative", { claim_id: other.claim_id })].concat(verdict.reasons) });
  }
  /** Return every verdict on a piece's values against the claims for its own years and position. */
  function verdictsOf(row, measured, judged) {
    var periods = row.year_first === null ? null : touched(row), all = [];
    var mine = claimsOf(row.family_id, periods, row.position);
    measured.best.forEach(function (value) {
      var claims = mine.get(value.property_id) || [];
      claims.forEach(function (claim) {
        var alike = claims.filter(function (c) { return c.period_id === claim.period_id && c.position === claim.position; });
        var verdict = judged(value, claim, alike), more = [];
        if (verdict.word === "outside" && claim.prop.kind === "quantity") { verdict = alternative(verdict, claims, judged); }
        if (row.state === "rewound") { more.push(reason("rewound")); }
        if (row.year_first === null && claim.period_id !== null) { more.push(reason("undated")); }
        if (row.position === null && claim.position !== null) { more.push(reason("position_unknown")); }
        all.push(more.length ? Object.assign({}, verdict, { reasons: verdict.reasons.concat(more) }) : verdict);
      });
    });
    return all;
  }

  /* Peers: numbers of a group in order of size, gathered once. */
  var gathered = new Map();
  function peersOf(familyId, id, component, periodId, position) {
    var of = window.coilbookPeersOf && window.coilbookPeersOf[familyId], k = [id, component, periodId, position].join("|");
    var all = of && of.values[C.key(id, component)];
    if (!all) { return []; }
    if (!gathered.has(of)) { gathered.set(of, new Map()); }
    var mine = gathered.get(of);
    if (!mine.has(k)) {
      var fits = of.groups.map(function (group) {
        return (periodId === null || group[0].indexOf(periodId) >= 0) && (position === null || group[1] === position);
      });
      mine.set(k, all.v.filter(function (_, at) { return fits[all.g[at]]; }));
    }
    return mine.get(k);
  }
  function standingOf(peers, value) {
    var n = peers.length;
    if (!n) { return null; }
    return {
      n: n, percentile: (100 * C.countBelow(peers, value, false) / n + 100 * C.countBelow(peers, value, true) / n) / 2,
      minimum: peers[0], lower: C.quantile(peers, 0.25), median: C.quantile(peers, 0.5), upper: C.quantile(peers, 0.75),
      maximum: peers[n - 1] };
  }
  /** Return the summary of peers, with what is said of so many. */
  function summaryOf(peers) {
    var n = peers.length, tails = n >= L.smallestForTails;
    if (!n) { return null; }
    return {
      n: n, drawable: n >= L.smallestDrawn, minimum: peers[0], low_5: tails ? C.quantile(peers, 0.05) : null,
      lower_quartile: C.quantile(peers, 0.25), median: C.quantile(peers, 0.5), upper_quartile: C.quantile(peers, 0.75),
      high_95: tails ? C.quantile(peers, 0.95) : null, maximum: peers[n - 1] };
  }
  /** Return where each number stands among its peers, {value, period_id, position, peers, standing}. */
  function placesOf(row, measured) {
    var whole = within(row), periodId = whole.length === 1 ? whole[0] : null, found = [];
    measured.best.forEach(function (value) {
      if (!C.comparable(value) || value.flags.indexOf("parallel_impossible") >= 0) { return; }
      var positions = row.position === null ? [null] : [row.position, null], placed = null;
      positions.forEach(function (position) {
        if (placed && placed.peers.length >= L.smallestDrawn) { return; }
        placed = {
          value: value, period_id: periodId, position: position,
          peers: peersOf(row.family_id, value.property_id, value.component, periodId, position) };
      });
      placed.standing = standingOf(placed.peers, value.value);
      placed.percentile = placed.peers.length >= L.smallestDrawn ? placed.standing.percentile : null;
      found.push(placed);
    });
    return found;
  }

  Object.assign(C, {
    claimsOf: claimsOf, judge: judge, judging: judging, within: within, verdictsOf: verdictsOf, peersOf: peersOf,
    standingOf: standingOf, summaryOf: summaryOf, placesOf: placesOf
  });
})();
