/* From a file, browsers refuse to start a Worker. This stand-in runs the worker's script in a
   hidden frame of the same page and passes messages both ways, so that the search works without a
   server. */
(function () {
  "use strict";
  if (location.protocol !== "file:") { return; }

  function copy(data) {
    return typeof structuredClone === "function" ? structuredClone(data)
      : JSON.parse(JSON.stringify(data));
  }

  class FrameWorker extends EventTarget {
    #frame = document.createElement("iframe");
    #waiting = [];
    #ready = false;

    constructor(url) {
      super();
      this.onmessage = null;
      this.onerror = null;
      this.#frame.hidden = true;
      this.#frame.title = "Search";
      this.#frame.setAttribute("aria-hidden", "true");
      this.#frame.tabIndex = -1;
      document.body.appendChild(this.#frame);

      /* An empty frame has this page's origin, so its window can be furnished as a worker's
         scope. */
      var inside = this.#frame.contentWindow;
      inside.postMessage = (data) => { this.#tell(copy(data)); };
      inside.importScripts = (...urls) => urls.reduce(
        (done, next) => done.then(() => this.#load(next)), Promise.resolve());
      this.#load(String(new URL(url, document.baseURI))).then(
        () => {
          this.#ready = true;
          this.#waiting.splice(0).forEach((data) => this.#deliver(data));
        },
        () => {
          var event = new Event("error");
          this.dispatchEvent(event);
          if (typeof this.onerror === "function") { this.onerror(event); }
        });
    }

    postMessage(data) {
      var sent = copy(data);
      if (this.#ready) { this.#deliver(sent); } else { this.#waiting.push(sent); }
    }

    terminate() { this.#frame.remove(); }

    #deliver(data) {
      var inside = this.#frame.contentWindow;
      if (inside) {
        setTimeout(() => inside.dispatchEvent(new inside.MessageEvent("message", { data: data })),
          0);
      }
    }

    #tell(data) {
      setTimeout(() => {
        var event = new MessageEvent("message", { data: data });
        this.dispatchEvent(event);
        if (typeof this.onmessage === "function") { this.onmessage(event); }
      }, 0);
    }

    #load(url) {
      return new Promise((resolve, reject) => {
        var script = this.#frame.contentDocument.createElement("script");
        script.src = url;
        script.onload = resolve;
        script.onerror = reject;
        this.#frame.contentDocument.head.appendChild(script);
      });
    }
  }

  window.Worker = FrameWorker;
})();
