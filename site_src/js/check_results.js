/* What a checked piece comes to, as elements: figures and data go into the templates' sentences. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var T = coilbook.text, W = coilbook.words;
  var BESIDE = ["decided", "placed", "winding_left_out", "record"];
  /* Said once for all readings, beside the conditions that they share. */
  var SHARED_FLAGS = ["no_instrument", "no_temperature"];
  var know = null, data = null;

  function begin(knowledge) { know = knowledge; data = coilbook.checkData; }

  /* --- names --- */

  function prop(id) { return know.properties[id]; }
  function rowName(id, part) { return prop(id).rows[part] || prop(id).name; }
  function said(id, part) {
    if (!id) { return know.parts[part] || part; }
    return (part && prop(id).said[part]) || prop(id).name;
  }
  function dated(id) { return know.features[id][0] + " (" + know.features[id][1] + ")"; }
  function claim(id) { return know.claims[id]; }
  function documented(ids) {
    var told = ids.map(function (id) {
      return claim(id).text + " (" + know.evidence[claim(id).evidence] + ")";
    });
    return told.filter(
      function (t, i) { return told.indexOf(t) === i; }).join(W.tell("part", "or"));
  }
  function scope(id) {
    var c = claim(id);
    return [c.period || W.tell("part", "all_years"), c.position].filter(Boolean).join(", ");
  }
  function say(kind, code, more) { return W.say(kind, code, more); }

  function evidence(id) {
    /* The mark is the tail of a claim's own sentence. */
    return sayClaim(id).querySelector(".cb-evidence");
  }
  function sayClaim(id) {
    var c = claim(id);
    return say("claim", c.evidence, {
      code: c.evidence.replace(/_/g, "-"), text: c.text, href: c.href, detail: c.detail,
      position: c.position,
      remark: c.remark, own: c.own ? "yes" : ""
    });
  }
  function verdict(v) {
    return say("verdict", v.verdict.replace(/_/g, "-"),
      { probability: T.probability(v.probability) });
  }

  /* --- one value --- */

  function reasonData(reason, property) {
    var found = {};
    Object.keys(reason).forEach(function (name) {
      var value = reason[name];
      if (name === "code") { return; }
      if (typeof value === "string") {
        found[name] = value;
      } else if (/(?:uncertainties|sigmas)$/.test(name)) {
        found[name] = T.number(value, 1);
      } else if (/(?:probability|threshold|inside_at|outside_at)$/.test(name)) {
        found[name] = T.fixed(value, 2);
      } else {
        found[name] = T.quantity(value, property);
      }
    });
    return found;
  }
  function reasons(list, property) {
    return list.map(
      function (r) { return W.tell("reason", r.code, reasonData(r, property)).trim(); }).join("; ");
  }

  function among(place) {
    return place.period_id ? data.periods[place.period_id].name : W.tell("part", "all_years");
  }
  function placed(place, property) {
    if (!place || !place.peers) { return null; }
    if (place.percentile === null) {
      var values = place.peers_sorted.map(
        function (v) { return T.number(v, property.decimals); }).join(", ") +
        T.unitText(property.unit);
      return say(
        "place", "few", { peers: String(place.peers), among: among(place), values: values });
    }
    var code = place.percentile <= 0 ? "below_all" : place.percentile >= 100 ? "above_all"
      : "between";
    return say("place", "among", {
      rank: W.tell(
        "rank", code, { peers: String(place.peers), percent: T.rankPercent(place.percentile) }),
        among: among(place)
    });
  }

  function groups(value) {
    var judged = value.verdicts;
    if (!judged.length) { return [say("part", "undocumented")]; }
    if (judged.length <= know.mostNamed) {
      return judged.map(function (v) {
        return say("part", "against", {
          verdict: [verdict(v)], place: claim(v.claim_id).place, text: claim(v.claim_id).text,
          scope: scope(v.claim_id),
          evidence: [evidence(v.claim_id)]
        });
      });
    }
    var words = {};
    judged.forEach(function (v) {
      var found = words[v.verdict] || (words[v.verdict] = []), where = scope(v.claim_id);
      if (found.indexOf(where) < 0) { found.push(where); }
    });
    return Object.keys(words).map(function (word) {
      return say("part", "group", { verdict: [verdict({ verdict: word, probability: null })],
        scopes: words[word].join(", ") });
    });
  }

  function bands(value) {
    function width(b) {
      return b.low === null && b.high === null ? 0 : (b.high === null ? Infinity : b.high) - (
        b.low === null ? -Infinity : b.low);
    }
    var met = {}, found = [];
    value.verdicts.forEach(function (v) {
      var band = { low: v.low, high: v.high, typical: v.typical, solid: v.evidence === "published",
        own: Boolean(claim(v.claim_id).own) };
      var key = JSON.stringify(band);
      if (!met[key]) { met[key] = true; found.push(band); }
    });
    return found.sort(function (a, b) { return width(b) - width(a); });
  }

  /** Return a short text that changes whenever what is shown of a value does. */
  function signature(value) {
    var place = value.places[0];
    return [value.value, value.U, value.qualifier, value.category, value.flags, value.interval,
      value.reading === null,
      value.verdicts.map(function (v) { return v.claim_id + v.verdict + v.probability; }),
      place ? [place.period_id, place.position, place.peers, place.percentile] : ""].join("|");
  }

  /** Say what a value comes to. */
  function showValue(value, out) {
    var property = prop(value.property_id), shown = T.result(value, property),
      place = value.places[0];
    var how = value.reading === null ? "derived" : property.copper ? "copper" : "plain";
    var parts =
      [say("part", "value", { value: shown, how: property.kind === "category" || !value.unit ? ""
      : [say("how", how)] })];
    if (value.interval && value.interval[1] !== null) {
      parts.push(
        say("part", "at_most", { value: T.number(value.interval[1], property.decimals) +
        T.unitText(property.unit), smallest: know.smallestAcross }));
    }
    value.flags.forEach(function (flag) {
      if (SHARED_FLAGS.indexOf(flag) < 0 && flag !== "derived") { parts.push(say("flag", flag)); }
    });
    parts = parts.concat(groups(value));
    var where = placed(place, property);
    if (where) { parts.push(where); }
    out.replaceChildren.apply(out, parts);
  }

  /** Draw where a value lies; words say the same. */
  function showStrip(value, strip) {
    var property = prop(value.property_id), place = value.places[0],
      where = placed(place, property);
    var drawn = property.kind !== "category" && value.qualifier === "" && value.value !== null &&
      (value.verdicts.length || place && place.peers);
    if (!drawn) { strip.replaceChildren(); return; }
    var told = W.tell("place", "strip", {
      name: said(value.property_id, value.component), value: T.result(value, property),
      places: where ? where.textContent : ""
    });
    strip.replaceChildren(coilbook.strip.draw(bands(value), place ? place.summary : null,
      { value: value.value, extent: value.U || 0 }, told));
  }

  /* --- the lead --- */

  function leadReasons(result) {
    var outside = [], shown = new Map();
    result.lead.reasons.forEach(function (reason) {
      var found = {};
      Object.keys(reason).forEach(function (name) {
        if (name !== "code") {
          found[name] = typeof reason[name] === "string" ? reason[name] : T.number(reason[name], 0);
        }
      });
      if (reason.code === "outside") {
        outside.push(T.lowerFirst(said(found.property_id, found.component)));
        found = { what: outside.join(", "), count: String(outside.length) };
      }
      shown.set(reason.code + " " + (found.finding || ""), { code: reason.code, data: found });
    });
    return Array.from(shown.values());
  }
  function sentence(list) {
    return list.map(function (r, i) {
      var words = W.tell("lead", r.code, r.data).trim();
      return i ? words : T.upperFirst(words);
    }).join("; ") + ".";
  }

  /** Return the three lines that come first, and their words for the bar and the announcement. */
  function lead(result) {
    var all = leadReasons(result), count = counts(result),
      word = W.tell("lead_word", result.lead.word);
    var why = all.filter(function (r) { return BESIDE.indexOf(r.code) < 0; });
    var beside = all.filter(function (r) { return BESIDE.indexOf(r.code) >= 0; });
    var lines = [say("summary", "why", { word: word, why: why.length ? sentence(why) : "" })];
    if (beside.length) { lines.push(say("summary", "beside", { beside: sentence(beside) })); }
    if (result.findings.length) {
      lines.push(say("step_first", result.findings[0].next_step));
    } else if (result.next_readings.length) {
      lines.push(
        say("next", "periods",
        { name: T.lowerFirst(prop(result.next_readings[0].property_id).name) }));
    }
    return {
      lines: lines, word: word,
      counts: W.tell("summary", "counts", { inside: String(count[0]), outside: String(count[1]),
        close: String(count[2]) })
    };
  }
  /** Return how many comparisons came out inside, outside and too close to call. */
  function counts(result) {
    var words = ["inside", "outside", "too_close_to_call"], found = [0, 0, 0];
    result.values.forEach(function (v) {
      if (v.stands) {
        v.verdicts.forEach(function (one) {
          if (words.indexOf(one.verdict) >= 0) { found[words.indexOf(one.verdict)] += 1; }
        });
      }
    });
    return found;
  }

  /* --- observations, coils, periods, next, reasons --- */

  function datum(name, value, property) {
    if (typeof value !== "string") {
      if (Object.hasOwn(know.otherUnits, name) || !property) {
        return T.number(value, 0) + T.unitText(know.otherUnits[name]);
      }
      return T.closeQuantity(value, property);
    }
    if (name === "early" || name === "late") { return dated(value); }
    return name === "claim" && claim(value) ? documented([value]) : value;
  }
  function finding(f) {
    var found = { what: said(f.property_id, f.component) }, property = f.property_id &&
      prop(f.property_id);
    Object.keys(f.data).forEach(function (name) {
      found[name] = datum(name, f.data[name], property);
    });
    var far = f.standard_deviations > 0 ? T.number(f.standard_deviations, 1) : "";
    var item = document.createElement("li");
    item.append(say("part", "finding", {
      title: [say("title", f.code, found)],
      kind: [say("kind", f.code, { fault: f.fault ? "yes" : "no" })],
      seen: [say("finding", f.code, found)],
      far: far ? [say("far", "far", { far: far })] : "",
      explanations: f.explanations.map(
        function (e) { return W.tell("explanation", e); }).join("; "),
        step: [say("step", f.next_step)]
    }));
    return item;
  }

  function trouble(t) {
    var found = { what: rowName(t.property_id, t.component) }, item = document.createElement("li");
    Object.keys(t.data).forEach(function (name) {
      found[name] = typeof t.data[name] === "string" ? t.data[name] : T.number(t.data[name], 2);
    });
    item.append(say("trouble", t.code, found));
    return item;
  }

  function closure(c) {
    if (!c) { return ""; }
    var digits = Math.max(2, T.resultDecimals(c.U_kohm, prop("pair-resistance")));
    function kohm(value, more) { return T.number(value, digits + more) + T.unitText("kΩ"); }
    return say("closure", c.closes ? "yes" : "no", {
      total: kohm(c.sum_kohm, 0), pair: kohm(c.pair_kohm, 0),
      difference: kohm(c.difference_kohm, 1), extent: kohm(c.U_kohm, 1),
      error: T.number(c.normalised_error, 2)
    });
  }
  function hum(h) {
    if (!h) { return ""; }
    return say("hum", "hum", {
      about: h.low_db === null || h.level_db === null ? "" : T.number(h.level_db, 0) + " dB",
      at_most: h.high_db === null ? "" : T.number(h.high_db, 0) + " dB"
    });
  }
  function tableRow(fragment) { return fragment.querySelector("tr"); }
  function turns(t) {
    return tableRow(say("part", "turns_row", {
      what: know.parts[t.component], turns: T.inTens(t.turns, t.U), wire: know.wires[t.wire_id],
      bobbin: know.bobbins[t.bobbin_id],
      dominant: t.dominant, fill: T.number(t.fill_percent, 0) + " %", fits: W.tell("fits", t.fits),
      "class": t.fits === "fits" ? "cb-remark" : "cb-flag"
    }));
  }

  function cellNames(cells) {
    var parts = {};
    cells.forEach(function (cell) {
      var found = parts[prop(cell.property_id).short] || (parts[prop(cell.property_id).short] = []);
      if (know.shortParts[cell.component]) { found.push(know.shortParts[cell.component]); }
    });
    return Object.keys(parts).map(function (n) {
      return parts[n].length ? n + " (" + parts[n].join(", ") + ")" : n;
    });
  }

  function matrixRow(row, result, familyId) {
    var sorted = {}, against = [], shown = {};
    function put(group, word, name) {
      var words = sorted[group] || (sorted[group] = {});
      (words[word] || (words[word] = [])).push(name);
    }
    row.cells.forEach(function (cell) {
      put(prop(cell.property_id).group, cell.word, cell);
      if (cell.word === "not_consistent") {
        var value = result.values.find(function (v) {
          return v.stands && v.property_id === cell.property_id && v.component === cell.component;
        });
        against.push(say("against", "against", {
          what: said(cell.property_id, cell.component), found: value
            ? T.result(value, prop(cell.property_id)) : "", documented: documented(cell.claims)
        }));
      }
    });
    row.features.forEach(function (seen) {
      put("features", seen.word, seen.feature_id);
      if (seen.word === "not_consistent") {
        against.push(
          say("against", "against", { what: know.features[seen.feature_id][0], found: "",
          documented: know.features[seen.feature_id][1] }));
      }
    });
    know.groups.forEach(function (group) {
      var lines = know.cellWords.filter(
        function (word) { return sorted[group] && sorted[group][word]; }).map(function (word) {
        var list = sorted[group][word], names = group === "features"
          ? list.map(function (f) { return know.features[f][0]; }) : cellNames(list);
        var many = (word === "not_measured" || word === "no_claim") && names.length > 2;
        return say("cell", word, { names: many ? String(names.length) : names.join("; ") });
      });
      shown[group] = lines.length ? lines : [say("part", "dash")];
    });
    shown.period = data.periods[row.period_id].name;
    shown.family = row.family_id === familyId ? ""
      : [say("part", "matrix_family",
      { id: row.family_id, family: data.families[row.family_id].name })];
    shown.against = against.length ? against : [say("part", "nothing_against")];
    return tableRow(say("part", "matrix_row", shown));
  }

  function span(found) {
    var s = found.span;
    if (s.conflicts.length) {
      return s.conflicts.map(function (pair) {
        return say("span", "conflict", { early: dated(pair[0]), late: dated(pair[1]) });
      });
    }
    if (!s.rests_on.length) { return [say("span", "none")]; }
    var years = s.first_year !== null && s.last_year !== null && s.first_year > s.last_year ? ""
      : T.years(s.first_year, s.last_year);
    var rests = s.rests_on.map(function (f) { return know.features[f][0]; }).join("; ");
    return [say("span", years ? "agree" : "leave", { years: years, rests_on: rests })];
  }
  function restsOn(result) {
    var kinds = {}, words = {};
    result.values.forEach(function (v) {
      v.verdicts.forEach(function (one) { words[one.claim_id] = one.verdict; });
    });
    result.consistency.periods.forEach(function (row) {
      row.cells.forEach(function (cell) {
        if (cell.word !== "not_measured" && cell.word !== "no_claim") {
          cell.claims.forEach(function (id) {
            if (words[id] !== "not_judged") { kinds[claim(id).evidence] = true; }
          });
        }
      });
    });
    return Object.keys(know.evidence).filter(function (code) { return kinds[code]; }).map(
      function (code) { return know.evidence[code]; }).join(", ");
  }

  function next(n, familyId, position) {
    var pair = n.periods.map(function (id) { return data.periods[id]; });
    var own = pair.every(function (p) { return p.family_id === familyId; });
    function title(p) {
      return own ? p.name : data.families[p.family_id].name.toLowerCase() + " " + p.name;
    }
    function claims(i) {
      return documented(data.claims.filter(function (c) {
        return c.family_id === pair[i].family_id && c.property_id === n.property_id &&
          (!c.period_id || c.period_id === n.periods[i]) &&
          (!c.position || !position || c.position === position);
      }).map(function (c) { return c.claim_id; }));
    }
    var item = document.createElement("li");
    item.append(say("next", "reading", {
      name: prop(n.property_id).name, one: title(pair[0]), one_claims: claims(0),
      other: title(pair[1]), other_claims: claims(1),
      share: T.number(100 * n.separates, 0)
    }));
    return item;
  }

  function whyRows(result) {
    var rows = [];
    result.values.forEach(function (value) {
      if (!value.stands) { return; }
      var property = prop(value.property_id);
      value.verdicts.forEach(function (v) {
        rows.push(tableRow(say("part", "why_row", {
          name: rowName(value.property_id, value.component), value: T.result(value, property),
          scope: scope(v.claim_id), claim: [sayClaim(v.claim_id)],
          place: claim(v.claim_id).place, verdict: [verdict(v)], why: reasons(v.reasons, property)
        })));
      });
    });
    return rows;
  }

  coilbook.results = {
    begin: begin, rowName: rowName, signature: signature, showValue: showValue,
    showStrip: showStrip, lead: lead, counts: counts, finding: finding, trouble: trouble,
    closure: closure,
    hum: hum, turns: turns, matrixRow: matrixRow, span: span, restsOn: restsOn, next: next,
    whyRows: whyRows, sharedFlags: SHARED_FLAGS
  };
})();
