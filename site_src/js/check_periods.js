/* A piece against every period of its family and its near ones, and what to read next
   (assessment/consistency.py, next_reading.py). */
(function () {
  "use strict";
  var C = window.coilbookCheck, D = window.coilbookCheckData, L = D.limits;
  var WINDING = new Set(D.names.winding), UNWINDING = new Set(D.names.needsUnwinding);

  /** Return what several verdicts on one value come to: one that agrees is enough. */
  function joined(words) {
    if (words.indexOf("inside") >= 0) { return "consistent"; }
    if (words.indexOf("too_close_to_call") >= 0) { return "too_close_to_call"; }
    return words.indexOf("outside") >= 0 ? "not_consistent" : "no_claim";
  }
  function featureCell(id, familyId, period) {
    var f = D.features[id], strange = f.families.length && f.families.indexOf(familyId) < 0;
    if (strange || (f.first_year === null && f.last_year === null)) { return { feature_id: id, word: "no_claim" }; }
    var early = f.last_year !== null && f.last_year < period.first_year;
    var late = f.first_year !== null && f.first_year > period.last_year;
    return { feature_id: id, word: early || late ? "not_consistent" : "consistent" };
  }
  function featureSpan(features, family) {
    var dated = features.filter(function (id) { return D.features[id].first_year !== null || D.features[id].last_year !== null; });
    var conflicts = [];
    dated.forEach(function (one, i) {
      dated.slice(i + 1).forEach(function (other) {
        [[one, other], [other, one]].forEach(function (pair) {
          var last = D.features[pair[0]].last_year, first = D.features[pair[1]].first_year;
          if (last !== null && first !== null && last < first) { conflicts.push(pair); }
        });
      });
    });
    var span = { first_year: null, last_year: null, rests_on: dated, conflicts: conflicts };
    if (conflicts.length || !dated.length) { return span; }
    span.first_year = family.first_year;
    span.last_year = family.last_year;
    dated.forEach(function (id) {
      var f = D.features[id];
      if (f.first_year !== null) { span.first_year = Math.max(span.first_year, f.first_year); }
      if (f.last_year !== null) { span.last_year = Math.min(span.last_year, f.last_year); }
    });
    return span;
  }

  /** Hold a piece against each period: {periods, span, left_out}, those with the least against them first. */
  function consistencyOf(piece, measured, judged) {
    var row = piece.row, rewound = row.state === "rewound", best = [], leftOut = [], made = new Map(), ordered = [];
    measured.best.forEach(function (value) {
      if (rewound && WINDING.has(value.property_id)) { leftOut.push(value.property_id); }
      else if (value.flags.indexOf("assumed_construction") < 0) { best.push(value); }
    });
    var read = new Set(best.map(function (value) { return value.property_id; }));
    function cellOf(value, claims) {
      if (!made.has(value)) { made.set(value, new Map()); }
      var mine = made.get(value);
      if (!mine.has(claims)) {
        var words = claims.map(function (claim) { return judged(value, claim, claims).word; });
        mine.set(claims, {
          component: value.component, property_id: value.property_id, word: joined(words),
          claims: claims.map(function (claim) { return claim.claim_id; }) });
      }
      return mine.get(claims);
    }
    [row.family_id].concat(piece.family.near).forEach(function (familyId, order) {
      D.families[familyId].periods.forEach(function (periodId) {
        var claims = C.claimsOf(familyId, [periodId], row.position), period = D.periods[periodId];
        var cells = best.map(function (value) { return cellOf(value, claims.get(value.property_id) || NONE); });
        claims.forEach(function (_, id) {
          if (!read.has(id) && !(rewound && WINDING.has(id))) {
            cells.push({ component: null, property_id: id, word: "not_measured", claims: [] });
          }
        });
        var seen = row.features.map(function (id) { return featureCell(id, familyId, period); });
        function count(word) { return cells.concat(seen).filter(function (one) { return one.word === word; }).length; }
        var found = {
          family_id: familyId, period_id: periodId, contradictions: count("not_consistent"), agreements: count("consistent"),
          cells: cells, features: seen };
        ordered.push({ rank: [found.contradictions, -found.agreements, order, period.first_year], row: found });
      });
    });
    ordered.sort(function (x, y) {
      for (var i = 0; i < 4; i++) { if (x.rank[i] !== y.rank[i]) { return x.rank[i] - y.rank[i]; } }
      return 0;
    });
    return {
      periods: ordered.map(function (o) { return o.row; }), span: featureSpan(row.features, piece.family),
      left_out: C.unique(leftOut) };
  }
  var NONE = [];

  /* What to read next. */
  function reach(claims) {
    var lows = [], highs = [];
    claims.forEach(function (claim) {
      var low = claim.low, high = claim.high;
      if (low === null && high === null && claim.typical !== null) {
        low = claim.typical * (1 - L.aroundTypical);
        high = claim.typical * (1 + L.aroundTypical);
      }
      lows.push(low === null ? -Infinity : low);
      highs.push(high === null ? Infinity : high);
    });
    return [Math.min.apply(null, lows), Math.max.apply(null, highs)];
  }
  function apart(first, second) {
    if (!first || !second) { return 0; }
    if (first[0].prop.kind === "category") {
      var words = first.map(function (c) { return c.category; });
      return second.some(function (c) { return words.indexOf(c.category) >= 0; }) ? 0 : 1;
    }
    var one = reach(first), other = reach(second), shorter = Math.min(one[1] - one[0], other[1] - other[0]);
    var shared = Math.min(one[1], other[1]) - Math.max(one[0], other[0]);
    if (shared < 0) { return 1; }
    return shorter > 0 && shorter < Infinity ? 1 - Math.min(1, shared / shorter) : 0;
  }
  var ranked = new Map();
  /* Every property that can be read, by how well it tells these periods apart. */
  function rank(periods, position) {
    var k = periods.map(function (p) { return p.join(" "); }).join("|") + "@" + position;
    if (ranked.has(k)) { return ranked.get(k); }
    var claims = periods.map(function (p) { return C.claimsOf(p[0], [p[1]], position); }), ids = [], told = [];
    claims.forEach(function (of) { of.forEach(function (_, id) { if (ids.indexOf(id) < 0) { ids.push(id); } }); });
    var pairs = periods.length * (periods.length - 1) / 2;
    ids.forEach(function (id) {
      if (D.properties[id].origin === "derived" || UNWINDING.has(id) || !pairs) { return; }
      var total = 0, best = -1, pair = null;
      for (var i = 0; i < periods.length; i++) {
        for (var j = i + 1; j < periods.length; j++) {
          var far = apart(claims[i].get(id), claims[j].get(id));
          total += far;
          if (far > best) { best = far; pair = [periods[i][1], periods[j][1]]; }
        }
      }
      if (total / pairs > 0) { told.push({ property_id: id, separates: total / pairs, periods: pair }); }
    });
    told.sort(function (x, y) { return y.separates - x.separates; });
    ranked.set(k, told);
    return told;
  }
  /** Return the readings that would narrow the open periods most, the best first. */
  function nextReadings(piece, consistent) {
    var rows = consistent.periods;
    if (!rows.length) { return []; }
    var open = rows.filter(function (r) { return r.contradictions === rows[0].contradictions; })
      .map(function (r) { return [r.family_id, r.period_id]; });
    open.sort(function (x, y) { return x.join("\n") < y.join("\n") ? -1 : 1; });
    var read = new Set(), rewound = piece.row.state === "rewound";
    rows.forEach(function (r) { r.cells.forEach(function (c) { if (c.component) { read.add(c.property_id); } }); });
    return rank(open, piece.row.position).filter(function (one) {
      return !read.has(one.property_id) && !(rewound && WINDING.has(one.property_id));
    }).slice(0, L.nextReadings);
  }

  Object.assign(C, { joined: joined, winding: WINDING, consistencyOf: consistencyOf, nextReadings: nextReadings });
})();
