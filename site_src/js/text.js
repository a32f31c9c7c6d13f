/* Numbers in words, as pages/text.py writes them: a test holds both sides to the same cases. Pure
   functions. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var THIN = "\u202f", HARD = "\u00a0", MINUS = "\u2212";
  /* Enough places to write any number of this size out to its very end. */
  var ALL_PLACES = 100;

  /** Write a number with so many decimals; an exact half goes to the even digit, as in Python.
      Negative decimals round to tens, hundreds and so on. Without grouping, with a plain minus. */
  function fixed(value, decimals) {
    var size = Math.abs(value);
    if (!isFinite(value) || size >= 1e21) { return String(value); }
    var parts = size.toFixed(ALL_PLACES).split(".");
    var all = parts[0] + parts[1], keep = parts[0].length + decimals;
    if (keep < 0) { return decimals > 0 ? (0).toFixed(decimals) : "0"; }
    var kept = "0" + all.slice(0, keep), rest = all.slice(keep);
    var first = rest.charAt(0), exact = /^50*$/.test(rest);
    var odd = Number(kept.charAt(kept.length - 1)) % 2 === 1;
    if (first >= "5" && (!exact || odd)) {
      kept = String(BigInt(kept) + BigInt(1)).padStart(kept.length, "0");
    }
    var whole = decimals > 0 ? kept.slice(0, -decimals) : kept + "0".repeat(-decimals);
    var text = whole.replace(/^0+(?=\d)/, "") + (decimals > 0 ? "." + kept.slice(-decimals) : "");
    return (value < 0 && /[1-9]/.test(text) ? "-" : "") + text;
  }

  /** Write a number with so many decimals, digits in threes from five digits on. */
  function number(value, decimals) {
    var text = fixed(value, decimals).replace("-", "");
    var negative = value < 0 && /[1-9]/.test(text);
    var parts = text.split(".");
    if (Math.abs(Number(text)) >= 10000) { parts[0] = parts[0].replace(/\B(?=(\d{3})+$)/g, THIN); }
    return (negative ? MINUS : "") + parts.join(".");
  }

  /** Return a unit with the space before it that keeps it on the line; a count has none. */
  function unitText(unit) { return !unit || unit === "1" || unit === "pieces" ? "" : HARD + unit; }

  /** Write a value in its property's unit and decimals. */
  function quantity(value, prop) { return number(value, prop.decimals) + unitText(prop.unit); }

  /** Write a value in its property's unit; one that its decimals would blur is given more. */
  function closeQuantity(value, prop) {
    var decimals = prop.decimals;
    while (decimals < 6 && value && Math.abs(value) < Math.pow(10, 1 - decimals)) { decimals += 1; }
    return number(value, decimals) + unitText(prop.unit);
  }

  /** Return the decimals at which a result is shown: two digits of U, at most one past the
   * usual. */
  function resultDecimals(extent, prop) {
    var usual = prop.decimals;
    if (!(extent > 0) || !isFinite(extent)) { return usual; }
    var two = 1 - Math.floor(Math.log10(extent));
    return Math.min(two, extent >= 2 * Math.pow(10, -usual) ? usual : usual + 1);
  }

  /** Write a result with its expanded uncertainty: {value, U, qualifier, category}. */
  function result(value, prop) {
    if (value.category !== null && value.category !== undefined) { return value.category; }
    if (value.qualifier === "open") { return "open"; }
    if (value.value === null) { return "–"; }
    var unit = unitText(prop.unit);
    if (value.qualifier === "<" || value.qualifier === ">") {
      return (value.qualifier === "<" ? "below " : "above ") + number(value.value, prop.decimals) +
        unit;
    }
    if (!value.U) { return number(value.value, prop.decimals) + unit; }
    var decimals = resultDecimals(value.U, prop);
    return number(value.value, decimals) + " ± " + number(value.U, decimals) + unit;
  }

  /** Write turns to tens: an uncertainty of hundreds does not carry single ones. */
  function inTens(value, extent) {
    var decimals = extent < 10 ? 0 : -1;
    return number(value, decimals) + " ± " + number(extent, decimals);
  }

  /** Write a span of years: 1959, 1957–58, 1959–1961, or nothing. */
  function years(first, last) {
    if (first === null || first === undefined || last === null || last === undefined) { return ""; }
    if (first === last) { return String(first); }
    var short = Math.floor(first / 100) === Math.floor(last / 100);
    return first + "–" + (short ? String(last % 100).padStart(2, "0") : last);
  }

  /** Write a conformance probability to two decimals without claiming 0 or 1. */
  function probability(p) {
    if (p === null || p === undefined) { return ""; }
    if (p > 0.995) { return "p > 0.99"; }
    if (p < 0.005) { return "p < 0.01"; }
    return "p = " + fixed(p, 2);
  }

  /** Return the per cent of peers below a value, without false ends. */
  function rankPercent(percentile) {
    return String(Math.min(99, Math.max(1, Number(fixed(percentile, 0)))));
  }

  function isUpper(letter) {
    return letter !== letter.toLowerCase() && letter === letter.toUpperCase();
  }

  /** Return words that go on with a sentence; an abbreviation keeps its capitals. */
  function lowerFirst(words) {
    return isUpper(words.charAt(1)) ? words : words.charAt(0).toLowerCase() + words.slice(1);
  }
  /** Return words that begin a sentence. */
  function upperFirst(words) { return words.charAt(0).toUpperCase() + words.slice(1); }

  coilbook.text = {
    fixed: fixed, number: number, unitText: unitText, quantity: quantity,
    closeQuantity: closeQuantity,
    resultDecimals: resultDecimals, result: result, inTens: inTens, years: years,
    probability: probability,
    rankPercent: rankPercent, lowerFirst: lowerFirst, upperFirst: upperFirst
  };
})();
