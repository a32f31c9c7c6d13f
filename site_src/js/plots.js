/* Distribution plots: drawn only when one nears the screen, in the colours of the scheme shown. */
(function () {
  "use strict";
  window.coilbook = window.coilbook || {};
  var LIBRARY = document.currentScript &&
    new URL("../plotly/plotly.min.js", document.currentScript.src).href;
  var CONFIG = { displayModeBar: false, displaylogo: false, responsive: true, scrollZoom: false,
    showLink: false };
  var FAILED = "This plot could not be drawn. The table has the same values.";

  /** Return a copy of a figure with every "var:--name" replaced by what `colour` says of
   * "--name". */
  function resolve(node, colour) {
    if (typeof node === "string") {
      return node.indexOf("var:") === 0 ? colour(node.slice(4)) : node;
    }
    if (Array.isArray(node)) { return node.map(function (part) { return resolve(part, colour); }); }
    if (node && typeof node === "object") {
      var out = {};
      Object.keys(node).forEach(function (key) { out[key] = resolve(node[key], colour); });
      return out;
    }
    return node;
  }

  function schemeColour(name) {
    return getComputedStyle(document.body).getPropertyValue(name).trim();
  }

  var library = null;
  function load() {
    if (window.Plotly) { return Promise.resolve(); }
    if (!library) {
      library = new Promise(function (done, failed) {
        var script = document.createElement("script");
        script.src = LIBRARY;
        script.onload = function () { done(); };
        script.onerror = failed;
        document.head.appendChild(script);
      });
    }
    return library;
  }

  function read(figure) {
    return JSON.parse(figure.querySelector("script.cb-figure-data").textContent);
  }

  function draw(figure) {
    var place = figure.querySelector(".cb-plot");
    var spec = resolve(read(figure), schemeColour);
    var layout = Object.assign(
      { dragmode: false, paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)" },
      spec.layout);
    layout.font = Object.assign(
      { family: schemeColour("--cb-sans"), color: schemeColour("--cb-ink") }, layout.font);
    var caption = figure.querySelector("figcaption");
    if (caption && !place.hasAttribute("role")) {
      place.setAttribute("role", "img");
      place.setAttribute("aria-label", caption.textContent.trim());
    }
    window.Plotly.react(place, spec.data, layout, CONFIG);
    figure.setAttribute("data-cb-drawn", "");
  }

  function bring(figure) {
    load().then(function () { draw(figure); }).catch(function () {
      figure.querySelector(".cb-plot").textContent = FAILED;
    });
  }

  function start() {
    var figures = Array.prototype.slice.call(document.querySelectorAll("figure[data-cb-plot]"));
    if (!figures.length) { return; }

    var near = new IntersectionObserver(function (entries) {
      entries.forEach(function (entry) {
        if (entry.isIntersecting) {
          near.unobserve(entry.target);
          bring(entry.target);
        }
      });
    }, { rootMargin: "400px 0px" });
    figures.forEach(function (figure) { near.observe(figure); });

    new MutationObserver(function () {
      figures.forEach(function (figure) {
        if (figure.hasAttribute("data-cb-drawn")) { draw(figure); }
      });
    }).observe(document.body, { attributes: true, attributeFilter: ["data-md-color-scheme"] });

    /* The print dialog does not wait: what is not drawn by then stays out, its table prints. */
    window.addEventListener("beforeprint", function () {
      figures.forEach(function (figure) {
        near.unobserve(figure);
        if (window.Plotly) { draw(figure); } else { bring(figure); }
      });
    });
  }

  coilbook.plots = { resolve: resolve };
  if (document.readyState === "loading") {
    document.addEventListener("DOMContentLoaded", start);
  } else {
    start();
  }
})();
