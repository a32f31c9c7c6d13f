/* What the page that checks a piece does at every key: assess, tell, and later what stands further
   down. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var D = coilbook.drafts, V = coilbook.results, W = coilbook.words,
    T = coilbook.text, P = coilbook.page;
  var REST_MS = 120; /* What stands further down waits for the next key first. */
  var PAUSE_MS = 700; /* A result is announced when the typing rests. */
  var page = P.page, know = P.know, data = coilbook.checkData;
  var by = P.by, put = P.put, field = P.field, has = P.has, say = P.say;
  var derived = {}, noPeers = {}, asked = {}, timer = 0, after = 0, spoken = "", leadKey = "",
    unkept = false;

  /* --- peers: one script a family, asked for when it is chosen --- */

  coilbook.peersLoaded = function (id) {
    noPeers[id] = false;
    if (P.draft && P.draft.fields.family_id === id) { work(true); }
  };
  function loadPeers(id) {
    if (asked[id]) { return; }
    asked[id] = true;
    var script = document.createElement("script");
    script.src = coilbook.root + "assets/data/peers/" + id + ".js";
    script.addEventListener("error", function () {
      noPeers[id] = true;
      asked[id] = false;
      work(true);
    });
    document.head.append(script);
  }

  /* --- at every key --- */

  function changed(quiet, box) {
    if (!quiet) { unkept = true; }
    work(quiet, box);
  }

  /* Whatever a change makes longer above it, the field that is typed in stays where it is on the
     screen. (Browsers do this for what is above the screen, and some do not.) */
  var held = null, top = 0; /* the field, and where it was in the frame that is on the screen */
  /* the field that has the focus, and where it was last seen: to ask again has the page laid out */
  var seen = null;
  function look() {
    var control = document.activeElement;
    seen = page.contains(control) ? { control: control, top: control.getBoundingClientRect().top }
      : null;
  }
  function forget() { seen = null; }
  function steady(change) {
    if (!held && page.contains(document.activeElement)) {
      held = document.activeElement;
      if (!seen || seen.control !== held) { look(); }
      top = seen.top;
      requestAnimationFrame(settle);
    }
    change();
  }
  function settle() {
    look();
    var moved = seen && seen.control === held ? seen.top - top : 0;
    held = null;
    if (Math.abs(moved) >= 1) {
      window.scrollBy({ top: moved, behavior: "instant" });
      forget();
    }
  }

  /* The row that is typed in and the summary are answered at once; what else changes follows a
     moment later. */
  function work(quiet, box) { steady(function () { workNow(quiet, box); }); }
  function workNow(quiet, box) {
    P.made = D.toInput(P.draft, know, data.periods);
    /* Of nothing read and nothing seen there is nothing to work out. */
    P.result = P.made.input.family_id && (P.made.rows.length || !D.isEmpty(P.draft))
      ? coilbook.check.answer(P.made.input) : null;
    if (box) { showRow(box, true); }
    tellProblems(box);
    showLead();
    clearTimeout(after);
    after = setTimeout(showRest, box ? REST_MS : 0);
    clearTimeout(timer);
    if (!quiet) { timer = setTimeout(announce, PAUSE_MS); }
  }
  function keepNow() { if (unkept) { unkept = false; P.keep(); } }

  function boxOf(reading) {
    return P.boxes.find(function (b) { return b.row === P.draft.rows[P.made.rows[reading]]; });
  }

  /* Of what cannot be read: all of it, or first that of the row that is typed in. */
  function tellProblems(only) {
    var told = new Map(), places = only ? [only.told] : page.querySelectorAll(".cb-told");
    function tell(place, control, problem) {
      if (!place) { return; }
      var found = told.get(place) ||
        told.set(place, { texts: [], control: control, error: false }).get(place);
      var key = problem.what + problem.todo;
      if (!found.texts.some(function (t) { return t.key === key; })) {
        found.texts.push({ key: key, problem: problem });
      }
      found.error = found.error || problem.severity === "error";
    }
    (P.result ? P.result.problems : []).forEach(function (problem) {
      var box = problem.reading === null ? null : boxOf(problem.reading);
      var column = problem.column, shared = field(column);
      if (box && box.own[column] && has(box.row.own[column])) {
        tell(box.own[column], null, problem);
      } else if (box && (column === "value" || !shared)) {
        tell(box.told, box.control, problem);
      } else if (!box && column.startsWith("year_") && field("period").value !== "years") {
        tell(by("cb-in-period-told"), field("period"), problem);
      } else { tell(by("cb-in-" + column + "-told") || (box && box.told), shared ||
        (box && box.control), problem);
      }
    });
    flagsOnce().forEach(function (flag) {
      tell(by(flag === "no_temperature" ? "cb-in-temperature-told" : "cb-meter-told"), null,
        { flag: flag, what: flag, todo: "", severity: "doubt" });
    });
    places.forEach(function (place) {
      if (place.id === "cb-save-told" || place.dataset.cbSave) { return; }
      var found = told.get(place), key = found ? found.texts.map(
        function (t) { return t.key; }).join("|") : "";
      if ((place.dataset.cbKey || "") === key) { return; }
      place.dataset.cbKey = key;
      place.replaceChildren.apply(place, (found ? found.texts : []).map(function (t) {
        return t.problem.flag ? W.say("flag", t.problem.flag) : W.say("part", "problem", {
          "class": t.problem.severity === "error" ? "cb-flag" : "cb-remark",
            what: T.upperFirst(t.problem.what), todo: t.problem.todo });
      }));
    });
    (only ? [only.control] : page.querySelectorAll("[aria-invalid]")).forEach(function (control) {
      if (!control.dataset.cbSave) { control.removeAttribute("aria-invalid"); }
    });
    told.forEach(function (found) {
      if (found.error && found.control) { found.control.setAttribute("aria-invalid", "true"); }
    });
  }
  function flagsOnce() {
    return V.sharedFlags.filter(function (flag) {
      return P.result && P.result.values.some(function (v) { return v.flags.indexOf(flag) >= 0; });
    });
  }

  /* Its picture follows a little later than the words. */
  function showIn(box, value, atOnce) {
    var key = value ? V.signature(value) : "";
    if (box.signature !== key) {
      box.signature = key;
      if (value) { V.showValue(value, box.out); } else { box.out.replaceChildren(); }
    }
    if (atOnce || box.drawn === key) { return; }
    box.drawn = key;
    if (value) { V.showStrip(value, box.strip); } else { box.strip.replaceChildren(); }
  }
  function valueOf(box) {
    return P.result && P.result.values.find(function (value) {
      return value.reading !== null && boxOf(value.reading) === box;
    });
  }
  function showRow(box, atOnce) {
    box.element.toggleAttribute("data-filled", isFilled(box.row));
    showIn(box, valueOf(box), atOnce);
  }

  function showValues() {
    P.boxes.forEach(function (box) { showRow(box, false); });
    var values = P.result ? P.result.values : [], met = new Set(),
      folded = !by("cb-derived-fold").open;
    values.forEach(function (value) {
      if (value.reading !== null) { return; }
      var box = derivedBox(value);
      met.add(box);
      if (!box.folds || !folded) { showIn(box, value); }
    });
    Object.values(derived).forEach(function (box) { box.element.hidden = !met.has(box); });
    var more = Array.from(met).filter(function (box) { return box.folds; }).length;
    by("cb-derived-box").hidden = !more;
    by("cb-derived-count").textContent = more ? String(more) : "";
    by("cb-key").hidden = !values.length;
  }
  function isFilled(row) {
    return has(row.value) || Object.keys(row.own).some(function (name) {
      return has(row.own[name]);
    });
  }
  function derivedBox(value) {
    var key = value.property_id + "@" + value.component;
    if (!derived[key]) {
      var element = document.createElement("div");
      element.className = "cb-read cb-read--derived";
      ["h3", "div", "div"].forEach(function (tag, i) {
        var part = document.createElement(tag);
        part.className = ["cb-read__in", "cb-read__out", "cb-read__strip"][i];
        element.append(part);
      });
      element.firstElementChild.textContent = V.rowName(value.property_id, value.component);
      var folds = !/^coil-(?:difference|imbalance)$/.test(value.property_id);
      by(folds ? "cb-derived" : "cb-derived-pair").append(element);
      derived[key] = { element: element, out: element.children[1], strip: element.children[2],
        signature: "", drawn: "", folds: folds };
    }
    return derived[key];
  }

  function forgetDerived() {
    derived = {};
    put("cb-derived", []);
    put("cb-derived-pair", []);
  }

  function slips() {
    return P.result ? P.result.problems.filter(
      function (p) { return p.severity === "error"; }).length : 0;
  }

  /* Which of the summary's sentences hold, as a text that changes whenever they do. */
  function leadState() {
    var id = P.draft.fields.family_id,
      state = { slips: slips(), typed: P.draft.rows.some(function (r) { return has(r.value); }) };
    if (P.result && (P.made.rows.length || P.draft.features.length)) {
      state.lead = P.result.lead;
      state.step = P.result.findings.length ? P.result.findings[0].next_step : "";
      state.next = P.result.next_readings.length ? P.result.next_readings[0].property_id : "";
      state.counts = V.counts(P.result);
      state.peers = noPeers[id] ? "no_peers" : P.result.peers_loaded ? "" : "loading";
    } else { state.empty = !P.result && state.typed ? "no_family" : "empty"; }
    return state;
  }
  function showLead() {
    var state = leadState(), key = JSON.stringify(state), bar = by("cb-bar");
    if (key === leadKey) { return; }
    leadKey = key;
    var found = state.lead ? V.lead(P.result) : null, lines = found ? found.lines
      : [W.say("summary", state.empty)];
    if (state.slips) { lines.push(W.say("summary", "slips", { count: String(state.slips) })); }
    if (state.peers) { lines.push(W.say("summary", state.peers)); }
    put("cb-lead", lines);
    bar.hidden = !found;
    spoken = found ? found.word + ". " + found.counts : by("cb-lead").textContent.trim();
    if (found) {
      bar.firstElementChild.replaceChildren(
        W.say("summary", "bar", { word: found.word, counts: found.counts }));
    }
  }

  function box(id, shownNow) { by(id).hidden = !shownNow; return shownNow; }

  /* What stands further down is made once the keys have been answered; folded parts when they are
     opened. */
  function showRest() { steady(showRestNow); }
  function showRestNow() {
    clearTimeout(after);
    tellProblems();
    showValues();
    keepNow();
    var any = Boolean(P.result) && (P.made.rows.length > 0 || P.draft.features.length > 0);
    if (box("cb-troubles-box", any && P.result.troubles.length > 0)) {
      put("cb-troubles", P.result.troubles.map(V.trouble));
    }
    if (box("cb-findings-box", any && P.result.findings.length > 0)) {
      put("cb-findings", P.result.findings.map(V.finding));
    }
    if (box("cb-next-box", any && P.result.next_readings.length > 0)) {
      put("cb-next", P.result.next_readings.map(function (n) {
        return V.next(n, P.draft.fields.family_id, P.draft.fields.position);
      }));
    }
    if (box("cb-coils-box", any && (P.result.closure || P.result.hum || P.result.turns.length ||
      by("cb-derived-pair").children.length))) {
      put("cb-closure", V.closure(P.result.closure));
      put("cb-hum", V.hum(P.result.hum));
      if (box("cb-turns-box", P.result.turns.length > 0)) {
        put("cb-turns", P.result.turns.map(V.turns));
      }
    }
    var periods = any && P.result.consistency ? P.result.consistency.periods : [];
    box("cb-fits-box", periods.length > 0);
    by("cb-fits-count").textContent = periods.length ? String(periods.length) : "";
    var verdicts = any ? P.result.values.reduce(
      function (n, v) { return n + (v.stands ? v.verdicts.length : 0); }, 0) : 0;
    box("cb-why-box", verdicts > 0);
    by("cb-why-count").textContent = verdicts ? String(verdicts) : "";
    page.querySelectorAll("details[data-lazy]").forEach(showLazy);
  }
  function showLazy(details) {
    if (!details.open) { return; }
    if (details.dataset.lazy === "rows") {
      by("cb-rowtext").value = D.toRows(P.draft, know, data.periods);
      return;
    }
    if (!P.result) { return; }
    if (details.dataset.lazy === "why") {
      put("cb-why", V.whyRows(P.result));
    } else if (P.result.consistency) {
      put("cb-fits", P.result.consistency.periods.map(function (row) {
        return V.matrixRow(row, P.result, P.draft.fields.family_id);
      }));
      put("cb-fits-rests", W.say("periods", "rests_on", { kinds: V.restsOn(P.result) }));
      var left = P.result.consistency.left_out.map(
        function (id) { return know.properties[id].name; }).join("; ").toLowerCase();
      put("cb-fits-span", V.span(P.result.consistency).concat(
        left ? [W.say("periods", "left_out", { names: left })] : []));
    }
  }

  /* Short: the word, the counts, and which fields cannot be read. The rest is there to be read. */
  function announce() {
    clearTimeout(timer);
    var refused = P.boxes.filter(function (b) {
      return b.control.getAttribute("aria-invalid") === "true";
    });
    say("cb-check-status",
      [spoken].concat(
      refused.map(function (b) { return W.tell("read", "unread", { name: b.name }); })).join(". "));
  }

  /* --- wiring --- */

  function fromHash() {
    var found = /[#&]family=([A-Za-z0-9-]+)/.exec(location.hash);
    if (!found || !know.families[found[1]] || P.draft.fields.family_id === found[1]) {
      return false;
    }
    if (!D.isEmpty(P.draft)) { P.draft = P.fresh(); }
    P.draft.fields.family_id = found[1];
    return true;
  }

  /* The print dialog waits neither for what stands further down nor for a fold that is filled when
     it is opened. */
  var features = by("cb-features-box"), folded = false;
  function beforePrint() {
    folded = !features.open;
    if (folded && P.draft.features.length) {
      features.open = true;
      features.dispatchEvent(new Event("toggle"));
    }
    showRestNow();
  }
  function afterPrint() { features.open = !folded; }

  function onField(event) {
    var control = event.target;
    if (!control.name || !control.id.startsWith("cb-in-")) {
      if (control.name === "feature") {
        P.draft.features = Array.from(by("cb-features").querySelectorAll("input:checked"),
          function (tick) { return tick.value; });
        P.countFeatures();
        changed();
      }
      return;
    }
    if (P.draft.fields[control.name] === control.value) { return; }
    P.draft.fields[control.name] = control.value;
    if (control.dataset.cbSave) {
      delete control.dataset.cbSave;
      control.removeAttribute("aria-invalid");
      var place = by(control.id + "-told");
      delete place.dataset.cbSave;
      place.dataset.cbKey = "";
      place.replaceChildren();
      by("cb-save-told").textContent = "";
    }
    if (control.name === "family_id") { P.showFamily(); }
    if (control.name === "period") { by("cb-years").hidden = control.value !== "years"; }
    if (control.name === "circuit") { P.showParallel(); }
    changed();
  }

  function start() {
    V.begin(know);
    var all = P.keeping ? D.stored().drafts : [], last = D.opened();
    P.draft = all.find(function (d) { return d.id === last; }) || all[all.length - 1] || P.fresh();
    fromHash();
    page.hidden = false;
    document.documentElement.classList.add("cb-checking");
    document.querySelectorAll(".cb-need-script").forEach(function (place) { place.hidden = true; });
    P.showDraft();
    page.addEventListener("input", onField);
    /* Whatever else may have moved the field: it is looked for again. */
    ["scroll", "resize"].forEach(function (kind) {
      window.addEventListener(kind, forget, { passive: true });
    });
    ["focusin", "toggle"].forEach(function (kind) { page.addEventListener(kind, forget, true); });
    window.addEventListener("beforeprint", beforePrint);
    window.addEventListener("afterprint", afterPrint);
    page.addEventListener("change", onField);
    /* Enter tells the result at once, and sends nothing anywhere. */
    ["cb-check-form", "cb-save-form"].forEach(function (id) {
      by(id).addEventListener("submit", function (event) { event.preventDefault(); announce(); });
      by(id).addEventListener("keydown", function (event) {
        if (event.key === "Enter" && event.target.tagName === "INPUT" &&
          event.target.type !== "file") { event.preventDefault(); announce(); }
      });
    });
    page.querySelectorAll("details[data-lazy]").forEach(function (details) {
      details.addEventListener("toggle", function () { showLazy(details); });
    });
    by("cb-derived-fold").addEventListener("toggle", showValues);
    window.addEventListener("beforeunload", keepNow);
    window.addEventListener("pagehide", keepNow);
    document.addEventListener("visibilitychange", keepNow);
    window.addEventListener("hashchange", function () {
      if (fromHash()) { P.showDraft(); P.showDrafts(); }
    });
    P.wireKeeping();
    /* The drafts stand far below: the form answers first. */
    (window.requestIdleCallback || setTimeout)(function () {
      if (!by("cb-draft-told").hasChildNodes()) { P.tellKeeping(); }
      P.showDrafts();
    });
  }

  Object.assign(P, { changed: changed, work: work, slips: slips, loadPeers: loadPeers,
    forgetDerived: forgetDerived });
  start();
})();
