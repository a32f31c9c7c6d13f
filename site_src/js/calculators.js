/* The calculators' wiring: fields read by grammar.js, worked out by formulas.js, told in words. */
(function () {
  "use strict";
  var B = coilbook.bench, K = B.constants, F = coilbook.formulas;
  var PAUSE_MS = 700; /* A result is announced when the typing rests. */
  var SVG = "http://www.w3.org/2000/svg";
  /* The curve is drawn in the pixels that it has, so that its labels keep their size on a
     telephone. */
  var BOX = { left: 46, top: 12, bottom: 290, margin: 10, height: 330, narrowest: 240 };
  var POINTS = 160; /* of the curve */
  var COVERAGE = K.coverageFactor;

  function decimalsFor(extent) {
    return extent > 0 && isFinite(extent)
      ? Math.max(0, Math.min(6, 1 - Math.floor(Math.log10(extent)))) : 3;
  }
  function minus(text) { return text.replace("-", "−"); }
  function fixed(value, decimals) { return minus(value.toFixed(decimals)); }
  function figures(value, count) {
    return minus(String(Number(value.toPrecision(count || 6))));
  }
  function withU(value, u, unit) {
    var extent = COVERAGE * u, decimals = decimalsFor(extent);
    return fixed(value, decimals) + " ± " + fixed(extent, decimals) + " " + unit;
  }

  /** Read a field by the grammar, in SI; an empty one is null. A refusal names the field. */
  function read(form, name, kind, unit) {
    var field = form.elements[name];
    if (!field.value.trim()) { return null; }
    try {
      var written = coilbook.grammar.readValue(field.value, kind, { defaultUnit: unit });
      var target = B.grammar.kinds[kind].si;
      return {
        qualifier: written.qualifier,
        value: written.magnitude === null ? null : F.convert(written.magnitude, written.unit,
          target),
        step: written.step === null ? null : written.step * F.scale(written.unit, target),
        written: written
      };
    } catch (refusal) {
      if (!refusal.what) { throw refusal; }
      field.setAttribute("aria-invalid", "true");
      throw new RangeError(refusal.what.charAt(0).toUpperCase() + refusal.what.slice(1) + " " +
        refusal.todo);
    }
  }
  function wanted(form, name, kind, unit) {
    var found = read(form, name, kind, unit);
    if (!found) {
      throw new RangeError("Fill in: " + form.elements[name].labels[0].textContent.trim() + ".");
    }
    if (found.value === null) {
      throw new RangeError("An open circuit has no resistance to work with.");
    }
    return found;
  }
  function plain(form, name, kind, unit) {
    var found = wanted(form, name, kind, unit);
    if (found.qualifier) {
      form.elements[name].setAttribute("aria-invalid", "true");
      throw new RangeError("A bound is not enough here. Write one value.");
    }
    return found;
  }
  function blank(form, name, kind, unit) {
    var found = read(form, name, kind, unit);
    return found && found.value;
  }

  function reading(form, more, name) {
    var read_ = wanted(form, name || "reading", "resistance", "kΩ");
    return Object.assign({
      ohm: read_.value, step_ohm: read_.step === null ? 0 : read_.step, qualifier: read_.qualifier,
      accuracy: null,
      meter_ohm: null, leads_ohm: 0, in_circuit: false, parallel_ohm: null, parallel_tolerance: 0,
      temperature_c: K.referenceTemperatureC, half_width_k: 0 }, more);
  }
  function meterOf(form) {
    var percent = blank(form, "percent", "ratio", "%"),
      digits = blank(form, "digits", "count", "pieces");
    return percent === null && digits === null ? null
      : { percent: F.convert(percent || 0, "fraction", "percent"), digits: digits || 0 };
  }
  /* One of two coils that were read with one meter at one temperature, whatever that was. */
  function coil(form, name) {
    plain(form, name, "resistance", "kΩ");
    return F.reduceResistance(
      reading(form, { temperature_c: K.referenceTemperatureC, accuracy: meterOf(form) }, name));
  }
  /** Return the standard uncertainty of a result of several readings, each [derivative, reduced
   * reading].

      As combined_budget of measures/combine.py: the meter's share of the reading that pushes two
      parts the same way adds up; where it would cancel, no credit is taken for that. */
  function combinedU(parts) {
    var shared = [0, 0], own = [];
    parts.forEach(function (part) {
      part[1].lines.forEach(function (line) {
        var effect = Math.abs(part[0]) * line.effect;
        if (line.name === "percent") {
          shared[part[0] < 0 ? 0 : 1] += effect;
        } else {
          own.push(effect);
        }
      });
    });
    return Math.hypot.apply(null, own.concat(shared));
  }
  function largest(lines) {
    var most = lines.reduce(function (a, b) { return b.effect > a.effect ? b : a; });
    return B.names[most.name] || most.name;
  }
  function ohms(result) {
    var sign = { "<": "below ", ">": "above " }[result.qualifier] || "";
    if (sign) { return sign + figures(result.value / 1000, 5) + " kΩ"; }
    return withU(result.value / 1000, result.u / 1000, "kΩ");
  }
  var FLAGS = {
    no_instrument: "Without the meter's accuracy only the last digit counts; "
      + "the true error may be larger.",
    no_temperature: "No temperature: " + K.referenceTemperatureC + " °C ± " +
      K.unstatedTemperatureHalfWidthK + " K is taken.",
    parallel_impossible: "A reading cannot reach what lies in parallel with it. "
      + "Check what is connected, or unsolder one lead."
  };
  function reduced(result, where) {
    var lines = ["Through " + largest(result.lines) + " most of all; ± is U (k = " + COVERAGE +
      ")."];
    if (result.qualifier || !result.u) { lines = []; }
    return [where + ": " + ohms(result)].concat(lines, result.flags.map(function (flag) {
      return FLAGS[flag];
    }));
  }

  var CALCULATORS = {
    temperature: function (form) {
      var celsius = blank(form, "temperature", "temperature", "°C");
      var width = blank(form, "half_width", "temperature_difference", "K");
      return reduced(F.reduceResistance(reading(form, {
        temperature_c: celsius === null ? null : F.convert(celsius, "kelvin", "degC"),
        half_width_k: width || 0,
        accuracy: meterOf(form)
      })), "At " + K.referenceTemperatureC + " °C");
    },

    parallel: function (form) {
      var path = plain(form, "path", "resistance", "kΩ"),
        tolerance = blank(form, "tolerance", "ratio", "%");
      return reduced(F.reduceResistance(reading(form, {
        in_circuit: true, parallel_ohm: path.value, parallel_tolerance: F.convert(
          tolerance || 0, "fraction", "percent")
      })), "By itself, at the temperature of the day");
    },

    turns: function (form) {
      var wire = B.wires[form.elements.wire.value], bobbin = B.bobbins[form.elements.bobbin.value];
      var winding = F.windingOf(wire, bobbin), turns, first, found;
      if (form.elements.known.value === "turns") {
        turns = plain(form, "value", "count", "turns").value;
        found = F.resistanceEstimate(turns, winding, wire.half_widths);
        first = "Resistance at 20 °C: " + withU(found.value / 1000, found.u / 1000, "kΩ");
      } else {
        var known = plain(form, "value", "resistance", "kΩ");
        found = F.turnsEstimate(known.value, F.rectangular((known.step || 0) / 2), winding,
          wire.half_widths);
        turns = found.value;
        first = "Turns: " + withU(turns, found.u, "turns");
      }
      function fill(packing) {
        return figures(100 * F.fillRatio(turns, bobbin.winding_height_m, bobbin.winding_depth_m,
          wire.overall_diameter_m, packing), 3);
      }
      var scattered = F.scatterTurns(bobbin.winding_height_m, bobbin.winding_depth_m,
        wire.overall_diameter_m, K.scatterFill);
      return [
        first, "Through " + largest(found.lines) + " most of all; ± is U (k = " + COVERAGE + ").",
        "The window is " + fill(K.squarePacking) + " % full with layers laid square, " +
          fill(K.hexagonalPacking)
          + " % nested, " + figures(100 * turns / scattered, 3) +
            " % scattered; above 100 % it does not fit so.",
        "Wire in the coil " + figures(F.wireLengthM(turns, winding), 4) + " m, mean turn "
          + figures(1000 * F.meanTurnM(turns, winding), 4) + " mm. Bare diameter " +
            figures(1000 * wire.bare_diameter_m, 3)
          + " mm by the table, " + figures(1000 * F.awgDiameterM(wire.awg), 3) +
            " mm by the gauge's formula."];
    },

    lengths: function (form) {
      var metres = plain(form, "size", "length", "mm").value;
      var inches = F.convert(metres, "meter", "inch"),
        mm = F.convert(metres, "meter", "millimeter");
      var bottom = K.fractionDenominator, found = F.nearestFraction(inches, bottom),
        fine = F.nearestFraction(inches, 4 * bottom);
      function words(f) {
        var part = f.top ? f.top + "/" + f.bottom : "",
          away = F.convert(f.rest, "inch", "millimeter");
        var text = (f.whole || !part ? f.whole + (part ? " " : "") : "") + part + " in";
        return Math.abs(away) < 5e-4 ? text + " exactly" : text + " " + (away > 0 ? "+ " : "− ") +
          Math.abs(away).toFixed(3) + " mm";
      }
      return [figures(mm) + " mm = " + figures(inches) + " in",
        "In parts of " + bottom + ": " + words(found) + ". In parts of " + 4 * bottom + ": " +
          words(fine) + "."];
    },

    flux: function (form) {
      var tesla = plain(form, "flux", "flux_density", "mT").value;
      return [figures(F.convert(tesla, "tesla", "millitesla")) + " mT = " +
        figures(F.convert(tesla, "tesla", "gauss")) + " G = "
        + figures(tesla) + " T"];
    },

    hum: function (form) {
      var first = coil(form, "a"), second = coil(form, "b"), a = first.value, b = second.value;
      var sum = a + b, by = (a >= b ? 400 : -400) / (sum * sum),
        imbalance = F.imbalancePercent(a, b);
      var u = combinedU([[by * b, first], [-by * a, second]]),
        left = F.humLeftInterval(imbalance, u, COVERAGE);
      var level = isFinite(left.level_db) ? "Hum left: " + fixed(left.level_db, 1) +
        " dB of what both catch, " : "Equal as read. Hum left: ";
      level += isFinite(left.low_db) ? "from " + fixed(left.low_db, 1) + " to " +
        fixed(left.high_db, 1) + " dB."
        : isFinite(left.high_db) ? "at most " + fixed(left.high_db, 1) + " dB: they may be equal."
          : "none.";
      var across = F.parallelOhm(a, b), part = across / a, other = across / b;
      return [
        "Imbalance: " + withU(imbalance, u, "%"), level,
        "In series " + withU(sum / 1000, combinedU([[1, first], [1, second]]) / 1000, "kΩ") +
          ", in parallel "
          + withU(across / 1000, combinedU([[part * part, first], [other * other, second]]) / 1000,
            "kΩ") + ".",
        "± is U (k = " + COVERAGE + "), and the dB are those of the imbalance's ends."].concat(
        first.flags.map(function (flag) { return FLAGS[flag]; }));
    },

    response: function (form) {
      var parts = {};
      form.querySelectorAll("input[type=range]").forEach(function (slider) {
        parts[slider.name] = Number(slider.value) * Number(slider.dataset.factor);
        var shown = slider.value + " " + slider.dataset.unit;
        slider.setAttribute("aria-valuetext", shown);
        form.querySelector("[data-for=" + slider.name + "]").textContent = shown;
      });
      var free = { volume_ohm: Infinity, input_ohm: Infinity, cable_f: 0, tone_ohm: Infinity,
        tone_f: 0 };
      draw(form.querySelector(".cb-curve"), parts, free);
      document.querySelectorAll("#cb-levels [data-hz]").forEach(function (cell) {
        cell.textContent = fixed(F.levelDb(parts, parts, Number(cell.dataset.hz)), 1);
      });
      var marks = F.marks(parts, parts), alone = F.marks(parts, free);
      var lines = [isFinite(marks.peak_hz)
        ? "Peak: " + figures(marks.peak_hz / 1000, 3) + " kHz, " + fixed(marks.height_db, 1) + " dB"
        : "Nothing stands out: the load is too heavy for a peak."];
      lines.push((isFinite(marks.edge_hz) ? "3 dB down at " + figures(marks.edge_hz / 1000, 3) +
        " kHz. " : "")
        + (isFinite(alone.peak_hz) ? "With nothing but its own lead: " +
          figures(alone.peak_hz / 1000, 3) + " kHz." : ""));
      return lines;
    }
  };

  function node(svg, name, attributes, text) {
    var made = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    if (text) { made.textContent = text; }
    svg.append(made);
  }
  /* Not at each keystroke: to ask for a width makes the browser lay the whole page out. */
  function fit(svg) {
    var width = Math.max(BOX.narrowest, Math.round(svg.getBoundingClientRect().width));
    svg.setAttribute("viewBox", "0 0 " + width + " " + BOX.height);
  }
  function draw(svg, circuit, free) {
    var low = Number(svg.dataset.lowHz), high = Number(svg.dataset.highHz);
    var bottom = Number(svg.dataset.lowDb), top = Number(svg.dataset.highDb);
    var right = svg.viewBox.baseVal.width - BOX.margin;
    function x(hertz) {
      return BOX.left + (right - BOX.left) * Math.log(hertz / low) / Math.log(high / low);
    }
    function y(db) {
      return BOX.bottom - (BOX.bottom - BOX.top) * (
        Math.max(bottom, Math.min(top, db)) - bottom) / (top - bottom);
    }
    function path(load) {
      var points = [];
      for (var i = 0; i <= POINTS; i++) {
        var hertz = low * Math.pow(high / low, i / POINTS);
        points.push(x(hertz).toFixed(1) + " " + y(F.levelDb(circuit, load, hertz)).toFixed(1));
      }
      return "M" + points.join("L");
    }
    svg.querySelectorAll(":scope > :not(title)").forEach(function (old) { old.remove(); });
    for (var db = bottom; db <= top; db += 10) {
      node(svg, "path", { "class": db ? "cb-curve-grid" : "cb-curve-zero", d: "M" + BOX.left + " " +
        y(db) + "H" + right });
      node(svg, "text", { x: BOX.left - 6, y: y(db) + 4, "text-anchor": "end" }, minus(String(db)));
    }
    [100, 300, 1000, 3000, 10000].forEach(function (hertz) {
      node(svg, "path", { "class": "cb-curve-grid", d: "M" + x(hertz) + " " + BOX.top + "V" +
        BOX.bottom });
      node(svg, "text", { x: x(hertz), y: BOX.bottom + 18, "text-anchor": "middle" },
        hertz < 1000 ? String(hertz) : hertz / 1000 + "k");
    });
    node(svg, "text", { x: right, y: BOX.bottom + 36, "text-anchor": "end" },
      "frequency, Hz; level, dB");
    node(svg, "path", { "class": "cb-curve-free", d: path(free) });
    node(svg, "path", { "class": "cb-curve-line", d: path(circuit) });
  }

  function wire(form) {
    var name = form.dataset.cbCalc, told = document.getElementById("cb-" + name + "-told");
    var status = document.getElementById("cb-" + name + "-status"), timer = 0;
    function run(quiet) {
      var lines, refused = false;
      form.querySelectorAll("[aria-invalid]").forEach(function (field) {
        field.removeAttribute("aria-invalid");
      });
      try { lines = CALCULATORS[name](form); } catch (error) {
        if (!(error instanceof RangeError)) { throw error; }
        lines = [error.message];
        refused = true;
      }
      told.classList.toggle("cb-refused", refused);
      told.replaceChildren.apply(told, lines.filter(Boolean).map(function (line, i) {
        var p = document.createElement("p");
        if (!i) { p.className = "cb-answer"; }
        p.textContent = line;
        return p;
      }));
      if (quiet) { return; } // what was typed meanwhile is still to be announced
      clearTimeout(timer);
      timer = setTimeout(function () { status.textContent = lines.join(" "); }, PAUSE_MS);
    }
    form.hidden = false;
    form.addEventListener("input", function () { run(false); });
    form.addEventListener("submit", function (event) { event.preventDefault(); run(false); });
    form.querySelectorAll("[data-cb-load]").forEach(function (button) {
      button.addEventListener("click", function () {
        var load = B.loads.find(function (l) { return l.code === button.dataset.cbLoad; });
        Object.keys(load).forEach(function (key) {
          var slider = form.elements[key];
          if (slider) { slider.value = load[key] / Number(slider.dataset.factor); }
        });
        run(false);
      });
    });
    var curve = form.querySelector(".cb-curve");
    if (curve) { window.addEventListener("resize", function () { fit(curve); run(true); }); }
    return function () {
      if (curve) { fit(curve); }
      run(true);
    };
  }

  /* The first answers at once, the others one by one as soon as the browser has nothing else to
     do. */
  var first = Array.from(document.querySelectorAll("form[data-cb-calc]"), wire);
  var idle = window.requestIdleCallback || setTimeout;
  function next() {
    first.shift()();
    if (first.length) { idle(next); }
  }
  next();
  document.querySelectorAll(".cb-need-script").forEach(function (told) { told.hidden = true; });
})();
