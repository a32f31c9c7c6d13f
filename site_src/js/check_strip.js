/* A range strip as pages/strips.py draws it: documented bands, the archive's box and this piece on
   one axis. Pure but for making the picture's elements. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var SVG = "http://www.w3.org/2000/svg";
  var WIDTH = 430, MARGIN = 14, LANE = 26, AXIS = 18, WANTED = 6;

  /** Return an axis that holds all values, with a step of 1, 2 or 5 times a power of ten. */
  function niceAxis(values) {
    var finite = values.filter(isFinite);
    var low = finite.length ? Math.min.apply(null, finite) : 0, high = finite.length
      ? Math.max.apply(null, finite) : 1;
    if (high - low < 1e-9 * Math.max(1, Math.abs(high))) {
      low -= 0.5 * Math.abs(low || 1);
      high += 0.5 * Math.abs(high || 1);
    }
    var raw = (high - low) / WANTED, power = Math.pow(10, Math.floor(Math.log10(raw)));
    var step = [1, 2, 5, 10].map(function (m) { return m * power; }).find(function (s) {
      return s >= raw * 0.999;
    });
    return { low: Math.floor(low / step + 1e-9) * step, high: Math.ceil(high / step - 1e-9) * step,
      step: step };
  }

  function at(axis, value) {
    var share = Math.min(1, Math.max(0, (value - axis.low) / (axis.high - axis.low)));
    return MARGIN + share * (WIDTH - 2 * MARGIN);
  }
  function given(value) { return value !== null && value !== undefined; }
  function xy(value) { return value.toFixed(1); }

  function add(svg, name, kind, attributes, text) {
    var made = document.createElementNS(SVG, name);
    if (kind) { made.setAttribute("class", kind); }
    Object.keys(attributes).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    if (text) { made.textContent = text; }
    svg.appendChild(made);
  }

  function drawBand(svg, axis, band, top, height) {
    var kind = "cb-band" + (band.solid ? "" : " cb-band-soft") + (band.own ? " cb-band-own" : "");
    if (given(band.low) || given(band.high)) {
      var left = given(band.low) ? at(axis, band.low) : MARGIN / 2;
      var right = given(band.high) ? at(axis, band.high) : WIDTH - MARGIN / 2;
      var width = Math.max(right - left, 1.5), bottom = top + height;
      add(svg, "rect", kind + " cb-fill",
        { x: xy(left), y: xy(top), width: xy(width), height: xy(height) });
      var edges = (given(band.low) ? "M" + xy(left) + " " + xy(top) + "V" + xy(bottom) : "") +
        (given(band.high) ? "M" + xy(left + width) + " " + xy(top) + "V" + xy(bottom) : "");
      add(svg, "path", kind + " cb-edge",
        { d: edges + "M" + xy(left) + " " + xy(top) + "H" + xy(left + width) +
        "M" + xy(left) + " " + xy(bottom) + "H" + xy(left + width) });
    }
    if (given(band.typical)) {
      add(svg, "path", kind + " cb-typical",
        { d: "M" + xy(at(axis, band.typical)) + " " + xy(top - 2) + "V" + xy(top + height + 2) });
    }
  }

  function drawBox(svg, axis, summary, middle) {
    var low = given(summary.low_5) ? summary.low_5 : summary.minimum;
    var high = given(summary.high_95) ? summary.high_95 : summary.maximum;
    var left = at(axis, summary.lower_quartile), right = at(axis, summary.upper_quartile);
    add(svg, "path", "cb-whisker",
      { d: "M" + xy(at(axis, low)) + " " + xy(middle) + "H" + xy(at(axis, high)) });
    add(svg, "rect", "cb-box",
      { x: xy(left), y: xy(middle - 5), width: xy(Math.max(right - left, 1)), height: 10 });
    add(svg, "path", "cb-median",
      { d: "M" + xy(at(axis, summary.median)) + " " + xy(middle - 7) + "v14" });
  }

  function drawMark(svg, axis, mark, middle) {
    var left = at(axis, mark.value - mark.extent), right = at(axis, mark.value + mark.extent);
    add(svg, "path", "cb-this-line", { d: "M" + xy(left) + " " + xy(middle) + "H" + xy(right) });
    add(svg, "path", "cb-this",
      { d: "M" + xy(at(axis, mark.value)) + " " + xy(middle - 8) + "l7 8l-7 8l-7 -8z" });
  }

  /** Draw bands [{low, high, typical, solid, own}], a summary or null, and the mark {value,
   * extent}. */
  function draw(bands, summary, mark, label) {
    var ends = [mark.value - mark.extent, mark.value + mark.extent];
    bands.forEach(function (b) {
      [b.low, b.typical, b.high].filter(given).forEach(function (v) { ends.push(v); });
    });
    var drawn = summary && summary.drawable ? summary : null;
    if (drawn) {
      ends.push(given(drawn.low_5) ? drawn.low_5 : drawn.minimum, given(drawn.high_95)
        ? drawn.high_95 : drawn.maximum);
    }
    var axis = niceAxis(ends), body = LANE + 8, height = body + AXIS, middle = 4 + LANE / 2;
    var svg = document.createElementNS(SVG, "svg");
    var fixed = { "class": "cb-strip", viewBox: "0 0 " + WIDTH + " " + height, width: WIDTH,
      height: height, role: "img", "aria-label": label };
    Object.keys(fixed).forEach(function (key) { svg.setAttribute(key, fixed[key]); });
    bands.forEach(function (band, i) {
      var inset = 4 + Math.min(i, 4) * 3;
      drawBand(svg, axis, band, inset, body - 2 * inset);
    });
    add(svg, "path", "cb-base",
      { d: "M" + MARGIN / 2 + " " + xy(middle) + "H" + (WIDTH - MARGIN / 2) });
    if (drawn) { drawBox(svg, axis, drawn, middle); }
    drawMark(svg, axis, mark, middle);
    var decimals = Math.max(0, -Math.floor(Math.log10(axis.step) + 1e-9));
    for (var i = 0; i <= Math.round((axis.high - axis.low) / axis.step); i++) {
      var tick = axis.low + i * axis.step, words = coilbook.text.number(tick, decimals);
      var x = at(axis, tick), reach = 3.4 * words.length;
      add(svg, "path", "cb-tick", { d: "M" + xy(x) + " " + (body - 1) + "v4" });
      add(svg, "text", "", { x: xy(Math.min(Math.max(x, reach), WIDTH - reach)), y: body + 14,
        "text-anchor": "middle" }, words);
    }
    return svg;
  }

  coilbook.strip = { draw: draw, niceAxis: niceAxis };
})();
