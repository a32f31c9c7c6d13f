/* What was typed is kept: drafts on the device and as files, and rows for an archive. */
(function () {
  "use strict";
  var D = coilbook.drafts, W = coilbook.words, T = coilbook.text,
    P = coilbook.page;
  var PAUSE_MS = 700; /* The list of drafts follows when the typing rests. */
  var page = P.page, know = P.know, data = coilbook.checkData;
  var by = P.by, put = P.put, field = P.field, has = P.has, say = P.say, undo = P.undo;

  /* --- keeping --- */

  function keep() {
    P.unsaved = true;
    if (D.isEmpty(P.draft) && !P.draft.revision) { return; }
    var outcome = D.keep(P.draft);
    if (outcome === "refused") {
      if (P.keeping) { P.keeping = false; tellKeeping("full"); }
    } else {
      if (!P.keeping) { P.keeping = true; tellKeeping(); }
      if (outcome === "forked") {
        P.draft.name = title(P.draft) + " (2)";
        D.keep(P.draft);
        by("cb-draft-told").replaceChildren(W.say("draft", "forked", { name: P.draft.name }));
        say("cb-draft-status", by("cb-draft-told").textContent);
      }
    }
    clearTimeout(keep.timer);
    keep.timer = setTimeout(showDrafts, PAUSE_MS);
  }
  function tellKeeping(code) {
    var unreadable = P.keeping ? D.stored().unreadable : [];
    var file = location.protocol === "file:";
    code = code || (!P.keeping ? "not_kept" : file ? "kept_file" : "kept");
    put("cb-draft-told", [W.say("draft", code)].concat(unreadable.map(function (key) {
      return W.say("draft", "unreadable", { name: key });
    })));
    if (code !== "kept" && code !== "kept_file") {
      say("cb-draft-status", by("cb-draft-told").textContent);
    }
  }
  function title(one) {
    if (has(one.name)) { return one.name; }
    if (has(one.fields.piece_id)) { return one.fields.piece_id.trim(); }
    var of = data.families[one.fields.family_id];
    return of ? W.tell("draft", "unnamed", { family: T.lowerFirst(of.name) })
      : W.tell("draft", "no_family");
  }
  function listed() {
    return D.stored().drafts.filter(function (d) { return d.id !== P.draft.id; }).concat(
      D.isEmpty(P.draft) ? [] : [P.draft]);
  }
  function showDrafts() {
    var focused = document.activeElement && by("cb-drafts").contains(document.activeElement);
    if (focused) { return; }
    put("cb-drafts", listed().map(function (one) {
      var read = one.rows.filter(function (row) { return has(row.value); }).length;
      var about = [read ? W.tell("draft", "readings", { count: String(read) })
        : W.tell("draft", "empty")];
      if (one.id === P.draft.id) { about.push(W.tell("draft", "here")); }
      var item = W.say("draft", "item", { name: title(one), about: about.join(", ") });
      var ids = { open: openDraft, copy: copyDraft, file: fileDraft, "delete": deleteDraft };
      item.querySelectorAll("button").forEach(function (button) {
        button.addEventListener("click", function () { ids[button.dataset.do](one.id); });
      });
      return item;
    }));
  }
  function find(id) {
    return id === P.draft.id ? P.draft : D.stored().drafts.find(function (d) {
      return d.id === id;
    });
  }

  function use(one, code) {
    P.draft = one;
    D.setOpened(one.id);
    document.activeElement.blur();
    P.showDraft();
    showDrafts();
    if (code) {
      say("cb-draft-status", W.tell("draft", code, { name: title(one) }));
      by("cb-in-family_id").focus();
    }
  }
  function fresh() {
    var made_ = D.empty(), now = new Date();
    made_.fields.date = [now.getFullYear(), String(now.getMonth() + 1).padStart(2, "0"),
      String(now.getDate()).padStart(2, "0")].join("-");
    return made_;
  }
  /* Where the browser keeps nothing, another draft would push this one out: it goes into a file
     first. */
  function leave() {
    if (!P.keeping && P.unsaved && !D.isEmpty(P.draft)) { fileDraft(P.draft.id); }
  }
  function openDraft(id) { var one = find(id); if (one) { leave(); use(one, "opened"); } }
  function copyDraft(id) {
    var one = JSON.parse(JSON.stringify(find(id)));
    leave();
    one.id = D.token();
    one.name = W.tell("draft", "copy_name", { name: title(one) });
    one.revision = "";
    one.fields.piece_id = "";
    D.keep(one);
    use(one, "copied");
  }
  function fileDraft(id) {
    var one = find(id);
    download(
      D.toFile([one]),
      "draft-" + (title(one).replace(/[^A-Za-z0-9]+/g, "-").replace(/^-|-$/g, "") || "piece") +
      ".json", "application/json");
    if (id === P.draft.id) { P.unsaved = false; }
  }
  function deleteDraft(id) {
    var one = find(id), name = title(one);
    D.drop(one);
    document.activeElement.blur();
    if (id === P.draft.id) {
      P.draft = listed()[0] || fresh();
      if (P.draft.id === id) { P.draft = fresh(); }
      P.showDraft();
    }
    showDrafts();
    var line = undo(W.tell("draft", "deleted", { name: name }), function () {
      one.revision = "";
      D.keep(one);
      use(one, "back");
    });
    by("cb-draft-undo").after(line);
    line.querySelector("button").focus();
    say("cb-draft-status", line.firstElementChild.textContent);
  }
  function takeIn(file) {
    file.text().then(function (content) {
      try {
        var taken = D.fromFile(content);
        leave();
        taken.forEach(function (one) { D.keep(one); });
        use(taken[0]);
        say("cb-draft-status", W.tell("draft", "taken", { count: String(taken.length) }));
        by("cb-draft-told").prepend(W.say("draft", "taken", { count: String(taken.length) }), " ");
      } catch (problem) {
        if (problem.message !== "json" && problem.message !== "shape") { throw problem; }
        var words = W.tell("draft", "not_taken",
          { name: file.name, why: W.tell("draft", "why_" + problem.message) });
        put("cb-draft-told", words);
        say("cb-draft-status", words);
      }
    });
  }

  /* --- rows for the archive --- */

  function download(content, name, type) {
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([content], { type: type + ";charset=utf-8" }));
    link.download = name;
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(function () { URL.revokeObjectURL(link.href); }, 60000);
  }

  /** Tell what the rows lack, each beside its field, and go to the first; true if nothing. */
  function ready() {
    page.querySelectorAll("[data-cb-save]").forEach(function (place) {
      delete place.dataset.cbSave;
      delete place.dataset.cbKey;
      if (place.classList.contains("cb-told")) {
        place.replaceChildren();
      } else {
        place.removeAttribute("aria-invalid");
      }
    });
    var lacks = D.lacks(P.draft, know, data.periods), first = null, words = [];
    lacks.forEach(function (one) {
      var text = W.tell("save", one[1], one[2]), control = one[0] && field(one[0]),
        place = one[0] && by("cb-in-" + one[0] + "-told");
      words.push(text);
      if (place) {
        place.dataset.cbSave = "yes";
        place.replaceChildren(
          W.say("part", "problem", { "class": "cb-flag", what: text, todo: "" }));
        control.dataset.cbSave = "yes";
        control.setAttribute("aria-invalid", "true");
        first = first || control;
      }
    });
    if (P.slips()) {
      words.push(W.tell("save", "slips", { count: String(P.slips()) }));
      first = first || page.querySelector("[aria-invalid=true]");
    }
    by("cb-save-told").textContent = words.join(" ");
    if (first) { first.focus(); }
    return !words.length;
  }
  function told(words) {
    var more = has(P.draft.fields.accuracy_percent) || has(P.draft.fields.accuracy_digits) ? " " +
      W.tell("save", "accuracy") : "";
    by("cb-save-told").textContent = words + more;
  }
  function save() {
    if (!ready()) { return; }
    var name = P.draft.fields.piece_id.trim() + ".csv";
    download(D.toRows(P.draft, know, data.periods), name, "text/csv");
    P.unsaved = false;
    told(W.tell("save", "saved", { name: name }));
  }
  function copy() {
    if (!ready()) { return; }
    var rows = D.toRows(P.draft, know, data.periods), area = by("cb-rowtext");
    function byHand() {
      area.closest("details").open = true;
      area.value = rows;
      area.focus();
      area.select();
      told(W.tell("save", document.execCommand("copy") ? "copied" : "not_copied"));
    }
    if (!navigator.clipboard) { byHand(); return; }
    navigator.clipboard.writeText(rows).then(function () { told(W.tell("save", "copied")); },
      byHand);
  }

  function wireKeeping() {
    by("cb-save").addEventListener("click", save);
    by("cb-copy").addEventListener("click", copy);
    by("cb-draft-new").addEventListener("click", function () { leave(); use(fresh(), "opened"); });
    by("cb-draft-all").addEventListener("click", function () {
      if (!listed().length) { return; }
      download(D.toFile(listed()), "coilbook-drafts.json", "application/json");
      P.unsaved = false;
    });
    by("cb-draft-in").addEventListener("change", function (event) {
      if (event.target.files[0]) { takeIn(event.target.files[0]); }
      event.target.value = "";
    });
    window.addEventListener("storage", function (event) {
      if (D.isOurs(event.key)) { showDrafts(); }
    });
    window.addEventListener("beforeunload", function (event) {
      if (!P.keeping && P.unsaved && !D.isEmpty(P.draft)) { event.preventDefault(); }
    });
  }

  Object.assign(P, { keep: keep, tellKeeping: tellKeeping, showDrafts: showDrafts, fresh: fresh,
    wireKeeping: wireKeeping });
})();
