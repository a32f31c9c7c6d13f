/* The grammar of written values, as records/values.py has it: its tables and patterns come from
   there, by the data script bench.js. Pure functions; a refusal is thrown as {what, todo}. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var G = coilbook.bench.grammar;
  var FORMS = G.forms.map(function (form) {
    return { name: form[0], pattern: { of: form.slice(1) } };
  });
  var REFUSALS = G.refusals.map(function (r) {
    return { pattern: { of: r }, what: r[3], todo: r[4] };
  });
  var EITHER = { of: G.either };
  var PLAIN = /^[ -~]*$/;
  var NEAR = G.near;
  var DIGIT = /^\p{Nd}$/u;

  function refuse(what, todo) { throw { what: what, todo: todo }; }

  /** Match at the beginning of a text only. Patterns are made when they are needed: those that know
   * the digits and letters of every script cost a browser ten times as much, and plain text needs
   * none of that. */
  function match(pattern, text) {
    var made = PLAIN.test(text) ? "plain" : "every", of = pattern.of;
    if (!pattern[made]) {
      pattern[made] = made === "plain" ? new RegExp(of[2], of[1].replace("u", ""))
        : new RegExp(of[0], of[1]);
    }
    pattern[made].lastIndex = 0;
    return pattern[made].exec(text);
  }

  /** Return text with every way of writing one sign folded into one. */
  function fold(text) {
    /* Plain signs without a space stay what they are; only the grave accent among them stands for
       another. */
    if (/^[!-_a-~]*$/.test(text)) { return text; }
    var plain = Array.from(
      text, function (c) { return Object.hasOwn(G.replaced, c) ? G.replaced[c] : c; }).join("");
    var spaced = Array.from(plain.normalize("NFKC"), function (c) {
      return G.spaces.indexOf(c) >= 0 ? " " : c;
    });
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

  /* Near misses, as records/spelling.py finds them with Python's difflib. */
  function longestMatch(a, b, fromA, toA, fromB, toB) {
    var best = { a: fromA, b: fromB, size: 0 }, lengths = {};
    for (var i = fromA; i < toA; i++) {
      var next = {};
      for (var j = fromB; j < toB; j++) {
        if (a[i] === b[j]) {
          var k = next[j] = (lengths[j - 1] || 0) + 1;
          if (k > best.size) { best = { a: i - k + 1, b: j - k + 1, size: k }; }
        }
      }
      lengths = next;
    }
    return best;
  }
  function matched(a, b, fromA, toA, fromB, toB) {
    var m = longestMatch(a, b, fromA, toA, fromB, toB);
    return m.size ? m.size + matched(a, b, fromA, m.a, fromB, m.b) +
      matched(a, b, m.a + m.size, toA, m.b + m.size, toB) : 0;
  }
  function alike(one, other) {
    var a = Array.from(one), b = Array.from(other), all = a.length + b.length;
    return all ? 2 * matched(a, b, 0, a.length, 0, b.length) / all : 1;
  }
  function beginsAlike(one, other) {
    var n = 0;
    while (n < one.length && one[n] === other[n]) { n += 1; }
    return n;
  }
  /** Return the option that looks most like a word, or null when none comes close. */
  function nearest(word, options) {
    var wanted = word.toLowerCase(), folded = {};
    options.forEach(function (option) { folded[option.toLowerCase()] = option; });
    var found = Object.keys(folded).map(function (option) {
      return { option: option, close: alike(option, wanted) };
    })
      .filter(function (one) { return one.close >= NEAR.cutoff; });
    found.sort(function (x, y) { return y.close - x.close || (x.option < y.option ? 1 : -1); });
    var best = null;
    found.slice(0, NEAR.ties).forEach(function (one) {
      var closeness = alike(one.option, wanted).toFixed(9),
        begins = beginsAlike(one.option, wanted);
      if (!best || closeness > best.closeness ||
        (closeness === best.closeness && begins > best.begins)) {
        best = { option: one.option, closeness: closeness, begins: begins };
      }
    });
    return best ? folded[best.option] : null;
  }
  function didYouMean(word, options) {
    var near = nearest(word, options);
    return near ? "Did you mean '" + near + "'? " : "";
  }

  /** Return the registry's name of a unit written in any spelling of the kind, or as that name. */
  function readUnit(text, kindName) {
    var kind = G.kinds[kindName], folded = fold(text);
    var unit = spelt(kind.spellings, folded);
    if (unit !== undefined) { return unit; }
    if (Object.values(kind.spellings).indexOf(folded) >= 0 || folded === kind.si) { return folded; }
    var others = Object.values(G.kinds).filter(function (k) {
      return Object.hasOwn(k.spellings, folded);
    });
    if (others.length) {
      var names = others.map(function (k) { return k.plain; }).join(" or ");
      refuse("'" + folded + "' is a unit of " + names + ", and " + kind.plain + " is wanted.",
        "Write it as in " + kind.example + ", or name the property that was measured.");
    }
    refuse("'" + folded + "' is not a unit of " + kind.plain + ".",
      didYouMean(folded, Object.keys(kind.spellings)) + "Write it as in " + kind.example + ".");
  }

  function readUnitAlone(text, kindName) {
    var declared = spelt(G.propertyUnits, text);
    return declared && declared[0] === kindName ? declared[1] : readUnit(text, kindName);
  }

  function letterUnit(letter, kindName) {
    return letter === "R" && kindName === "resistance" ? "ohm"
      : spelt(G.kinds[kindName].bare, letter);
  }

  function refuseUsual(folded) {
    REFUSALS.forEach(function (r) {
      if (match(r.pattern, folded)) { refuse(r.what.split("{text}").join(folded), r.todo); }
    });
  }

  function refuseEither(form, number, decimalComma) {
    var other = decimalComma ? "." : ",";
    if (form === "plain" && number.indexOf(other) >= 0 && match(EITHER, number)) {
      var thousands = number.replace(other, ""),
        decimal = number.replace(other, decimalComma ? "," : ".");
      refuse("'" + number + "' could mean " + thousands + " or " + decimal + ".",
        "Write " + thousands + " or " + decimal + ".");
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
        refuse("'" + found[0] + "' has a fraction of one or more behind a whole number.",
          "Correct it. " + G.oneValue);
      }
      top += BigInt(plainDigits(g.whole || "") || "0") * bottom;
      return { magnitude: ratio(top, bottom), step: null, zero: !top };
    }
    var decimals = plainDigits(g.decimals || "");
    var exponent = g.exponent ? (g.exponent[0] === "-" ? -1 : 1) * Number(plainDigits(g.exponent))
      : 0;
    var power = exponent - decimals.length;
    var digits = plainDigits(g.whole) + decimals;
    return { magnitude: Number(digits + "e" + power), step: Number("1e" + power),
      zero: /^0*$/.test(digits) };
  }

  /* The unit behind a number (null: none is written), and whether it is a prefix alone. */
  function unitOf(folded, rest, form, found, kindName) {
    var kind = G.kinds[kindName];
    if (form === "letter") {
      if (rest && spelt(kind.spellings, rest) !== kind.si) {
        refuse("'" + folded + "' writes its unit twice.", "Write " + found[0] +
          " alone, or a plain number.");
      }
      return { unit: letterUnit(found.groups.letter, kindName), prefixed: !rest };
    }
    if (!rest) { return { unit: null, prefixed: false }; }
    if (spelt(kind.spellings, rest)) {
      return { unit: spelt(kind.spellings, rest), prefixed: false };
    }
    if (spelt(kind.bare, rest)) { return { unit: spelt(kind.bare, rest), prefixed: true }; }
    refuseUsual(folded);
    return { unit: readUnit(rest, kindName), prefixed: false };
  }

  function finite(number, zero, folded) {
    if (!isFinite(number) || (number === 0) !== zero) {
      refuse("'" + folded + "' is too large or too small.", "Correct the exponent.");
    }
    return number;
  }

  /** Take a written value apart: {qualifier, magnitude, step, unit, prefixed}; throws {what, todo}.
      The unit is null where none is written; prefixed says that it rests on an SI prefix alone. */
  function readParts(text, kindName, comma) {
    var kind = G.kinds[kindName], folded = fold(text);
    if (!folded) { refuse("the value is empty.", "Write what the instrument showed."); }
    if (Array.from(folded).length > G.longest) {
      refuse("the value is longer than " + G.longest + " characters.", "Move the words to remark.");
    }
    if (G.open.indexOf(folded.toLowerCase()) >= 0) {
      if (kindName !== "resistance") {
        refuse("'" + folded + "' says that a circuit is open, and " + kind.plain +
          " cannot be open.",
          "Write a number, as in " + kind.example + ".");
      }
      return { qualifier: "open", magnitude: null, step: null, unit: null, prefixed: false };
    }
    var sign = G.qualifiers.find(function (q) { return folded.startsWith(q[0]); });
    var rest = sign ? folded.slice(sign[0].length).trimStart() : folded;
    var negative = rest[0] === "-";
    if (negative || rest[0] === "+") { rest = rest.slice(1).trimStart(); }
    var form = null, found = null;
    FORMS.some(function (f) {
      found = match(f.pattern, rest);
      if (found && (f.name !== "letter" || letterUnit(found.groups.letter, kindName))) {
        form = f.name;
        return true;
      }
      return false;
    });
    if (form === null) {
      refuseUsual(folded);
      refuse("'" + folded + "' is not a number.", "Write it as in " + kind.example + ".");
    }
    refuseEither(form, found[0], Boolean(comma));
    var number = numberOf(form, found);
    var written = unitOf(folded, rest.slice(found[0].length).trim(), form, found, kindName);
    var magnitude = finite(negative ? -number.magnitude : number.magnitude, number.zero, folded);
    /* No number is written -0 here, as it is none in Python's fractions. */
    if (number.zero) { magnitude = 0; }
    var step = number.step === null ? null : finite(number.step, false, folded);
    return {
      qualifier: sign ? sign[1] : "", magnitude: magnitude, step: step, unit: written.unit,
        prefixed: written.prefixed };
  }

  /** Read a value as somebody wrote it: {text, qualifier, magnitude, unit, step}; throws {what,
   * todo}. Options: defaultUnit, what a bare number means; decimalComma, whether decimals have a
   * comma. */
  function readValue(text, kindName, options) {
    var kind = G.kinds[kindName], defaultUnit = options && options.defaultUnit;
    var parts = readParts(text, kindName, options && options.decimalComma), unit = parts.unit;
    if (parts.qualifier === "open") { unit = kind.si; } else if (unit === null) {
      if (!defaultUnit) {
        refuse("'" + fold(text) + "' has no unit.", "Write it with one, as in " + kind.example +
          ".");
      }
      unit = readUnitAlone(defaultUnit, kindName);
    }
    return { text: text, qualifier: parts.qualifier, magnitude: parts.magnitude, unit: unit,
      step: parts.step };
  }

  coilbook.grammar = {
    fold: fold, plainDigits: plainDigits, nearest: nearest, didYouMean: didYouMean,
    readUnit: readUnit, readUnitAlone: readUnitAlone, readParts: readParts, readValue: readValue
  };
})();
