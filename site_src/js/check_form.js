/* The form of the page that checks a piece, made from a draft; what is typed goes back into it.
   P is what the three scripts of the page share: the draft, its rows as boxes, and what they ask of
   each other. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var V = coilbook.results, W = coilbook.words, T = coilbook.text,
    D = coilbook.drafts;
  var know = coilbook.known, data = coilbook.checkData;
  var page = document.getElementById("cb-check"), added = 0;
  var P = coilbook.page = { page: page, know: know, draft: null, boxes: [], result: null,
    made: null, keeping: D.keeps(), unsaved: false };

  function by(id) { return document.getElementById(id); }
  function put(id, parts) {
    by(id).replaceChildren.apply(by(id), [].concat(parts).filter(Boolean));
  }
  function field(name) { return by("cb-in-" + name); }
  function family() { return know.families[P.draft.fields.family_id] || null; }
  function has(text) { return Boolean((text || "").trim()); }
  function option(select, value, words) {
    var made_ = document.createElement("option");
    made_.value = value;
    made_.textContent = words;
    select.append(made_);
  }
  function say(id, words) {
    /* The same words again are announced again. */
    by(id).textContent = "";
    setTimeout(function () { by(id).textContent = words; }, 30);
  }
  /* --- the form, from the draft --- */

  function choices(name, list) {
    var select = field(name), value = P.draft.fields[name] || list[0][0];
    /* What was chosen for another family stays chosen, and is told of. */
    if (!list.some(function (one) { return one[0] === value; })) {
      list = list.concat([[value, value]]);
    }
    select.replaceChildren();
    list.forEach(function (one) { option(select, one[0], one[1]); });
    select.value = value;
  }

  function showFamily() {
    var id = P.draft.fields.family_id, of = family(), row = of && data.families[id];
    var periods = row ? row.periods : [];
    var chosen = data.periods[P.draft.fields.period];
    if (chosen && periods.indexOf(P.draft.fields.period) < 0) {
      P.draft.fields.year_first = String(chosen.first_year);
      P.draft.fields.year_last = String(chosen.last_year);
      field("year_first").value = P.draft.fields.year_first;
      field("year_last").value = P.draft.fields.year_last;
      P.draft.fields.period = "years";
    }
    choices("period", [["unknown", W.tell("period", "unknown")]].concat(
      periods.map(function (p) { return [p, data.periods[p].name]; }),
        [["years", W.tell("period", "years")]]));
    choices("position", [["", W.tell("period", "unknown")]].concat(
      (row ? row.positions : []).map(function (p) { return [p, p]; })));
    by("cb-years").hidden = field("period").value !== "years";
    put("cb-family-about", of ? W.say("family", "pieces", { id: id, count: String(of.pieces) })
      : []);
    showFeatures(of ? of.features : []);
    showRows();
    showAdd();
    /* A browser takes longer over asking for a file than over all of this: the form answers
       first. */
    if (of) { setTimeout(P.loadPeers, 0, id); }
  }

  function showFeatures(fitting) {
    var all = fitting.concat(P.draft.features.filter(function (f) {
      return fitting.indexOf(f) < 0;
    }));
    by("cb-features-box").hidden = !all.length;
    countFeatures();
    /* Made when somebody opens the list. */
    if (!by("cb-features-box").open) { put("cb-features", []); return; }
    put("cb-features", all.map(function (id) {
      var known = know.features[id] || [id, "", ""];
      var made_ = W.say(
        "part", "feature", { id: id, name: known[0], years: known[1], how: known[2] });
      made_.querySelector("input").checked = P.draft.features.indexOf(id) >= 0;
      return made_;
    }));
  }
  function countFeatures() {
    by("cb-features-count").textContent = W.tell("period", "features",
      { count: String(P.draft.features.length) });
  }

  function same(row, one) { return row.property_id === one[0] && row.component === one[1]; }

  /* Rows that a family is asked come first; what was typed for another family is kept behind
     them. */
  function settleRows() {
    var wanted = family() ? family().asked : [];
    var first = wanted.map(function (one) {
      return P.draft.rows.find(function (row) { return same(row, one); }) ||
        { property_id: one[0], component: one[1], value: "", own: {} };
    });
    P.draft.rows = first.concat(P.draft.rows.filter(function (row) {
      return first.indexOf(row) < 0 && (has(row.value) || row.added);
    }));
  }

  function showRows() {
    settleRows();
    P.boxes = [];
    put("cb-rows", P.draft.rows.map(function (row, i) {
      var box = rowBox(row, i);
      P.boxes.push(box);
      return box.element;
    }));
  }

  function rowBox(row, i) {
    var prop = know.properties[row.property_id], id = "cb-row-" + i;
    var twice = P.draft.rows.slice(0, i).some(function (before) {
      return same(before, [row.property_id, row.component]);
    });
    var name = V.rowName(row.property_id, row.component);
    if (twice) { name = W.tell("read", "twice", { name: name }); }
    var category = prop.kind === "category";
    var input = W.say("part", category ? "select" : "input", { id: id, name: row.property_id });
    var control = input.firstElementChild;
    if (category) {
      prop.categories.concat(row.value && prop.categories.indexOf(row.value) < 0 ? [row.value]
        : []).forEach(function (word) { option(control, word, word); });
    }
    control.value = row.value;
    var unit = category || !T.unitText(prop.unit) ? ""
      : [W.say("part", "unit", { unit: prop.unit })];
    var element = W.say("part", "row", { key: row.property_id + "@" + row.component, id: id,
      name: name, unit: unit, field: [input] }).firstElementChild;
    var box = {
      row: row, element: element, name: name, control: control,
      told: element.querySelector(".cb-told"), out: element.querySelector(".cb-read__out"),
      strip: element.querySelector(".cb-read__strip"), more: element.querySelector("details"),
      signature: "", drawn: "", own: {}
    };
    control.addEventListener("input", function () {
      row.value = control.value;
      P.changed(false, box);
    });
    box.more.addEventListener("toggle", function () {
      if (box.more.open) { showOwn(box, id); P.changed(true); }
    });
    if (Object.keys(row.own).some(function (k) { return has(row.own[k]); })) {
      box.more.open = true;
    }
    if (twice || !family() || !family().asked.some(function (one) { return same(row, one); })) {
      box.more.after(W.say("read", "remove", { name: name }));
      removing(box);
    }
    return box;
  }

  function ownNames(prop) {
    var names = prop.kind === "category" ? [] : ["qualifier"];
    if (prop.copper) {
      names.push("temperature", "temperature_uncertainty", "circuit", "parallel",
        "parallel_tolerance");
    }
    if (/-(?:inductance|quality)$/.test(prop.id)) { names.push("test_frequency"); }
    if (prop.kind === "inductance") { names.push("equivalent"); }
    if (prop.kind === "flux_density") { names.push("standoff", "zero"); }
    if (prop.kind !== "category") { names.push("accuracy_percent", "accuracy_digits"); }
    return names.concat(["instrument_id", "date", "remark"]);
  }
  var OPTIONS = { qualifier: ["", "<", ">"], circuit: ["", "free", "in_circuit"],
    equivalent: ["", "series", "parallel"] };

  /* The conditions of one row are made when somebody opens them. */
  function showOwn(box, id) {
    var fields = box.more.querySelector(".cb-fields");
    if (fields.childElementCount) { return; }
    ownNames(
      Object.assign({ id: box.row.property_id },
      know.properties[box.row.property_id])).forEach(function (name) {
      var own = id + "-" + name, choose = OPTIONS[name];
      var control = W.say("part", choose ? "own_select" : "own_input", { id: own, name: name });
      var element = control.firstElementChild;
      (choose || []).forEach(function (value) {
        option(element, value, W.tell("option", name, { value: value }));
      });
      element.value = box.row.own[name] || "";
      if (!choose && field(name)) { element.placeholder = W.tell("own", "shared"); }
      element.addEventListener("input", function () {
        box.row.own[name] = element.value;
        P.changed();
      });
      fields.append(
        W.say("part", "own_field", { id: own, label: W.tell("own", name), field: [control] }));
      box.own[name] = by(own + "-told") || fields.querySelector("[id='" + own + "-told']");
    });
  }

  function removing(box) {
    box.element.querySelector("[data-do=remove]").addEventListener("click", function () {
      var at = P.draft.rows.indexOf(box.row);
      P.draft.rows.splice(at, 1);
      var back = undo(W.tell("read", "removed", { name: box.name }), function () {
        P.draft.rows.splice(Math.min(at, P.draft.rows.length), 0, box.row);
        showRows();
        P.changed();
        P.boxes.find(function (b) { return b.row === box.row; }).control.focus();
      });
      P.boxes.splice(P.boxes.indexOf(box), 1);
      box.element.replaceWith(back);
      P.changed();
      back.querySelector("button").focus();
      say("cb-check-status", back.firstElementChild.textContent);
    });
  }
  function undo(words, bringBack) {
    var line = by("cb-draft-undo").cloneNode(true);
    line.removeAttribute("id");
    line.hidden = false;
    line.querySelector("span").textContent = words;
    line.querySelector("button").addEventListener("click", function () {
      line.remove();
      bringBack();
    });
    return line;
  }

  function showAdd() {
    var select = by("cb-add"), first = select.firstElementChild;
    select.replaceChildren(first);
    (family() ? family().more.concat(family().asked) : []).forEach(function (one) {
      option(select, one.join("@"), V.rowName(one[0], one[1]));
    });
    by("cb-add-do").disabled = !family();
  }
  function addRow() {
    var parts = by("cb-add").value.split("@");
    if (parts.length !== 2) { by("cb-add").focus(); return; }
    var row = { property_id: parts[0], component: parts[1], value: "", own: {}, added: true };
    P.draft.rows.push(row);
    var box = rowBox(row, P.draft.rows.length - 1 + 1000 * (added += 1));
    P.boxes.push(box);
    by("cb-rows").append(box.element);
    by("cb-add").value = "";
    P.changed();
    box.control.focus();
    say("cb-check-status", W.tell("read", "added", { name: box.name }));
  }

  function showDraft() {
    page.querySelectorAll("[id^=cb-in-]").forEach(function (control) {
      if (control.name && control.tagName !== "SPAN") {
        control.value = P.draft.fields[control.name] ||
          (control.tagName === "SELECT" && control.options.length ? control.options[0].value : "");
      }
    });
    P.forgetDerived();
    showFamily();
    showParallel();
    P.changed(true);
  }
  function showParallel() { by("cb-parallel").hidden = field("circuit").value !== "in_circuit"; }

  by("cb-add-do").addEventListener("click", addRow);
  by("cb-features-box").addEventListener("toggle", function () {
    if (by("cb-features-box").open && !by("cb-features").childElementCount) {
      showFeatures(family() ? family().features : []);
    }
  });
  Object.assign(P, {
    by: by, put: put, field: field, family: family, has: has, say: say, undo: undo,
    showDraft: showDraft, showFamily: showFamily, showParallel: showParallel,
    countFeatures: countFeatures, showRows: showRows
  });
})();
