/* On a page that 'coilbook serve' shows, and on no page of a site: it is put in on the way to the browser.
   Reloads when the site was built anew; shows what keeps it from being built. */
(function () {
  "use strict";
  var version = document.currentScript.dataset.version, box = null;

  function close() { if (box) { box.remove(); box = null; } }
  function show(text) {
    close();
    box = document.createElement("section");
    box.id = "cb-live";
    box.setAttribute("role", "alert");
    box.setAttribute("aria-label", "Why the site stays as it is");
    box.style.cssText = "position:fixed;inset:auto 0 0 0;z-index:99;max-height:50vh;overflow:auto;padding:12px 16px;"
      + "background:#4a1210;color:#fff;border-top:3px solid #ffb4a8;font:14px/1.5 ui-monospace,monospace";
    var told = document.createElement("div"), hide = document.createElement("button");
    told.style.cssText = "white-space:pre-wrap;overflow-wrap:anywhere";
    told.textContent = text;
    hide.type = "button";
    hide.textContent = "Hide";
    hide.style.cssText = "float:right;min-width:44px;min-height:32px;color:#4a1210;background:#fff;border:0;font:inherit";
    hide.addEventListener("click", close);
    box.append(hide, told);
    document.body.append(box);
  }

  var source = new EventSource("/-/live");
  source.addEventListener("message", function (event) {
    var state = JSON.parse(event.data);
    if (state.version !== version) {
      source.close();
      window.location.reload();
    } else if (state.problems) { show(state.problems); } else { close(); }
  });
})();
