/* The sentences of the page that checks a piece: written by the templates with slots, filled in
   here. Every entry is [kind, code, when, without, markup]; of several of one code the first that
   holds is said. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var SLOT = /\{([a-z_]+)\}/g;
  var kinds = null;

  function load() {
    kinds = {};
    JSON.parse(document.getElementById("cb-check-words").textContent).forEach(function (entry) {
      if (!entry) { return; }
      var codes = kinds[entry[0]] || (kinds[entry[0]] = {});
      (codes[entry[1]] || (codes[entry[1]] = [])).push(
        { when: entry[2], without: entry[3], markup: entry[4], made: null });
    });
  }

  function missing(value) { return value === undefined || value === null || value === ""; }

  function holds(entry, data) {
    return Object.keys(entry.when).every(
      function (name) { return String(data[name]) === entry.when[name]; }) &&
      entry.without.every(function (name) { return missing(data[name]); });
  }

  function find(kind, code, data) {
    if (!kinds) { load(); }
    var entries = kinds[kind] && kinds[kind][code];
    var found = entries && entries.find(function (entry) { return holds(entry, data); });
    if (!found) { throw new Error("The templates have no words for " + kind + " " + code + "."); }
    return found;
  }

  function plain(text, data) {
    return text.replace(SLOT, function (whole, name) {
      return missing(data[name]) ? "" : data[name];
    });
  }

  /* The places of a sentence that hold slots: found once, walked to at every filling. */
  function prepare(entry) {
    var holder = document.createElement("template");
    holder.innerHTML = entry.markup;
    entry.made = holder.content;
    entry.simple = holder.content.children.length === 0;
  }

  function fillText(node, data) {
    var text = node.data, last = 0, parts = [], found;
    if (text.indexOf("{") < 0) { return; }
    SLOT.lastIndex = 0;
    while ((found = SLOT.exec(text))) {
      parts.push(text.slice(last, found.index));
      var value = data[found[1]];
      if (Array.isArray(value)) {
        parts.push.apply(parts, value);
      } else if (!missing(value)) {
        parts.push(value);
      }
      last = found.index + found[0].length;
    }
    if (!last) { return; }
    parts.push(text.slice(last));
    node.replaceWith.apply(node, parts.filter(function (part) { return part !== ""; }));
  }

  function fill(node, data) {
    if (node.nodeType === Node.TEXT_NODE) { fillText(node, data); return; }
    if (node.attributes) {
      for (var i = 0; i < node.attributes.length; i++) {
        if (node.attributes[i].value.indexOf("{") >= 0) {
          node.attributes[i].value = plain(node.attributes[i].value, data);
        }
      }
    }
    Array.from(node.childNodes).forEach(function (child) { fill(child, data); });
  }

  /** Return a sentence as a fragment; data are texts, nodes or lists of both. */
  function say(kind, code, data) {
    var entry = find(kind, code, data || {});
    if (!entry.made) { prepare(entry); }
    var fragment = entry.made.cloneNode(true);
    fill(fragment, data || {});
    return fragment;
  }

  /** Return a sentence as plain text; data are texts. */
  function tell(kind, code, data) {
    var entry = find(kind, code, data || {});
    if (!entry.made) { prepare(entry); }
    return entry.simple ? plain(entry.made.textContent, data || {})
      : say(kind, code, data).textContent;
  }

  coilbook.words = { say: say, tell: tell };
})();
