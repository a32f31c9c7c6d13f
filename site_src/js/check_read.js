/* What was typed of a piece, read by the rules of pieces.csv and readings.csv (records/bench.py and
   conditions.py): problems with Python's own words, and readings with their values in the
   property's unit. */
(function () {
  "use strict";
  var C = coilbook.check, G = coilbook.grammar, F = coilbook.formulas;
  var B = coilbook.bench.grammar, D = coilbook.checkData, L = D.limits, W = D.words;
  var g = C.general, PLAIN = /^[!-~](?:[ -~]*[!-~])?$/;
  var ID = /^[A-Za-z0-9]+(?:-[A-Za-z0-9]+)*$/, DEVICE = /^(?:con|prn|aux|nul|com[0-9]|lpt[0-9])$/i;
  var NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i, DATE = /^(\d{4})-(\d\d)-(\d\d)$/;

  /* Problems of one piece or reading; the same one is told once. */
  function notes(reading) {
    var list = [];
    function tell(column, what, todo, severity) {
      var known = list.some(function (p) {
        return p.column === column && p.what === what && p.todo === todo;
      });
      if (!known) {
        list.push({ reading: reading, column: column, what: what, todo: todo, severity: severity });
      }
    }
    return {
      list: list,
      error: function (column, what, todo) { tell(column, what, todo, "error"); },
      doubt: function (column, what, todo) { tell(column, what, todo, "doubt"); },
      wrong: function () { return list.some(function (p) { return p.severity === "error"; }); }
    };
  }

  function cell(row, column) {
    var text = row[column] === undefined || row[column] === null ? "" : String(row[column]);
    if (!text || PLAIN.test(text)) { return text || null; }
    return G.fold(text) ? text.replace(/^\p{White_Space}+|\p{White_Space}+$/gu, "") : null;
  }
  function raw(row, column) { return cell(row, column) === null ? null : String(row[column]); }

  /* Cells of rows. */
  function idOf(text, column, at) {
    if (!ID.test(text)) {
      at.error(column, "'" + text + "' is not an id.",
        "Use letters, digits and single hyphens, as in full-size-humbucker.");
    } else if (DEVICE.test(text)) {
      at.error(column, "'" + text + "' cannot be a folder's name on every computer.",
        "Add a digit or a word to it.");
    } else { return text; }
    return null;
  }
  function wordOf(text, column, words, at) {
    if (words.indexOf(text) >= 0) { return text; }
    at.error(column, "'" + text + "' is not one of the words for " + column + ".",
      G.didYouMean(text, words) + "Write one of: " + words.join(", ") + ".");
    return null;
  }
  function plainNumber(text, column, most, at) {
    var plain = text.trim();
    if (/^[+-]?(?:nan|inf|infinity)$/i.test(plain)) {
      at.error(column, "'" + text + "' is not a plain number.", "Write digits, as in 0.0635.");
      return null;
    }
    if (!NUMBER.test(plain)) {
      at.error(column, "'" + text + "' is not a plain number.",
        "Write digits with a decimal point, as in 0.0635.");
      return null;
    }
    var value = Number(plain), limit = value < 0 ? "below 0" : most !== null && value > most
      ? "above " + g(most) : "";
    if (limit) {
      at.error(column, text + " is out of bounds: it must not be " + limit + ".",
        "Correct the number.");
      return null;
    }
    return value;
  }
  function yearOf(row, column, at) {
    var text = raw(row, column);
    if (text === null) { return null; }
    if (!/^[+-]?\d+$/.test(text)) {
      at.error(column, "'" + text + "' is not a whole number.", "Write digits only, as in 1959.");
      return null;
    }
    var year = Number(text);
    if (year < L.years[0] || year > L.years[1]) {
      at.error(column, year + " is not a year between " + L.years[0] + " and " + L.years[1] + ".",
        "Write four digits.");
      return null;
    }
    return year;
  }
  function dateOf(text, at) {
    var found = DATE.exec(text), day = found &&
      new Date(Date.UTC(+found[1], +found[2] - 1, +found[3]));
    if (day && day.toISOString().slice(0, 10) === text) { return text; }
    at.error("date", "'" + text + "' is not a date.", "Write it as 2026-03-14.");
    return null;
  }
  function find(table, name, id, column, at) {
    if (Object.hasOwn(table, id)) { return table[id]; }
    at.error(column, "'" + id + "' is not in the reference's " + name + ".",
      G.didYouMean(id, Object.keys(table)) + "Correct it.");
    return null;
  }

  /** Read a piece: {row, family, problems}; a cell with an error is empty in the row, of years
   * both. */
  function readPiece(input) {
    var at = notes(null), row = { piece_id: D.looseId };
    var familyId = cell(input, "family_id");
    if (familyId === null) {
      at.error("family_id", "the cell is empty.", "What belongs here: " + W.needed.family_id);
    } else { familyId = idOf(familyId, "family_id", at); }
    var first = yearOf(input, "year_first", at), last = yearOf(input, "year_last", at);
    var sound = !at.list.some(function (p) { return p.column.indexOf("year_") === 0; });
    if (sound) { sound = yearsFit(first, last, at); }
    var position = cell(input, "position"), state = raw(input, "state"),
      potted = raw(input, "potted");
    position = position === null ? null : idOf(position, "position", at);
    state = state === null ? "unknown" : wordOf(state, "state", W.piece.state, at) || "unknown";
    potted = potted === null ? "unknown" : wordOf(potted, "potted", W.piece.potted, at) ||
      "unknown";
    var features = (input.features || []).join(";").split(";").map(
      function (f) { return f.trim(); }).filter(Boolean);
    var good = features.map(function (f) { return idOf(f, "features", at); });
    if (good.indexOf(null) >= 0) { good = []; }
    var family = familyId === null ? null : find(D.families, "families", familyId, "family_id", at);
    /* As in a file: without a family that could be one, nothing else is looked up. */
    good = good.filter(function (f) {
      return familyId !== null && find(D.features, "features", f, "features", at);
    });
    if (family) {
      if (position !== null && family.positions.indexOf(position) < 0) {
        at.error("position", "'" + position + "' is not a position of " + familyId + ".",
          G.didYouMean(position, family.positions) + "Write one of: " +
            (family.positions.join(", ") || "(none)")
          + "; or leave it empty.");
        position = null;
      }
      if (first !== null && last !== null) {
        checkYears(first, last, familyId, family, good, at, sound);
      }
      good.forEach(function (f) {
        var met = D.features[f].families;
        if (met.length && met.indexOf(familyId) < 0) {
          at.doubt("features", "'" + f + "' is not known on " + familyId + ".",
            "Look again, or correct the family; leave it if that is what is seen.");
        }
      });
    }
    if (!sound) { first = last = null; }
    row.family_id = familyId;
    row.year_first = first;
    row.year_last = last;
    row.year_basis = first === null ? cell(input, "year_basis") : cell(input, "year_basis") ||
      D.looseBasis;
    row.position = position;
    row.state = state;
    row.condition = null;
    row.potted = potted;
    row.features = good;
    row.publish = "yes";
    row.remark = null;
    return { row: row, family: family, problems: at.list };
  }
  function yearsFit(first, last, at) {
    if (first !== null && last !== null && first > last) {
      at.error("year_first", "year_first " + first + " is above year_last " + last + ".",
        "Swap them or correct the one that is wrong.");
      return false;
    }
    if ((first === null) !== (last === null)) {
      var missing = last === null ? "year_last" : "year_first";
      at.error(missing, "a span of years needs both ends, and " + missing + " is empty.",
        "Fill in both (the same year twice is a span) or neither.");
      return false;
    }
    return true;
  }
  function checkYears(first, last, familyId, family, features, at, sound) {
    var early = first < family.first_year;
    /* What is said of a column that has an error already counts for nothing. */
    if ((early && sound) || (!early && last > family.last_year)) {
      at.doubt(early ? "year_first" : "year_last", "the piece's years are " + first + "–" + last +
        ", and " + familyId
        + " runs " + family.first_year + "–" + family.last_year + ".",
          "Correct the years or the family; leave it if you are sure.");
    }
    features.forEach(function (id) {
      var f = D.features[id], limit = null;
      if (f.first_year !== null && f.first_year > last) {
        limit = "not met before " + f.first_year;
      } else if (f.last_year !== null && f.last_year < first) {
        limit = "not met after " + f.last_year;
      }
      if (limit) {
        at.doubt("features", "'" + id + "' is " + limit + ", and the piece's years are " + first +
          "–" + last + ".",
          "Correct the years, or say in remark that the part was changed.");
      }
    });
  }

  /* Values. */
  function plainKind(kind) { return kind === null ? "a word" : kind.replace(/_/g, " "); }
  function unitAs(unit) { return B.propertyUnits[unit] ? B.propertyUnits[unit][1] : unit; }
  function kindOf(prop) { return prop.unit === null ? null : B.propertyUnits[prop.unit][0]; }
  function caught(column, at, read) {
    try { return read(); } catch (refusal) {
      if (!refusal.what) { throw refusal; }
      at.error(column, refusal.what, refusal.todo);
      return null;
    }
  }
  /** Read a value and its unit: {qualifier, magnitude, step, unit}, or null with an error noted. */
  function readCell(text, column, kind, at, unitCell, defaultUnit) {
    var stated = null;
    if (unitCell !== null) {
      stated = caught("unit", at, function () { return G.readUnitAlone(unitCell, kind); });
      if (stated === null) { return null; }
    }
    return caught(column, at, function () {
      var parts = G.readParts(text, kind, false);
      if (parts.qualifier === "open" || parts.unit !== null) {
        var agrees = parts.unit === stated || (parts.prefixed && stated === B.kinds[kind].si);
        if (stated !== null && parts.unit !== null && !agrees) {
          at.error("unit", "'" + text + "' has a unit of its own, and the unit column says '" +
            unitCell + "'.",
            "Correct one of the two, or empty the unit column.");
          return null;
        }
        return parts;
      }
      parts.unit = G.readUnitAlone(stated || defaultUnit, kind);
      return parts;
    });
  }
  function readPlain(text, column, kind, at, target) {
    var parts = readCell(text, column, kind, at, null, target);
    if (parts === null) { return null; }
    if (parts.qualifier || parts.magnitude === null) {
      at.error(column, "'" + text + "' is not a plain number.", "Write it as in " +
        B.kinds[kind].example + ".");
      return null;
    }
    return C.rounded(F.convert(parts.magnitude, parts.unit, target), L.digits);
  }
  function checkBounds(value, id, prop, at, above) {
    value = C.rounded(value, L.digits);
    var unit = prop.unit === "1" ? "" : " " + prop.unit, shown = g(value) + unit;
    if (prop.hard_low !== null && value < prop.hard_low) {
      at.error("value", shown + " is below " + g(prop.hard_low) + unit + ", which " + id +
        " never is.",
        "Correct the value or its unit.");
    } else if (prop.hard_high !== null && value > prop.hard_high) {
      at.error("value", shown + " is above " + g(prop.hard_high) + unit + ", which " + id +
        " never is.",
        "Correct the value or its unit." + above);
    } else {
      var side = prop.plausible_low !== null && value < prop.plausible_low ? "low"
        : prop.plausible_high !== null && value > prop.plausible_high ? "high" : "";
      if (side) {
        at.doubt("value", shown + " is unusually " + side + " for " + id + ".",
          "Check the value and its unit; leave it if that is what was read.");
      }
    }
  }

  /* Conditions. */
  function readTemperature(row, at) {
    var temperature = null, halfWidth = null;
    if (row.temperature !== null) {
      temperature = readPlain(row.temperature, "temperature", "temperature", at, "degC");
    }
    if (temperature !== null) {
      if (!(L.coldHot[0] <= temperature && temperature <= L.coldHot[1])) {
        at.error("temperature", g(temperature, 4) + " °C is not between " + g(L.coldHot[0]) +
          " and " + g(L.coldHot[1]) + " °C.",
          "Correct the temperature or its unit.");
      } else if (!(L.coolWarm[0] <= temperature && temperature <= L.coolWarm[1])) {
        at.doubt("temperature", g(temperature, 4) + " °C is unusual for a bench.",
          "Check the temperature and its unit; leave it if that is what it was.");
      }
    }
    if (row.temperature_uncertainty !== null) {
      if (row.temperature === null) {
        at.error("temperature_uncertainty",
          "an uncertainty is given for a temperature that is not.",
          "Fill in temperature, or empty temperature_uncertainty.");
      }
      halfWidth = readPlain(row.temperature_uncertainty, "temperature_uncertainty",
        "temperature_difference", at, "difference_K");
      if (halfWidth !== null && halfWidth < 0) {
        at.error("temperature_uncertainty", "'" + row.temperature_uncertainty + "' is below zero.",
          "Write how far off the temperature may be to either side, as in 1 K.");
      }
    }
    return [temperature, halfWidth === null ? L.temperatureHalfWidthK : halfWidth];
  }
  function readPositive(row, column, kind, target, at) {
    if (row[column] === null) { return null; }
    var value = readPlain(row[column], column, kind, at, target);
    if (value !== null && value <= 0) {
      at.error(column, "'" + row[column] + "' is not above zero.",
        "Correct it, or empty the cell.");
      return null;
    }
    return value;
  }
  function readStandoff(row, at) {
    if (row.standoff === null) { return [0, null]; }
    var parts = readCell(row.standoff, "standoff", "length", at, null, "millimeter");
    if (parts === null) { return [0, null]; }
    if (parts.qualifier || parts.magnitude === null || parts.magnitude < 0) {
      at.error("standoff", "'" + row.standoff + "' is not a distance of 0 or more.",
        "Write the gap between the probe and the pole, as in 2 mm; "
        + "leave it empty if they touched.");
      return [0, null];
    }
    var toM = F.scale(parts.unit, "meter");
    return [parts.magnitude * toM, parts.step === null ? null : parts.step * toM];
  }
  function readZero(row, prop, valueUnit, at) {
    if (row.zero === null || kindOf(prop) !== W.kinds.zero) { return [null, null]; }
    var parts = readCell(row.zero, "zero", kindOf(prop), at, null, valueUnit || unitAs(prop.unit));
    if (parts === null) { return [null, null]; }
    if (parts.qualifier || parts.magnitude === null) {
      at.error("zero", "'" + row.zero + "' is not what a probe shows.",
        "Write one number with its sign, as in -1 mT; leave it empty if it showed nothing.");
      return [null, null];
    }
    var to = F.scale(parts.unit, unitAs(prop.unit));
    return [parts.magnitude * to, parts.step === null ? null : parts.step * to];
  }
  function checkCopper(row, prop, value, parallelOhm, at) {
    if (row.circuit === null) {
      at.doubt("circuit", "nothing says whether the leads were free; they are taken to be.",
        "Write free or in_circuit.");
    } else if (row.circuit === "in_circuit" && row.parallel === null) {
      at.doubt(
        "parallel",
        "the reading was taken in circuit, and what lies in parallel is not given; "
        + "it counts as a lower bound.",
        "Write the resistance in parallel, or read it again with the leads free.");
    }
    if (row.temperature === null && value.qualifier !== "open") {
      at.doubt(
        "temperature", "copper changes 0.4 % with every kelvin, and no temperature is given.",
        "Write the temperature of the room.");
    }
    if (value.number === null || value.qualifier) { return; }
    var readOhm = F.convert(value.number, unitAs(prop.unit), "ohm");
    if (parallelOhm !== null && readOhm >= parallelOhm) {
      at.doubt("parallel", "the reading '" + row.value + "' is not below the " + row.parallel
        + " said to lie in parallel, which cannot be.",
          "Correct the one that is wrong, or write free if the leads were.");
    }
  }

  Object.assign(C, {
    notes: notes, cell: cell, raw: raw, idOf: idOf, wordOf: wordOf, plainNumber: plainNumber,
    dateOf: dateOf, find: find,
    readPiece: readPiece, plainKind: plainKind, unitAs: unitAs, kindOf: kindOf, readCell: readCell,
    checkBounds: checkBounds, readTemperature: readTemperature, readPositive: readPositive,
    readStandoff: readStandoff, readZero: readZero, checkCopper: checkCopper
  });
})();
