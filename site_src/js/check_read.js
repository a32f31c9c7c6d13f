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
      note: function (column, what, todo) { tell(column, what, todo, "note"); },
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
  function slug(text) { return (text.match(/[A-Za-z0-9]+/g) || []).join("-"); }
  function idOf(text, column, at) {
    if (!ID.test(text)) {
      at.error(column, "'" + text + "' is not an id.",
        "Use letters, digits and single hyphens, as in " + (slug(text) || "full-size-humbucker") +
          ".");
    } else if (DEVICE.test(text)) {
      at.error(column, "'" + text + "' cannot be a folder's name on every computer.",
        "Add a digit or a word to it.");
    } else { return text; }
    return null;
  }
  /* A word as it counts: without regard to capitals, spaces, hyphens and underscores. */
  function foldedWord(text) { return text.trim().toLowerCase().replace(/[\s_-]+/g, "_"); }
  function sameWord(text, words) {
    if (words.indexOf(text) >= 0) { return text; }
    var folded = foldedWord(text);
    var same = words.find(function (word) { return foldedWord(word) === folded; });
    if (same === undefined && words.indexOf("yes") >= 0 && Object.hasOwn(W.yesNo, folded)) {
      same = W.yesNo[folded];
    }
    return same === undefined ? null : same;
  }
  function wordOf(text, column, words, at) {
    var same = sameWord(text, words);
    if (same !== null) { return same; }
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
    var written = raw(row, column);
    if (written === null) { return null; }
    var text = written.trim(), two = /^([0-9]{4}) ?[-–/] ?([0-9]{2}|[0-9]{4})$/.exec(text);
    if (!/^[+-]?\d+$/.test(text)) {
      if (two) {
        at.error(column, "'" + text + "' is two years.", "Write " + two[1] +
          " under the first year and " + two[1].slice(0, 4 - two[2].length) + two[2] +
          " under the last.");
      } else if (/^[^0-9]*[0-9]{4}[^0-9]*$/.test(text)) {
        at.error(column, "'" + text + "' is not a year alone.",
          "Write the first and the last year that it may be from, each in its own column.");
      } else {
        at.error(column, "'" + written + "' is not a whole number.",
          "Write digits only, as in 1959.");
      }
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
  function isoDay(year, month, day) {
    var found = new Date(Date.UTC(year, month - 1, day));
    var same = year > 0 && found.getUTCMonth() === month - 1 && found.getUTCDate() === day;
    return same ? found.toISOString().slice(0, 10) : null;
  }
  /* The day that a spreadsheet means by a bare count of days, if it may be one. */
  function serialDay(text) {
    var days = /^[0-9]{5}$/.test(text) ? Number(text) : 0;
    if (days < L.serials[0] || days >= L.serials[1]) { return null; }
    return new Date(Date.UTC(1899, 11, 30 + days)).toISOString().slice(0, 10);
  }
  function dateOf(text, at) {
    var found = DATE.exec(text), serial = serialDay(text), days = [];
    if (found && isoDay(+found[1], +found[2], +found[3]) === text) { return text; }
    if (serial) {
      at.error("date", "'" + text + "' is how a spreadsheet counts days: it is " + serial + ".",
        "Set the column to text, and write " + serial + ".");
      return null;
    }
    var other = /^([0-9]{1,2})([-./ ]) ?([0-9]{1,2})\2 ?([0-9]{4})$/.exec(text.trim());
    if (other) {
      days.push(isoDay(+other[4], +other[3], +other[1]));
      /* With points the day stands first; with other marks that depends on who wrote it. */
      if (other[2] !== ".") { days.push(isoDay(+other[4], +other[1], +other[3])); }
    }
    days = days.filter(function (day, place) { return day && days.indexOf(day) === place; });
    if (days.length > 1) {
      at.error("date", "'" + text + "' could be " + days.join(" or ") + ".",
        "Write " + days.join(" or ") + ".");
    } else if (days.length) {
      at.error("date", "'" + text + "' is a date written another way.", "Write " + days[0] + ".");
    } else { at.error("date", "'" + text + "' is not a date.", "Write it as 2026-03-14."); }
    return null;
  }
  /* What the trade calls a family, by its id and a sentence. */
  function called(name, id) {
    var folded = foldedWord(id);
    return name === "families" && Object.hasOwn(D.called, folded) ? D.called[folded] : null;
  }
  function find(table, name, id, column, at) {
    if (Object.hasOwn(table, id)) { return table[id]; }
    var known = called(name, id);
    at.error(column, "'" + id + "' is not in the reference's " + name + ".",
      (known ? "Did you mean '" + known[0] + "'? " + known[1] + " "
        : G.didYouMean(id, Object.keys(table))) + "Correct it.");
    return null;
  }
  /** Return the id that was probably meant, to look further with, or null. */
  function meant(table, name, id) {
    var known = called(name, id);
    return Object.hasOwn(table, id) ? id : known ? known[0] : G.nearest(id, Object.keys(table));
  }

  /** Read a piece: {row, family, meantId, problems}; a cell with an error is empty in the row, of
   * years both. Its readings are held against the family that was probably meant. */
  function readPiece(input) {
    var at = notes(null), row = { piece_id: D.looseId };
    var familyId = cell(input, "family_id"), wanted = "x";
    if (familyId === null) {
      at.error("family_id", "the cell is empty.", W.needed.family_id);
    } else {
      familyId = familyId.toLowerCase();
      wanted = slug(familyId) || "x";
      familyId = idOf(familyId, "family_id", at);
    }
    var first = yearOf(input, "year_first", at), last = yearOf(input, "year_last", at);
    var sound = !at.list.some(function (p) { return p.column.indexOf("year_") === 0; });
    if (sound) { sound = yearsFit(first, last, at); }
    var position = cell(input, "position"), state = raw(input, "state"),
      potted = raw(input, "potted");
    position = position === null ? null : idOf(position.toLowerCase(), "position", at);
    state = state === null ? "unknown" : wordOf(state, "state", W.piece.state, at) || "unknown";
    potted = potted === null ? "unknown" : wordOf(potted, "potted", W.piece.potted, at) ||
      "unknown";
    var features = (input.features || []).join(";").split(";").map(
      function (f) { return f.trim(); }).filter(Boolean);
    var good = features.map(function (f) { return idOf(f, "features", at); });
    if (good.indexOf(null) >= 0) { good = []; }
    var family = familyId === null ? null : find(D.families, "families", familyId, "family_id", at);
    good = good.filter(function (f) { return find(D.features, "features", f, "features", at); });
    var meantId = meant(D.families, "families", familyId === null ? wanted : familyId);
    var like = meantId === null ? null : D.families[meantId];
    if (like) {
      if (position !== null && like.positions.indexOf(position) < 0) {
        at.error("position", "'" + position + "' is not a position of " + meantId + ".",
          G.didYouMean(position, like.positions) + "Write one of: " +
            (like.positions.join(", ") || "(none)")
          + "; or leave it empty.");
        position = null;
      }
      if (first !== null && last !== null) {
        checkYears(first, last, meantId, like, good, at, sound);
      }
      good.forEach(function (f) {
        var met = D.features[f].families;
        if (met.length && met.indexOf(meantId) < 0) {
          at.doubt("features", "'" + f + "' is not known on " + meantId + ".",
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
    return { row: row, family: family, meantId: meantId, problems: at.list };
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
    var stated = null, faulty = false;
    if (unitCell !== null) {
      stated = caught("unit", at, function () { return G.readUnitAlone(unitCell, kind); });
      faulty = stated === null;
    }
    return caught(column, at, function () {
      var parts = G.readParts(text, kind, false);
      if (faulty) { return null; }
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
  /* Whether a value that can be read is a number with no unit, of a kind that has several. */
  function bareUnit(text, kind) {
    var parts = G.readParts(text, kind, false);
    return parts.unit === null && parts.qualifier !== "open" && W.plainKinds.indexOf(kind) < 0;
  }
  function noteUnit(text, column, unit, at) {
    at.note(column, "'" + text + "' has no unit and was read as " + text + " " + unit + ".",
      "Write the unit if you meant another.");
  }
  /* How a bare number would be written in a unit that makes it plausible, or nothing. */
  function otherwise(bare, prop) {
    var usual = W.usual[kindOf(prop)] || {};
    var unit = Object.keys(usual).find(function (one) {
      if (one === unitAs(prop.unit)) { return false; }
      var value = C.rounded(F.convert(bare.number, one, unitAs(prop.unit)), L.digits);
      return (prop.plausible_low === null || value >= prop.plausible_low) &&
        (prop.plausible_high === null || value <= prop.plausible_high);
    });
    return unit === undefined ? "" : bare.text + " " + usual[unit];
  }
  function ofADate(bare, prop) {
    var day = bare ? serialDay(bare.text) : null;
    return day === null || prop.unit !== "mm" ? "" : "It may be the date " + day + ", which a " +
      "spreadsheet has made of a fraction: set the column to text, and write the fraction again.";
  }
  /** Refuse a value beyond a hard bound, doubt one beyond a plausible bound: whether it is inside.
   * Bare is {text, number} where no unit is written. */
  function checkBounds(value, id, prop, at, above, bare) {
    value = C.rounded(value, L.digits);
    var unit = prop.unit === "1" ? "" : " " + prop.unit, shown = g(value) + unit, what = "";
    var fitting = bare ? otherwise(bare, prop) : "", further = "", impossible = true;
    var likely = fitting ? "If it was " + fitting + ", write that. " : "";
    if (bare) { shown += " (no unit is written, and " + prop.unit + " was assumed)"; }
    if (prop.hard_low !== null && value < prop.hard_low) {
      what = " is below " + g(prop.hard_low) + unit + ", which " + id + " never is.";
    } else if (prop.hard_high !== null && value > prop.hard_high) {
      what = " is above " + g(prop.hard_high) + unit + ", which " + id + " never is.";
      likely += ofADate(bare, prop);
      further = above;
    } else {
      impossible = false;
      if (prop.plausible_low !== null && value < prop.plausible_low) {
        what = " is unusually low for " + id + ".";
      } else if (prop.plausible_high !== null && value > prop.plausible_high) {
        what = " is unusually high for " + id + ".";
      }
    }
    if (!what) { return true; }
    if (impossible) {
      at.error("value", shown + what,
        likely.trimEnd() || "Correct the value or its unit." + further);
    } else {
      at.doubt("value", shown + what, (likely ? likely + "Leave"
        : "Check the value and its unit; leave") + " it if that is what was read.");
    }
    return false;
  }

  /* Conditions. */
  function between(value, limits) { return limits[0] <= value && value <= limits[1]; }
  function checkTemperature(text, celsius, at) {
    if (between(celsius, L.coolWarm)) { return; }
    var bare = bareUnit(text, "temperature");
    var fahrenheit = bare && between(F.convert(celsius, "degF", "degC"), L.coolWarm);
    var likely = fahrenheit ? "If it was " + text + " °F, write that. " : "";
    var shown = g(celsius, 4) + " °C" + (bare ? " (no unit is written, and °C was assumed)" : "");
    if (!between(celsius, L.coldHot)) {
      at.error("temperature", shown + " is not between " + g(L.coldHot[0]) + " and " +
        g(L.coldHot[1]) + " °C.",
        likely.trimEnd() || "Correct the temperature or its unit.");
    } else {
      at.doubt("temperature", shown + " is unusual for a bench.",
        likely ? likely + "Leave it if that is what it was."
          : "Check the temperature and its unit; leave it if that is what it was.");
    }
  }
  function readTemperature(row, at) {
    var temperature = null, halfWidth = null;
    if (row.temperature !== null) {
      temperature = readPlain(row.temperature, "temperature", "temperature", at, "degC");
    }
    if (temperature !== null) { checkTemperature(row.temperature, temperature, at); }
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
    if (value !== null && bareUnit(row[column], kind)) {
      noteUnit(row[column], column, target === "ohm" ? "Ω" : "Hz", at);
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
    meant: meant, sameWord: sameWord, bareUnit: bareUnit, noteUnit: noteUnit,
    notes: notes, cell: cell, raw: raw, idOf: idOf, wordOf: wordOf, plainNumber: plainNumber,
    dateOf: dateOf, find: find,
    readPiece: readPiece, plainKind: plainKind, unitAs: unitAs, kindOf: kindOf, readCell: readCell,
    checkBounds: checkBounds, readTemperature: readTemperature, readPositive: readPositive,
    readStandoff: readStandoff, readZero: readZero, checkCopper: checkCopper
  });
})();
