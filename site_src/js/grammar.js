/* The grammar of written values, as records/values.py has it: its tables and patterns come from there,
   by the data script bench.js. Pure functions; a refusal is thrown as {what, todo}. */
(function () {
  "use strict";
  var G = window.coilbookBench.grammar;
  var FORMS = G.forms.map(function (form) { return { name: form[0], pattern: new RegExp(form[1], form[2]) }; });
  var REFUSALS = G.refusals.map(function (r) { return { pattern: new RegExp(r[0], r[1]), what: r[2], todo: r[3] }; });
  var EITHER = new RegExp(G.either[0], G.either[1]);
  var DIGIT = /^\p{Nd}$/u;

  function refuse(what, todo) { throw { what: what, todo: todo }; }

  /** Match at the beginning of a text only. */
  function match(pattern, text) {
    pattern.lastIndex = 0;
    return pattern.exec(text);
  }

  /** Return text with every way of writing one sign folded into one. */
  function fold(text) {
    var plain = Array.from(text, function (c) { return Object.hasOwn(G.replaced, c) ? G.replaced[c] : c; }).join("");
    var spaced = Array.from(plain.normalize("NFKC"), function (c) { return G.spaces.indexOf(c) >= 0 ? " " : c; });
    return spaced.join("").split(" ").filter(Boolean).join(" ");
  }

  /* The digits of every script stand ten in a row, nought first. */
  function plainDigits(text) {
    return Array.from(text).filter(function (c) { return DIGIT.test(c); }).map(function (c) {
      var before = 0, at = c.codePointAt(0);
      while (DIGIT.test(String.fromCodePoint(at - before - 1))) { before += 1; }
      return String(before % 10);
    }).join("");
  }

  function spelt(table, text) { return Object.hasOwn(table, text) ? table[text] : undefined; }

  /** Return the registry's name of a unit written in any spelling of the kind, or as that name. */
  function readUnit(text, kindName) {
    var kind = G.kinds[kindName], folded = fold(text);
    var unit = spelt(kind.spellings, folded);
    if (unit !== undefined) { return unit; }
    if (Object.values(kind.spellings).indexOf(folded) >= 0 || folded === kind.si) { return folded; }
    var others = Object.values(G.kinds).filter(function (k) { return Object.hasOwn(k.spellings, folded); });
    if (others.length) {
      var names = others.map(function (k) { return k.plain; }).join(" or ");
      refuse("'" + folded + "' is a unit of " + names + ", and " + kind.plain + " is wanted.",
        "Write it as in " + kind.example + ", or name the property that was measured.");
    }
    refuse("'" + folded + "' is not a unit of " + kind.plain + ".", "Write it as in " + kind.example + ".");
  }

  function readUnitAlone(text, kindName) {
    var declared = spelt(G.propertyUnits, text);
    return declared && declared[0] === kindName ? declared[1] : readUnit(text, kindName);
  }

  function letterUnit(letter, kindName) {
    return letter === "R" && kindName === "resistance" ? "ohm" : spelt(G.kinds[kindName].bare, letter);
  }

  function refuseUsual(folded) {
    REFUSALS.forEach(function (r) {
      if (match(r.pattern, folded)) { refuse(r.what.split("{text}").join(folded), r.todo); }
    });
  }

  function refuseEither(form, number, decimalComma) {
    var other = decimalComma ? "." : ",";
    if (form === "plain" && number.indexOf(other) >= 0 && match(EITHER, number)) {
      var thousands = number.replace(other, ""), decimal = number.replace(other, decimalComma ? "," : ".");
      refuse("'" + number + "' could mean " + thousands + " or " + decimal + ".", "Write " + thousands + " or " + decimal + ".");
    }
  }

  /* A ratio of whole numbers of any length, rounded once: 300 decimals and whether anything is left
     decide on which side of every half a value of 60 signs lies. */
  function ratio(top, bottom) {
    var scale = BigInt(10) ** BigInt(300);
    var left = (top * scale) % bottom;
    return Number(String((top * scale) / bottom) + (left ? "1" : "0") + "e-301");
  }

  function numberOf(form, found) {
    var g = found.groups;
    if (form === "fraction") {
      var top = BigInt(plainDigits(g.top)), bottom = BigInt(plainDigits(g.bottom));
      if (!bottom) { refuse("'" + found[0] + "' divides by zero.", "Correct the fraction."); }
      if (g.whole !== undefined && top >= bottom) {
        refuse("'" + found[0] + "' has a fraction of one or more behind a whole number.", "Correct it. " + G.oneValue);
      }
      top += BigInt(plainDigits(g.whole || "") || "0") * bottom;
      return { magnitude: ratio(top, bottom), step: null, zero: !top };
    }
    var decimals = plainDigits(g.decimals || "");
    var exponent = g.exponent ? (g.exponent[0] === "-" ? -1 : 1) * Number(plainDigits(g.exponent)) : 0;
    var power = exponent - decimals.length;
    var digits = plainDigits(g.whole) + decimals;
    return { magnitude: Number(digits + "e" + power), step: Number("1e" + power), zero: /^0*$/.test(digits) };
  }

  function unitOf(folded, rest, form, found, kindName) {
    var kind = G.kinds[kindName];
    if (form === "letter") {
      if (rest && spelt(kind.spellings, rest) !== kind.si) {
        refuse("'" + folded + "' writes its unit twice.", "Write " + found[0] + " alone, or a plain number.");
      }
      return letterUnit(found.groups.letter, kindName);
    }
    if (!rest) { return null; }
    var unit = spelt(kind.spellings, rest) || spelt(kind.bare, rest);
    if (unit) { return unit; }
    refuseUsual(folded);
    return readUnit(rest, kindName);
  }

  function finite(number, zero, folded) {
    if (!isFinite(number) || (number === 0) !== zero) {
      refuse("'" + folded + "' is too large or too small.", "Correct the exponent.");
    }
    return number;
  }

  /** Read a value as somebody wrote it: {text, qualifier, magnitude, unit, step}; throws {what, todo}.
      Options: defaultUnit, what a bare number means; decimalComma, whether decimals have a comma. */
  function readValue(text, kindName, options) {
    var kind = G.kinds[kindName], comma = Boolean(options && options.decimalComma);
    var defaultUnit = options && options.defaultUnit;
    var folded = fold(text);
    if (!folded) { refuse("the value is empty.", "Write what the instrument showed."); }
    if (Array.from(folded).length > G.longest) {
      refuse("the value is longer than " + G.longest + " characters.", "Move the words to remark.");
    }
    if (G.open.indexOf(folded.toLowerCase()) >= 0) {
      if (kindName !== "resistance") {
        refuse("'" + folded + "' says that a circuit is open, and " + kind.plain + " cannot be open.",
          "Write a number, as in " + kind.example + ".");
      }
      return { text: text, qualifier: "open", magnitude: null, unit: kind.si, step: null };
    }
    var sign = G.qualifiers.find(function (q) { return folded.startsWith(q[0]); });
    var rest = sign ? folded.slice(sign[0].length).trimStart() : folded;
    var negative = rest[0] === "-";
    if (negative || rest[0] === "+") { rest = rest.slice(1).trimStart(); }
    var form = null, found = null;
    FORMS.some(function (f) {
      found = match(f.pattern, rest);
      if (found && (f.name !== "letter" || letterUnit(found.groups.letter, kindName))) { form = f.name; return true; }
      return false;
    });
    if (form === null) {
      refuseUsual(folded);
      refuse("'" + folded + "' is not a number.", "Write it as in " + kind.example + ".");
    }
    refuseEither(form, found[0], comma);
    var number = numberOf(form, found);
    var unit = unitOf(folded, rest.slice(found[0].length).trim(), form, found, kindName);
    var magnitude = finite(negative ? -number.magnitude : number.magnitude, number.zero, folded);
    /* No number is written -0 here, as it is none in Python's fractions. */
    if (number.zero) { magnitude = 0; }
    var step = number.step === null ? null : finite(number.step, false, folded);
    if (unit === null) {
      if (!defaultUnit) { refuse("'" + folded + "' has no unit.", "Write it with one, as in " + kind.example + "."); }
      unit = readUnitAlone(defaultUnit, kindName);
    }
    return { text: text, qualifier: sign ? sign[1] : "", magnitude: magnitude, unit: unit, step: step };
  }

  window.coilbookGrammar = { fold: fold, readUnit: readUnit, readValue: readValue };
})();
