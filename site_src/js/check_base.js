/* What the scripts of the page that checks a piece share: numbers written as Python writes them, and the
   normal distribution. Pure functions; each further check_*.js adds its own to window.coilbookCheck. */
(function () {
  "use strict";
  var ROOT_PI = Math.sqrt(Math.PI), ROOT_2 = Math.SQRT2;
  /* Below this the series is exact to 12 digits, above it the fraction is. */
  var TURN = 2.4, TERMS = 80;

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

  /** Return the complementary error function, to 12 digits of itself far out as well. */
  function erfc(x) {
    if (x < 0) { return 2 - erfc(-x); }
    if (x < TURN) {
      var term = x, sum = x;
      for (var n = 1; term > sum * 1e-17; n++) {
        term *= 2 * x * x / (2 * n + 1);
        sum += term;
      }
      return 1 - 2 / ROOT_PI * Math.exp(-x * x) * sum;
    }
    if (x > 27.5) { return 0; }
    var tail = x;
    for (var k = TERMS; k > 0; k--) { tail = x + k / 2 / tail; }
    return Math.exp(-x * x) / (ROOT_PI * tail);
  }
  /** Return the standard normal distribution's probability below z. */
  function below(z) { return erfc(-z / ROOT_2) / 2; }
  /** Return the z that a probability of a half or more lies below (Newton's steps, from above). */
  function normalQuantile(probability) {
    var tail = 1 - probability, z = 0;
    if (tail >= 0.5) { return 0; }
    for (var round = 0; round < 100; round++) {
      var density = Math.exp(-z * z / 2) / Math.sqrt(2 * Math.PI), above = below(-z);
      /* On the tail's logarithm, which is near a straight line far out. */
      var move = Math.log(above / tail) * above / density;
      z += move;
      if (Math.abs(move) <= 1e-15 * z) { break; }
    }
    return z;
  }

  function unique(list) { return list.filter(function (one, at) { return list.indexOf(one) === at; }); }

  /** Return a quantile of numbers in order of size, of type 7. */
  function quantile(values, p) {
    var place = (values.length - 1) * p, lower = Math.floor(place), upper = Math.min(lower + 1, values.length - 1);
    var one = values[lower], other = values[upper], share = place - lower;
    return share >= 0.5 ? other - (other - one) * (1 - share) : one + (other - one) * share;
  }
  /** Return how many of the numbers, in order of size, lie below a value, or at most at it. */
  function countBelow(values, value, andAt) {
    var low = 0, high = values.length;
    while (low < high) {
      var middle = (low + high) >> 1;
      if (values[middle] < value || (andAt && values[middle] === value)) { low = middle + 1; } else { high = middle; }
    }
    return low;
  }

  window.coilbookCheck = {
    general: general, rounded: rounded, erfc: erfc, below: below,
    normalQuantile: normalQuantile, unique: unique, quantile: quantile, countBelow: countBelow
  };
})();
