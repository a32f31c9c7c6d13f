/* What the reader of a typed piece needs of numbers: written and rounded as Python does it. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  /** Return a number as Python's format "g" writes it, with so many significant digits. */
  function general(value, digits) {
    digits = digits || 6;
    if (!isFinite(value)) { return value !== value ? "nan" : value > 0 ? "inf" : "-inf"; }
    if (value === 0) { return Object.is(value, -0) ? "-0" : "0"; }
    var parts = value.toExponential(digits - 1).split("e"), power = Number(parts[1]);
    if (power < -4 || power >= digits) {
      var sign = power < 0 ? "-" : "+", size = String(Math.abs(power));
      return bare(parts[0]) + "e" + sign + (size.length < 2 ? "0" + size : size);
    }
    return bare(fixed(value, digits - 1 - power));
  }
  /* Halves go to the even digit, as in Python. */
  function fixed(value, decimals) {
    var exact = value.toFixed(Math.min(100, decimals + 60)), at = exact.indexOf(".") + 1 + decimals;
    var kept = exact.slice(0, at), even = /[02468]\.?$/.test(kept);
    return even && /^50*$/.test(exact.slice(at)) ? kept : value.toFixed(decimals);
  }
  function bare(text) { return text.indexOf(".") < 0 ? text : text.replace(/\.?0+$/, ""); }

  /** Return a number rounded to so many decimals. */
  function rounded(value, decimals) {
    return Math.abs(value) < 1e15 ? Number(value.toFixed(decimals)) : value;
  }

  coilbook.check = { general: general, rounded: rounded };
})();
