/* Drafts of checked pieces: what was typed, kept on the device one by one, and as rows for an
   archive. A draft: {id, name, revision, fields: {name: text}, features: [ids], rows:
   [{property_id, component, value, own}]}. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var PREFIX = "coilbook-draft-", OPEN = "coilbook-open-draft", FORMAT = "coilbook drafts 1";
  /* Conditions that a reading of copper shares with the others, and what belongs to other kinds. */
  var COPPER = ["temperature", "temperature_uncertainty"];
  var OF_KIND = { inductance: ["equivalent"], flux_density: ["standoff", "zero"] };
  var OF_ANY = ["qualifier", "instrument_id", "date", "remark"];

  function token() {
    return Date.now().toString(36) + Math.floor(Math.random() * 2176782336).toString(36).padStart(6,
      "0");
  }
  function empty() {
    return { id: token(), name: "", revision: "", fields: {}, features: [], rows: [] };
  }
  function text(value) { return (value || "").trim(); }

  /** Say whether nothing was typed into a draft yet; a family alone is nothing. */
  function isEmpty(draft) {
    var chosen = { family_id: true, period: true, publish: true, state: true, potted: true,
      date: true };
    return !draft.features.length && !draft.rows.some(function (row) { return text(row.value); }) &&
      !Object.keys(draft.fields).some(function (name) {
        return !chosen[name] && text(draft.fields[name]);
      });
  }

  /** Return a draft of the right shape made of anything, or null. */
  function shaped(found) {
    function strings(object) {
      var kept = {};
      Object.keys(object || {}).forEach(function (k) {
        if (typeof object[k] === "string") { kept[k] = object[k]; }
      });
      return kept;
    }
    if (!found || typeof found !== "object" || typeof found.fields !== "object" || !found.fields ||
      !Array.isArray(found.rows)) { return null; }
    if (!found.rows.every(
      function (r) { return r && typeof r.property_id === "string" &&
      typeof r.component === "string"; })) { return null; }
    return {
      id: typeof found.id === "string" && /^[0-9a-z]+$/.test(found.id) ? found.id : token(),
      name: typeof found.name === "string" ? found.name : "",
      revision: typeof found.revision === "string" ? found.revision : "",
      fields: strings(found.fields),
      features: (Array.isArray(found.features) ? found.features : []).filter(function (f) {
        return typeof f === "string";
      }),
      rows: found.rows.map(function (r) {
        return { property_id: r.property_id, component: r.component,
          value: typeof r.value === "string" ? r.value : "", own: strings(r.own) };
      })
    };
  }

  /* --- the device --- */

  /** Say whether the browser keeps anything of this page: tried by writing. */
  function keeps() {
    try {
      var key = PREFIX + "trial", mark = token();
      localStorage.setItem(key, mark);
      var kept = localStorage.getItem(key) === mark;
      localStorage.removeItem(key);
      return kept;
    } catch (refused) { return false; }
  }

  /** Return {drafts, unreadable: [keys]}; what cannot be read is left as it is. */
  function stored() {
    var found = { drafts: [], unreadable: [] };
    try {
      for (var i = 0; i < localStorage.length; i++) {
        var key = localStorage.key(i);
        if (key.indexOf(PREFIX) !== 0 || key === PREFIX + "trial") { continue; }
        var draft = null;
        try {
          draft = shaped(JSON.parse(localStorage.getItem(key)));
        } catch (broken) {
          draft = null;
        }
        if (draft && PREFIX + draft.id === key) {
          found.drafts.push(draft);
        } else {
          found.unreadable.push(key);
        }
      }
    } catch (refused) { /* nothing can be read, and keeps() has said so */ }
    found.drafts.sort(function (a, b) { return a.id < b.id ? -1 : 1; });
    return found;
  }

  /** Keep a draft. Returns "kept", "refused", or "forked" if it was changed elsewhere and became
   * another. */
  function keep(draft) {
    var last = { id: draft.id, revision: draft.revision };
    try {
      var before = localStorage.getItem(PREFIX + draft.id), outcome = "kept";
      if (before !== null && JSON.parse(before).revision !== draft.revision) {
        draft.id = token();
        outcome = "forked";
      }
      draft.revision = token();
      var written = JSON.stringify(draft);
      localStorage.setItem(PREFIX + draft.id, written);
      localStorage.setItem(OPEN, draft.id);
      if (localStorage.getItem(PREFIX + draft.id) === written) { return outcome; }
    } catch (refused) { /* as if nothing had been tried */ }
    Object.assign(draft, last);
    return "refused";
  }
  function drop(draft) {
    try { localStorage.removeItem(PREFIX + draft.id); } catch (refused) { /* it was never kept */ }
  }
  function opened() { try { return localStorage.getItem(OPEN); } catch (refused) { return null; } }
  function setOpened(id) {
    try { localStorage.setItem(OPEN, id); } catch (refused) { /* the newest is opened next time */ }
  }
  function isOurs(key) { return key === null || key.indexOf(PREFIX) === 0; }

  /* --- files --- */

  function toFile(drafts) {
    return JSON.stringify({ format: FORMAT, drafts: drafts }, null, 1) + "\n";
  }

  /** Return the drafts of a file's text, each under an id of its own; throws "json" or "shape". */
  function fromFile(content) {
    var found;
    try { found = JSON.parse(content); } catch (broken) { throw new Error("json"); }
    var drafts = found && found.format === FORMAT && Array.isArray(found.drafts)
      ? found.drafts.map(shaped) : [];
    if (!drafts.length || drafts.some(function (d) { return d === null; })) {
      throw new Error("shape");
    }
    drafts.forEach(function (d) { d.id = token(); d.revision = ""; });
    return drafts;
  }

  /* --- what is computed with, and rows for the archive --- */

  function yearsOf(fields, periods) {
    var period = periods[fields.period];
    if (period) { return [String(period.first_year), String(period.last_year)]; }
    if (fields.period !== "years") { return ["", ""]; }
    var first = text(fields.year_first), last = text(fields.year_last);
    return [first || last, last || first];
  }

  function cellsOf(row, fields, prop) {
    var own = row.own || {}, cells = { property_id: row.property_id, component: row.component,
      value: text(row.value) };
    function take(name, shared) {
      if (text(own[name]) || shared) { cells[name] = text(own[name]) || text(fields[name]); }
    }
    OF_ANY.forEach(function (name) { take(name, name === "instrument_id" || name === "date"); });
    if (prop && prop.copper) {
      COPPER.forEach(function (name) { take(name, true); });
      var from = own.circuit ? own : fields;
      cells.circuit = text(from.circuit);
      if (cells.circuit === "in_circuit") {
        cells.parallel = text(own.parallel) || text(from.parallel);
        if (cells.parallel) {
          cells.parallel_tolerance = text(own.parallel_tolerance) || text(from.parallel_tolerance);
        }
      }
    }
    if (/-(?:inductance|quality)$/.test(row.property_id)) { take("test_frequency", true); }
    (OF_KIND[prop && prop.kind] || []).forEach(function (name) { take(name, false); });
    return cells;
  }

  function accuracyOf(row, fields, prop) {
    var own = row.own || {}, percent = text(own.accuracy_percent),
      digits = text(own.accuracy_digits);
    if (!percent && !digits && prop && prop.copper) {
      percent = text(fields.accuracy_percent);
      digits = text(fields.accuracy_digits);
    }
    return percent || digits ? { percent: percent, digits: digits } : null;
  }

  /** Return {input, rows}: what is assessed, and which row of the draft each of its readings is. */
  function toInput(draft, know, periods) {
    var f = draft.fields, span = yearsOf(f, periods), rows = [], readings = [];
    draft.rows.forEach(function (row, i) {
      if (!text(row.value)) { return; }
      var cells = cellsOf(row, f, know.properties[row.property_id]);
      cells.accuracy = accuracyOf(row, f, know.properties[row.property_id]);
      rows.push(i);
      readings.push(cells);
    });
    return {
      rows: rows,
      input: {
        family_id: f.family_id || "", year_first: span[0], year_last: span[1],
        year_basis: text(f.year_basis), position: f.position || "",
        state: f.state || "unknown", potted: f.potted || "unknown", features: draft.features,
        readings: readings
      }
    };
  }

  function cell(value) {
    return /[",;\r\n]|^\s|\s$/.test(value) ? '"' + value.replace(/"/g, '""') + '"' : value;
  }
  function block(columns, needed, rows) {
    var used = columns.filter(function (c) {
      return needed.indexOf(c) >= 0 || rows.some(function (r) { return r[c]; });
    });
    return [used].concat(rows.map(function (r) {
      return used.map(function (c) { return r[c] || ""; });
    }))
      .map(function (line) { return line.map(cell).join(",") + "\n"; }).join("");
  }

  /** Return a draft as two blocks of CSV, for pieces.csv and readings.csv, as coilbook import takes
   * them. */
  function toRows(draft, know, periods) {
    var f = draft.fields, id = text(f.piece_id), made = toInput(draft, know, periods).input;
    var piece = {
      piece_id: id, family_id: made.family_id, year_first: made.year_first,
      year_last: made.year_last,
      year_basis: made.year_first ? text(f.year_basis) : "", position: made.position,
      state: made.state, condition: text(f.condition),
      potted: made.potted, features: made.features.join(";"), publish: f.publish || "yes",
      remark: text(f.remark)
    };
    var readings = made.readings.map(function (r) {
      return Object.assign({}, r, { piece_id: id });
    });
    return block(know.columns.pieces, ["piece_id", "family_id", "state", "potted", "publish"],
      [piece]) +
      block(know.columns.readings, ["piece_id", "component", "property_id", "value"], readings);
  }

  /** Return what a piece's rows still lack: [[field, code, data]], in the order of the form. */
  function lacks(draft, know, periods) {
    var f = draft.fields, found = [], id = text(f.piece_id), instrument = text(f.instrument_id),
      date = text(f.date);
    var whole = new RegExp("^" + know.idPattern + "$"),
      device = new RegExp("^" + know.devicePattern + "$", "i");
    if (!f.family_id) { found.push(["family_id", "no_family", {}]); }
    if (!draft.rows.some(function (row) { return text(row.value); })) {
      found.push(["", "nothing", {}]);
    }
    if (!id) { found.push(["piece_id", "id_missing", {}]); } else if (!whole.test(id)) {
      found.push(["piece_id", "id_wrong", { id: id }]);
    } else if (device.test(id)) { found.push(["piece_id", "id_device", { id: id }]); }
    if (date && !isDate(date)) { found.push(["date", "date_wrong", { date: date }]); }
    if (instrument && !whole.test(instrument)) {
      found.push(["instrument_id", "instrument_wrong", { id: instrument }]);
    }
    if (yearsOf(f, periods)[0] && !text(f.year_basis)) {
      found.push(["year_basis", "basis_missing", {}]);
    }
    return found;
  }

  function isDate(date) {
    var parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
    if (!parts) { return false; }
    var day = new Date(Date.UTC(+parts[1], +parts[2] - 1, +parts[3]));
    return +parts[1] > 0 && day.getUTCMonth() === +parts[2] - 1 && day.getUTCDate() === +parts[3];
  }

  coilbook.drafts = {
    empty: empty, isEmpty: isEmpty, keeps: keeps, stored: stored, keep: keep, drop: drop,
    opened: opened, setOpened: setOpened,
    isOurs: isOurs, toFile: toFile, fromFile: fromFile, toInput: toInput, toRows: toRows,
    lacks: lacks, token: token
  };
})();
