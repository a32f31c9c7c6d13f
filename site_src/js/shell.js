/* The shell of every page: colour scheme, search, single-key shortcuts, printing. Runs before the
   first paint. */
(function () {
  "use strict";
  var KEY = "coilbook-scheme";
  /* The engine would say so as well, but only once it is there. */
  document.documentElement.classList.replace("no-js", "js");
  var dark = window.matchMedia("(prefers-color-scheme: dark)");

  /* Storage may be refused (private windows, some browsers on files): then a choice lasts a
     page. */
  function remembered() {
    try { return localStorage.getItem(KEY); } catch (refused) { return null; }
  }
  function remember(scheme) {
    try {
      if (scheme === null) {
        localStorage.removeItem(KEY);
      } else {
        localStorage.setItem(KEY, scheme);
      }
    } catch (refused) { /* nothing to do */ }
  }

  function systems() { return dark.matches ? "graphite" : "paper"; }
  function shown() { return document.body.getAttribute("data-md-color-scheme"); }
  function show(scheme) {
    document.body.setAttribute("data-md-color-scheme", scheme);
    var button = document.querySelector(".cb-scheme");
    if (button) { button.setAttribute("aria-pressed", String(scheme === "graphite")); }
  }
  function wanted() {
    var choice = remembered();
    return choice === "paper" || choice === "graphite" ? choice : systems();
  }

  show(wanted());
  dark.addEventListener("change", function () { show(wanted()); });

  document.addEventListener("DOMContentLoaded", function () {
    var button = document.querySelector(".cb-scheme");
    if (!button) { return; }
    button.hidden = false;
    show(wanted());
    button.addEventListener("click", function () {
      var next = shown() === "graphite" ? "paper" : "graphite";
      /* Choosing what the system shows anyway means: follow the system again. */
      remember(next === systems() ? null : next);
      show(next);
    });
  });

  document.addEventListener("DOMContentLoaded", function () {
    document.querySelectorAll("[data-cb-print]").forEach(function (button) {
      button.hidden = false;
      button.addEventListener("click", function () { window.print(); });
    });
  });

  /* The engine's script takes long to start, and is for the search alone: it is asked for when
     somebody goes there, or comes by an address that searches. What was typed meanwhile is searched
     for as well. */
  var awake = false;
  function wake() {
    var told = document.getElementById("cb-engine");
    if (awake || !told) { return; }
    awake = true;
    [told.dataset.worker, told.dataset.src].forEach(function (address) {
      var script = document.createElement("script");
      script.src = address;
      script.async = false; /* in this order */
      document.body.append(script);
    });
  }
  document.addEventListener("DOMContentLoaded", function () {
    var search = document.querySelector(".cb-search");
    if (!search) { return; }
    ["focusin", "pointerenter", "pointerdown"].forEach(function (kind) {
      search.addEventListener(kind, wake);
    });
    if (search.contains(document.activeElement) || /[?&][qh]=/.test(location.search)) { wake(); }
  });

  /* The engine's single-key shortcuts would fire for someone who dictates or slips a key
     (WCAG 2.2, 2.1.4). Letters typed outside a field stop here. */
  window.addEventListener("keydown", function (event) {
    var place = event.target;
    var typing = place instanceof HTMLElement &&
      (place.isContentEditable || /^(input|select|textarea)$/i.test(place.tagName));
    if (!typing && !event.ctrlKey && !event.metaKey && !event.altKey &&
      /^[fspn,./]$/.test(event.key)) {
      event.stopImmediatePropagation();
    }
  }, true);

  /* Which card the address asks for, told on the root as well (see cards.css). */
  function tellCard() {
    var asked = document.getElementById(location.hash.slice(1));
    var root = document.documentElement;
    if (asked && asked.closest(".cb-print")) {
      root.dataset.cbCard = asked.id;
    } else {
      delete root.dataset.cbCard;
    }
  }
  window.addEventListener("hashchange", tellCard);
  document.addEventListener("DOMContentLoaded", tellCard);

  /* Paper is white: print in the light scheme, with everything that is folded away opened. */
  var opened = [];
  var before = null;
  window.addEventListener("beforeprint", function () {
    before = shown();
    show("paper");
    /* Of a piece that is being checked, what its reader opened. */
    opened = Array.prototype.filter.call(document.querySelectorAll("main details:not([open])"),
      function (details) {
      return !details.closest(".cb-check");
    });
    opened.forEach(function (details) { details.open = true; });
  });
  window.addEventListener("afterprint", function () {
    if (before !== null) { show(before); }
    opened.forEach(function (details) { details.open = false; });
    opened = [];
    before = null;
  });
})();
