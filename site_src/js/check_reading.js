/* One reading of readings.csv, checked against its family and property and read
   (records/bench.py). */
(function () {
  "use strict";
  var C = coilbook.check, G = coilbook.grammar, F = coilbook.formulas;
  var D = coilbook.checkData, L = D.limits, W = D.words;
  var TEXTS = ["value", "unit", "temperature", "temperature_uncertainty", "parallel",
    "test_frequency", "standoff", "zero"];

  /* The row's own rules: null where a cell cannot be read at all. */
  function rowOf(input, at) {
    var row = {}, before;
    TEXTS.forEach(function (column) { row[column] = C.cell(input, column); });
    ["component", "property_id", "value"].forEach(function (column) {
      if (C.cell(input, column) === null) {
        at.error(column, "the cell is empty.", W.needed[column]);
      }
    });
    var id = C.cell(input, "property_id");
    row.property_id = id === null ? null : C.idOf(id, "property_id", at);
    ["component", "qualifier", "circuit", "equivalent"].forEach(function (column) {
      var text = C.raw(input, column);
      row[column] = text === null ? null : C.wordOf(text, column, W.reading[column], at);
    });
    var tolerance = C.raw(input, "parallel_tolerance"), date = C.raw(input, "date");
    row.parallel_tolerance = tolerance === null ? null : C.plainNumber(
      tolerance, "parallel_tolerance", 50, at);
    row.date = date === null ? "" : C.dateOf(date, at);
    before = at.list.filter(function (p) { return p.column.indexOf("accuracy_") !== 0; }).length;
    if (before) { return null; }
    if (row.parallel !== null && row.circuit !== "in_circuit") {
      at.error("parallel", "a parallel resistance is given, but the reading is not in_circuit.",
        "Write in_circuit under circuit, or empty parallel.");
    } else if (row.parallel_tolerance !== null && row.parallel === null) {
      at.error("parallel_tolerance", "a tolerance is given for a parallel resistance that is not.",
        "Fill in parallel, or empty parallel_tolerance.");
    }
    return row;
  }

  /* The meter that a stated accuracy stands for; readings that state the same one share it. */
  function meterOf(input, prop, at) {
    var stated = input.accuracy;
    if (!stated || !prop || prop.unit === null) { return null; }
    var texts = ["percent", "digits"].map(function (part) {
      /* Who types one may write its decimals with a comma; a table has a point. */
      return (C.cell(stated, part) || "").replace(/^(\d+),(\d+)$/, "$1.$2");
    });
    if (!texts[0] && !texts[1]) { return null; }
    var kind = C.kindOf(prop), known = C.wordOf(kind, "measures", W.measures, at);
    var percent = C.plainNumber(texts[0] || "0", "accuracy_percent", null, at);
    var digits = C.plainNumber(texts[1] || "0", "accuracy_digits", null, at);
    if (known === null || percent === null || digits === null) { return null; }
    return {
      instrument_id: [kind, C.general(percent), C.general(digits)].join(" "),
      accuracy_percent: percent,
      accuracy_digits: digits };
  }

  function checkComponent(row, id, prop, piece, at) {
    var name = piece.meantId, family = name === null ? null : D.families[name], likely = "";
    var parts = family ? D.parts[family.coils][prop.component] : W.parts[prop.component];
    if (parts.indexOf(row.component) >= 0) { return; }
    if (!parts.length) {
      at.error("component", name + " has one coil, and " + id + " is read on a pair.",
        "Name a property of one coil, and coil as its component.");
      return;
    }
    /* The same quantity, as a property of the part that is named. */
    var part = row.component.split("_")[0];
    if (id.startsWith(prop.component + "-")) {
      var other = part + id.slice(prop.component.length);
      if (other !== id && Object.hasOwn(D.properties, other)) {
        likely = ": at " + row.component + " it is " + other;
      }
    }
    at.error("component", id + (family ? " of " + name : "") + " is not read at " +
      row.component + ".",
      "Write " + parts.join(" or ") + ", or correct the property" + likely + ".");
  }

  /* The id of the property that was read, or of the one that was meant, or null. */
  function propertyOf(row, at) {
    var id = row.property_id, ours = row.component.split("_")[0] + "-" + id;
    if (!Object.hasOwn(D.properties, id)) {
      /* 'resistance' of a coil and of a pair are two properties. */
      if (!Object.hasOwn(D.properties, ours)) {
        C.find(D.properties, "properties", id, "property_id", at);
        return C.meant(D.properties, "properties", id);
      }
      at.error("property_id", "'" + id + "' is not in the reference's properties.",
        "At " + row.component + " it is " + ours + ".");
      id = ours;
    }
    if (D.properties[id].origin === "derived") {
      at.error(
        "property_id", id + " is worked out from other readings and never read.",
        "Record the readings that it comes from instead.");
    }
    return id;
  }
  function readWord(row, id, prop, at) {
    ["unit", "qualifier"].forEach(function (column) {
      if (row[column] !== null) {
        at.error(column, id + " is a word and takes no " + column + ".",
          "Empty the cell.");
      }
    });
    var same = C.sameWord(row.value, prop.categories);
    if (same !== null) { return same; }
    at.error("value", "'" + row.value + "' is not a word for " + id + ".",
      G.didYouMean(row.value, prop.categories) + "Write one of: " + prop.categories.join(", ") +
        ".");
    return null;
  }
  function readNumber(row, id, prop, at) {
    var nothing = { number: null, step: null, qualifier: "", unit: null }, kind = C.kindOf(prop);
    var parts = C.readCell(row.value, "value", kind, at, row.unit, prop.unit);
    if (parts === null) { return nothing; }
    var qualifier = parts.qualifier;
    if (row.qualifier !== null) {
      if ((qualifier !== "" && qualifier !== row.qualifier) ||
        (row.qualifier === "open" && qualifier === "")) {
        at.error("qualifier", "the qualifier says '" + row.qualifier + "', and the value '" +
          row.value + "'.",
          "Correct one of the two, or empty the qualifier.");
      }
      qualifier = row.qualifier;
    }
    if (parts.magnitude === null) {
      return { number: null, step: null, qualifier: qualifier, unit: null };
    }
    var unit = C.unitAs(prop.unit), value = F.convert(parts.magnitude, parts.unit, unit);
    var bare = row.unit === null && C.bareUnit(row.value, kind)
      ? { text: row.value, number: parts.magnitude } : null;
    var inside = C.checkBounds(value, id, prop, at, kind === "resistance"
      ? " Write open if the circuit is open." : "", bare);
    if (bare && inside) { C.noteUnit(row.value, "value", prop.unit, at); }
    var step = parts.step === null ? null : parts.step * F.scale(parts.unit, unit);
    return { number: value, step: step, qualifier: qualifier, unit: parts.unit };
  }
  function checkKind(row, id, prop, at) {
    var kind = C.kindOf(prop);
    Object.keys(W.kinds).forEach(function (column) {
      if (row[column] !== null && kind !== W.kinds[column]) {
        at.error(column, id + " is " + C.plainKind(kind) + ", and " + column +
          " belongs to "
          + C.plainKind(W.kinds[column]) + ".", "Empty the cell, or correct the property.");
      }
    });
  }

  /** Read one reading: {reading, problems}; the reading is null where it has an error. */
  function readReading(input, index, piece) {
    var at = C.notes(index), id = C.cell(input, "property_id");
    var prop = id !== null && Object.hasOwn(D.properties, id) ? D.properties[id] : null;
    var meter = meterOf(input, prop, at), row = rowOf(input, at);
    if (row === null) { return { reading: null, problems: at.list }; }
    id = propertyOf(row, at);
    var temperature = C.readTemperature(row, at);
    var parallel = C.readPositive(row, "parallel", "resistance", "ohm", at);
    var frequency = C.readPositive(row, "test_frequency", "frequency", "hertz", at);
    var standoff = C.readStandoff(row, at);
    if (id === null) { return { reading: null, problems: at.list }; }
    prop = D.properties[id];
    checkComponent(row, id, prop, piece, at);
    var word = prop.kind === "category" ? readWord(row, id, prop, at) : null;
    var value = prop.kind === "category" ? { number: null, step: null, qualifier: "", unit: null }
      : readNumber(row, id, prop, at);
    checkKind(row, id, prop, at);
    var zero = C.readZero(row, prop, value.unit, at);
    if (row.equivalent === "parallel" && row.test_frequency === null) {
      at.doubt("test_frequency",
        "a parallel equivalent changes with the test frequency, and none is given.",
        "Write the frequency that the bridge was set to.");
    }
    if (prop.reduction === "copper") { C.checkCopper(row, prop, value, parallel, at); }
    if (at.wrong()) { return { reading: null, problems: at.list }; }
    return {
      problems: at.list,
      /* As the core sees a reading: ReadingSeen of core/seen.py. */
      reading: {
        row: {
          piece_id: D.looseId, component: row.component, property_id: row.property_id,
          value: row.value,
          circuit: row.circuit, instrument_id: meter ? meter.instrument_id : null },
        line: index + 1, property: prop, value: value.number, qualifier: value.qualifier,
        category: word,
        step: value.step, temperature_c: temperature[0], temperature_half_width_k: temperature[1],
        parallel_ohm: parallel,
        parallel_tolerance: row.parallel_tolerance === null ? L.parallelTolerance
          : row.parallel_tolerance,
        test_frequency_hz: frequency, instrument: meter, calibration: "unknown",
        equivalent: row.equivalent || "series", standoff_m: standoff[0],
        standoff_step_m: standoff[1],
        zero: zero[0], zero_step: zero[1], lead_resistance_ohm: 0, input_resistance_ohm: null,
        input_capacitance_f: 0, sensor_depth_m: 0, day: row.date
      }
    };
  }

  C.readReading = readReading;
})();
