/* What a piece's figures point to, and the word that leads its page (assessment/look.py, about_paths.py,
   about_windings.py, about_the_rest.py, lead.py; measures/magnet_of_piece.py). A finding is {code, component,
   property_id, strength, fault, explanations, next_step, data}. */
(function () {
  "use strict";
  var C = window.coilbookCheck, F = window.coilbookFormulas, K = window.coilbookBench.constants;
  var D = window.coilbookCheckData, L = D.limits, N = D.names;

  /* One piece beside its peers: what every finding is made from. */
  function lookAt(piece, readings, measured, verdicts, consistent) {
    var whole = C.within(piece.row), stood = new Map();
    function number(component, id) {
      var value = C.numberOf(measured.best, component, id);
      return value && value.flags.indexOf("parallel_impossible") < 0 ? value : null;
    }
    function peers(component, id, value) {
      var periods = whole.length === 1 ? [whole[0], null] : [null], found = null;
      periods.forEach(function (periodId) {
        if (found) { return; }
        var group = C.peersOf(piece.row.family_id, id, component, periodId, null);
        if (group.length >= L.smallestPeers) { found = C.standingOf(group, value.value); }
      });
      return found;
    }
    /* How many robust standard deviations a value lies from its peers' middle: {z, peers}. */
    function reckoned(component, id) {
      var value = number(component, id), among = value && peers(component, id, value);
      if (!among) { return null; }
      var spread = (among.upper - among.lower) / L.quartilesToSigma;
      var all = Math.hypot(spread * Math.sqrt(1 + 1.57 / among.n), value.u);
      return all > 0 ? { z: (value.value - among.median) / all, peers: among } : null;
    }
    function standing(component, id) {
      var k = C.key(component, id);
      if (!stood.has(k)) { stood.set(k, reckoned(component, id)); }
      return stood.get(k);
    }
    function closed() {
      var closure = measured.closure, a = number("coil_a", "coil-resistance"), b = number("coil_b", "coil-resistance");
      if (!closure || !(closure.u > 0) || !a || !b) { return null; }
      return { a: a.value, b: b.value, off: -closure.difference / closure.u };
    }
    /* How far the pair's losses exceed its coils': {z, usual, n}; without peers, held against nothing. */
    function surplusOf() {
      var value = number("pair", N.surplus), stands = standing("pair", N.surplus);
      if (!value) { return null; }
      return stands ? { z: stands.z, usual: stands.peers.median, n: stands.peers.n }
        : { z: value.value / Math.hypot(L.surplusSpread, value.u), usual: 0, n: 0 };
    }
    /* How far coils and pair speak of a path across it: {off, surplus, strength, told}, or null. */
    function path(shut, surplus) {
      var off = shut ? shut.off : null, z = surplus ? surplus.z : null;
      if (off === null && z === null) { return null; }
      if (off === null || z === null) {
        var one = off === null ? z : off;
        return { off: off, surplus: z, strength: one, told: one >= L.closure };
      }
      var both = (off + z) / Math.sqrt(2), alone = off >= L.alone && off > both;
      return { off: off, surplus: z, strength: alone ? off : both, told: alone || both >= L.both };
    }
    var shut = closed(), surplus = surplusOf();
    return {
      piece: piece, readings: readings, measured: measured, verdicts: verdicts, consistent: consistent, number: number,
      standing: standing, closed: shut, surplus: surplus, path: path(shut, surplus), rewound: piece.row.state === "rewound" };
  }
  function finding(code, component, id, strength, fault, explanations, next, data) {
    return {
      code: code, component: component, property_id: id, strength: strength, fault: fault, explanations: explanations,
      next_step: next, data: data || {} };
  }
  function beside(value, among) { return { seen: value.value, usual: among.median, n: among.n }; }

  /* Windings. */
  function openCoils(look) {
    var found = [];
    look.measured.best.forEach(function (value) {
      if (value.qualifier === "open" && N.resistance[value.component] === value.property_id) {
        found.push(finding("open_coil", value.component, value.property_id, Infinity, true,
          ["broken_joint", "broken_wire"], "read_at_the_joint"));
      }
    });
    return found;
  }
  function gauges(look) {
    return look.measured.turns.filter(function (t) { return t.fit.fits === "cannot_fit"; }).map(function (t) {
      var excess = (t.fit.nested - 1) / t.fit.nested;
      return finding("gauge_cannot_fit", t.component, "coil-turns", excess * t.fit.ratio / t.fit.u, false,
        ["other_gauge", "other_bobbin", "rewound_coil"], "weigh_the_wire",
        { fill_percent: 100 * t.fit.ratio, turns: t.estimates.resistance.value });
    });
  }
  function verdictsOf(look, value) { return look.verdicts.filter(function (v) { return v.value === value; }); }
  function outsideAll(verdicts) {
    var words = C.unique(verdicts.map(function (v) { return v.word; }).filter(function (w) { return w !== "not_judged"; }));
    return words.length === 1 && words[0] === "outside";
  }
  function resistances(look) {
    var found = [], told = false;
    if (look.rewound) { return found; }
    Object.keys(N.resistance).forEach(function (component) {
      var id = N.resistance[component], value = look.number(component, id), stands = look.standing(component, id);
      if (!value || (told && component !== "coil") || !stands) { return; }
      var z = stands.z, among = stands.peers, low = z < 0, ratio = look.standing(component, N.ratio[component]), why;
      if (ratio && low && ratio.z >= L.oneSided) { why = ["across_the_pair", "other_gauge", "rewound_coil"]; }
      else if (low) { why = ["fewer_turns", "across_the_pair", "shorted_turns", "rewound_coil"]; }
      else { why = ["more_turns", "other_gauge", "rewound_coil", "other_temperature"]; }
      var data = beside(value, among), beyond = !(among.minimum <= value.value && value.value <= among.maximum);
      if (beyond && outsideAll(verdictsOf(look, value))) {
        found.push(finding("resistance_outside_everything", component, id, Math.abs(z), false, why,
          low ? "free_the_leads" : "look_at_the_wire",
          Object.assign(data, { minimum: among.minimum, maximum: among.maximum })));
        told = true;
      } else if (Math.abs(z) >= L.unusual) {
        found.push(finding("resistance_unusual", component, id, Math.abs(z), false, why,
          low ? "free_the_leads" : "read_inductance", data));
        told = true;
      }
    });
    return found;
  }
  function imbalance(look) {
    var stands = look.standing("pair", "coil-imbalance"), value = look.number("pair", "coil-imbalance");
    if (look.rewound || !stands || !value) { return []; }
    var surely = value.value - 2 * value.u > stands.peers.upper;
    if (!(stands.peers.percentile >= L.imbalanceRank && surely)) { return []; }
    return [finding("imbalance_unusual", "pair", "coil-imbalance", stands.z, false,
      ["uneven_winding", "coil_exchanged", "rewound_coil", "shorted_turns"], "read_inductance", beside(value, stands.peers))];
  }

  /* What lies across a coil, and what shorts it. */
  function pathsKohm(a, b, pair) {
    var x = (a + pair - b) / 2, y = (a + b - pair) / 2, z = (b + pair - a) / 2;
    return Math.min(x, y, z) <= 0 ? null : [(x * y + y * z + z * x) / y, pair * (a + b) / (2 * y)];
  }
  /* By the losses: [paths in kΩ, data], or null. */
  function pathsOfLosses(look) {
    var value = look.number("pair", N.surplus), known = look.surplus;
    var l = look.number("pair", "pair-inductance"), q = look.number("pair", "pair-quality");
    if (!value || !known || !l || !q || value.value <= known.usual || q.hertz === null || q.value <= 1) { return null; }
    var most = 2 * Math.PI * q.hertz * l.value / 1000 * (1 - 1 / Math.pow(q.value, 2)) / (value.value - known.usual);
    return [[most / 2, most], Object.assign({ seen: value.value }, known.n ? { usual: known.usual, n: known.n } : {})];
  }
  function across(look, signs) {
    var byLosses = signs.surplus !== null && (signs.off === null || signs.surplus > signs.off), c = look.measured.closure;
    var id = byLosses ? N.surplus : "pair-resistance", seen, why;
    if (byLosses) {
      seen = pathsOfLosses(look);
      why = ["across_the_pair", "misread", "different_core"];
    } else {
      var paths = pathsKohm(look.closed.a, look.closed.b, c.pair);
      seen = paths && [paths, { difference: -c.difference }];
      why = ["across_the_pair", "other_temperature", "misread"];
    }
    var least = seen && Math.min(seen[0][0], seen[0][1]), most = seen && Math.max(seen[0][0], seen[0][1]);
    if (!seen || !(L.pathsKohm[0] <= least && most <= L.pathsKohm[1])) { return []; }
    return [finding("read_in_circuit", "pair", id, signs.strength, false, why, "free_the_leads",
      Object.assign(seen[1], { path_kohm: least, path_most_kohm: most }))];
  }
  function marked(look) {
    return look.readings.some(function (r) { return r.circuit === "in_circuit" && r.prop.reduction === "copper"; });
  }
  function closure(look) {
    var c = look.measured.closure, signs = look.path, found = [];
    if (signs && signs.told && !marked(look)) { found = across(look, signs); }
    if (c && look.closed && !c.closes) {
      found.push(finding("coils_do_not_add_up", "pair", "pair-resistance", 2 * c.error, false,
        ["misread", "other_temperature", "across_the_pair", "broken_joint"], "read_both_coils_and_the_pair",
        { sum: c.sum, pair: c.pair }));
    }
    return found;
  }
  function losses(look) {
    var signs = look.path, found = [], closes = signs && -L.closure < signs.strength && signs.strength < L.hint;
    var hinted = signs && signs.strength >= L.hint;
    /* What lies across is on record, or is told already. */
    var told = signs && signs.told && (marked(look) || across(look, signs).length > 0);
    var widest = look.standing("pair", N.loss.pair) ? ["pair"] : N.coils;
    Object.keys(N.ratio).forEach(function (component) {
      var ratio = look.standing(component, N.ratio[component]), loss = look.standing(component, N.loss[component]);
      if (!loss && !ratio) { return; }
      var z = loss ? loss.z : -ratio.z, among = (loss || ratio).peers, id = loss ? N.loss[component] : N.ratio[component];
      var value = look.number(component, id), mayBePath = loss && !closes && widest.indexOf(component) >= 0;
      var least = mayBePath ? L.losses : L.oneSided;
      if (mayBePath && hinted && z < least && !signs.told) {
        z = (z + signs.strength) / Math.sqrt(2);
        least = L.together;
      }
      if (z < least || !value || (told && z <= signs.strength)) { return; }
      var code = closes ? "turns_shorted" : "losses_high", why = closes ? N.short : ["across_the_pair"].concat(N.short);
      var next = closes ? "look_at_the_wire" : "free_the_leads";
      if (!loss) {
        why = why.concat("other_gauge");
        if (closes && !look.number(component, N.loss[component])) { next = "read_quality"; }
      }
      found.push(finding(code, component, id, z, Boolean(loss && closes), why.concat("different_core"), next, beside(value, among)));
    });
    return found;
  }

  /* Magnets. */
  function fields(look) {
    return ["magnet", "magnet_a", "magnet_b"].map(function (component) {
      var stands = look.standing(component, "pole-flux-density"), value = look.number(component, "pole-flux-density");
      if (!stands || !value || Math.abs(stands.z) < L.unusualField) { return null; }
      var weak = stands.z < 0;
      return finding(weak ? "magnet_weak" : "magnet_strong", component, "pole-flux-density", Math.abs(stands.z), false,
        weak ? ["magnet_aged", "magnet_exchanged", "other_probe"] : ["magnet_recharged", "magnet_exchanged", "other_probe"],
        "read_the_field_again", beside(value, stands.peers));
    }).filter(Boolean);
  }
  function documented(familyId, id) {
    return D.claims.slice(0, D.referenceClaims).filter(function (c) { return c.family_id === familyId && c.property_id === id; });
  }
  /* Whether each rod is a magnet, by their number. */
  function rodsAreMagnets(piece, best) {
    var counted = C.numberOf(best, "pickup", "magnet-count"), numbers = counted ? [counted.value] : [];
    if (!counted) {
      documented(piece.row.family_id, "magnet-count").forEach(function (c) {
        numbers = numbers.concat([c.low, c.typical, c.high].filter(function (n) { return n !== null; }));
      });
    }
    var rods = piece.family.poles * piece.family.coils;
    return numbers.length > 0 && numbers.every(function (n) { return Math.round(n) === rods; });
  }
  function metres(best, component, id) {
    var found = C.above0(best, component, id);
    return found && found.value * F.scale(C.unitAs(found.unit), "meter");
  }
  var perTesla = { key: "", stated: 0, likely: [] };
  /* The field of a fully magnetised rod at the probe's likely distances; kept while its size stays. */
  function likelyFields(rod) {
    var k = rod.diameter_m + "|" + rod.along_m;
    if (perTesla.key !== k) {
      perTesla = {
        key: k, stated: F.highestOverFaceT(1, rod, L.sensorDepthM),
        likely: L.standoffsM.map(function (z) { return F.highestOverFaceT(1, rod, z); }) };
    }
    return perTesla;
  }
  function ceilings(look) {
    var best = look.measured.best, family = look.piece.family, ENDLESS = D.search.endless;
    if (!best.has("magnet|pole-flux-density") || family.pole_kind !== "rods") { return []; }
    var read = look.measured.values.filter(function (v) { return v.property_id === "pole-flux-density" && C.comparable(v); });
    if (!read.length || !rodsAreMagnets(look.piece, best)) { return []; }
    var strongest = read.reduce(function (a, b) { return b.value > a.value ? b : a; }), part = strongest.component;
    var diameter = metres(best, part, "magnet-width") || metres(best, "pickup", "pole-diameter");
    var length = metres(best, part, "magnet-length"), toT = F.scale(C.unitAs(strongest.unit), "tesla");
    if (!diameter || !(strongest.u > 0)) { return []; }
    var field = likelyFields({ diameter_m: diameter, along_m: length ? 2 * length : ENDLESS * diameter });
    var named = best.get(C.key(part, "magnet-grade"));
    var grades = named ? [named.category] : C.unique(documented(look.piece.row.family_id, "magnet-grade").map(function (c) {
      return c.category || "";
    }));
    var lines = D.magnets.filter(function (m) { return grades.indexOf(m.grade) >= 0 && m.value_kind !== "minimum"; });
    lines = lines.map(function (m) {
      var sum = field.likely.reduce(function (total, t) {
        return total + C.below((strongest.value * toT - m.br_t * t) / (strongest.u * toT));
      }, 0);
      return { probability: sum / field.likely.length, ceiling: m.br_t * field.stated };
    });
    if (!lines.length || lines.some(function (l) { return l.probability < L.ruledOutFrom; })) { return []; }
    var nearest = lines.reduce(function (a, b) { return b.ceiling > a.ceiling ? b : a; });
    var sure = Math.min(Math.max(nearest.probability, 0.5), 1 - 1e-12);
    return [finding("magnet_above_ceiling", part, "pole-flux-density", C.normalQuantile(sure), false,
      ["magnet_exchanged", "other_probe", "misread"], "read_the_field_again",
      { seen: strongest.value, ceiling: 1000 * nearest.ceiling, grade: grades.filter(Boolean).sort().join(" or ") })];
  }

  /* What is seen, and the record. */
  function dates(look) {
    return look.consistent.span.conflicts.map(function (pair) {
      return finding("dates_mixed", "pickup", "", Infinity, false, ["part_exchanged", "wrong_years"], "look_at_the_features",
        { early: pair[0], late: pair[1] });
    });
  }
  function wordsOverTheSpan(value, verdict) {
    if (value.value === null || value.u === null) { return []; }
    var ofDay = value.budget.reduce(function (sum, l) {
      return sum + (l.name === window.coilbookBench.names.temperature ? Math.pow(C.effect(l), 2) : 0);
    }, 0);
    var rest = Math.sqrt(Math.max(value.u * value.u - ofDay, 0));
    var words = [-1, 0, 1].map(function (warmer) {
      var factor = 1 + warmer * K.unstatedTemperatureHalfWidthK * K.alpha20PerK;
      return C.judge(value, verdict.claim, [], value.value / factor, Math.max(rest, 1e-12)).word;
    });
    return C.unique(words).filter(function (w) { return w === "inside" || w === "outside"; });
  }
  function temperatures(look) {
    var found = [];
    look.measured.best.forEach(function (value) {
      if (value.flags.indexOf("no_temperature") < 0 || !value.line || !C.comparable(value)) { return; }
      verdictsOf(look, value).some(function (verdict) {
        var words = wordsOverTheSpan(value, verdict);
        if (words.length < 2) { return false; }
        found.push(finding("temperature_decisive", value.component, value.property_id, 0, false, ["other_temperature"],
          "note_the_temperature", { claim: verdict.claim.claim_id, words: words.sort().join(" ") }));
        return true;
      });
    });
    return found;
  }

  /** Return every finding, the strongest first. */
  function findingsOf(piece, readings, measured, verdicts, consistent) {
    var look = lookAt(piece, readings, measured, verdicts, consistent), found = [];
    [openCoils, closure, losses, gauges, resistances, imbalance, fields, ceilings, dates, temperatures].forEach(function (one) {
      found = found.concat(one(look));
    });
    return found.sort(function (x, y) {
      return x.strength === y.strength ? Number(y.fault) - Number(x.fault) : y.strength > x.strength ? 1 : -1;
    });
  }

  C.findingsOf = findingsOf;
})();
