/* Finding pieces by words, family, years, resistance and state, over columns in a data script. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var HERE = document.currentScript && document.currentScript.src;
  var STEP = 25;
  var FIELDS = ["words", "family", "year_from", "year_to", "kohm_low", "kohm_high", "state"];

  /** Return text without case, accents and punctuation, words one space apart. */
  function fold(text) {
    return text.normalize("NFKD").toLowerCase().normalize("NFKD").replace(/\p{M}+/gu, "")
      .replace(/[^\p{L}\p{N}]+/gu, " ").trim();
  }

  /** Return a number written with a point or a comma, or null. */
  function number(text) {
    var value = parseFloat(
      String(text === undefined || text === null ? "" : text).trim().replace(",", "."));
    return isFinite(value) ? value : null;
  }

  /** Return the indexes of the pieces that fit every part of a query (blank parts fit all). */
  function find(data, query) {
    var terms = fold(query.words || "").split(" ").filter(Boolean).map(function (term) {
      return " " + term;
    });
    var from = number(query.year_from), to = number(query.year_to);
    var low = number(query.kohm_low), high = number(query.kohm_high);
    var found = [];
    for (var i = 0; i < data.id.length; i++) {
      if (query.family && data.family[i] !== query.family) { continue; }
      if (query.state && data.state[i] !== query.state) { continue; }
      if (from !== null && (data.year_last[i] === null || data.year_last[i] < from)) { continue; }
      if (to !== null && (data.year_first[i] === null || data.year_first[i] > to)) { continue; }
      if (low !== null && (data.kohm[i] === null || data.kohm[i] < low)) { continue; }
      if (high !== null && (data.kohm[i] === null || data.kohm[i] > high)) { continue; }
      var words = " " + data.words[i];
      if (terms.every(function (term) { return words.indexOf(term) >= 0; })) { found.push(i); }
    }
    return found;
  }

  function years(data, i) {
    var first = data.year_first[i], last = data.year_last[i];
    if (first === null) { return "–"; }
    return first === last ? String(first) : first + "–" + last;
  }

  function cell(label, content) {
    var td = document.createElement("td");
    td.setAttribute("data-label", label);
    td.append(content);
    return td;
  }

  function row(data, i, root) {
    var tr = document.createElement("tr");
    var link = document.createElement("a");
    link.href = root + data.url[i];
    link.textContent = data.id[i];
    tr.append(
      cell("Piece", link), cell("Family", data.family_name[i]),
      cell("Position", data.position[i] || "–"),
      cell("Years", years(data, i)), cell("kΩ at 20 °C", data.kohm_text[i] || "–"),
        cell("State", data.state[i]));
    return tr;
  }

  function count(found, all) {
    if (!found) { return "No piece fits. Try fewer words or wider limits."; }
    return found === all ? "All " + all + " pieces" : found + (found === 1 ? " piece" : " pieces") +
      " of " + all;
  }

  function wire(form, data) {
    var root = new URL("../../", HERE).href;
    var table = document.getElementById("cb-lookup-results");
    var body = table.tBodies[0];
    var told = document.getElementById("cb-lookup-count");
    var more = document.getElementById("cb-lookup-more");
    var found = [], shown = 0;

    function extend() {
      var next = found.slice(shown, shown + STEP);
      body.append.apply(body, next.map(function (i) { return row(data, i, root); }));
      shown += next.length;
      more.hidden = shown >= found.length;
      more.textContent = "Show " + Math.min(STEP, found.length - shown) + " more";
    }

    function query() {
      var out = {};
      FIELDS.forEach(function (name) {
        out[name] = form.elements[name] ? form.elements[name].value.trim() : "";
      });
      return out;
    }

    function run() {
      found = find(data, query());
      shown = 0;
      body.textContent = "";
      told.textContent = count(found.length, data.id.length);
      table.hidden = !found.length;
      extend();
    }

    /* The query stays in the address, so that a search can be sent to someone. */
    function keep() {
      var asked = new URLSearchParams();
      Object.entries(query()).forEach(function (part) {
        if (part[1]) { asked.set(part[0], part[1]); }
      });
      history.replaceState(null, "", "#" + asked);
    }

    function recall() {
      /* A form on another page sends its query after a question mark. */
      var asked = new URLSearchParams(location.hash.slice(1) || location.search);
      FIELDS.forEach(function (name) {
        if (form.elements[name]) { form.elements[name].value = asked.get(name) || ""; }
      });
      run();
    }

    form.addEventListener("input", function () { run(); keep(); });
    form.addEventListener("submit", function (event) { event.preventDefault(); run(); keep(); });
    form.addEventListener("reset", function () { setTimeout(function () { run(); keep(); }, 0); });
    more.addEventListener("click", function () {
      var first = shown;
      extend();
      /* The button may be gone now: go on at the first new row. */
      body.rows[first].querySelector("a").focus();
    });
    window.addEventListener("hashchange", recall);
    recall();
  }

  /** Send a small search form on another page to the lookup page, its query after the #. */
  function hand(form) {
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      var asked = new URLSearchParams();
      new FormData(form).forEach(function (value, name) {
        if (value.trim()) { asked.set(name, value.trim()); }
      });
      location.href = form.action.split("#")[0] + "#" + asked;
    });
  }

  var started = false;
  function start() {
    if (started) { return; }
    started = true;
    document.querySelectorAll("form[data-cb-to-hash]").forEach(hand);
    var form = document.getElementById("cb-lookup");
    if (!form) { return; }
    if (coilbook.pieces) { wire(form, coilbook.pieces); return; }
    document.getElementById("cb-lookup-count").textContent =
      "The list of pieces could not be read, so searching is off. "
        + "The plain list below has them all.";
  }

  /* The page with the list starts it as soon as its table is there, before anything is laid out. */
  coilbook.lookup = { find: find, fold: fold, start: start };
  if (document.readyState === "loading") {
    document.addEventListener("DOMContentLoaded", start);
  } else {
    start();
  }
})();
