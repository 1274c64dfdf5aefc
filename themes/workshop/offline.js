// On a web host, perhaps with a login: the airframe that is read is kept on the device, and the
// page says which revision, and when a newer one is ready.
"use strict";

(function () {
  var make = site.make;
  var root = site.root;
  var folder = location.href.slice(root.length).split(/[/?#]/)[0];
  var airframe = document.querySelector(".strip .airframe");
  var PATIENCE = 2000;
  var news = { state: "unknown" };
  var line, box, bar;
  if (location.href.indexOf(root) !== 0 || !airframe) folder = "";

  function link(rel, href) {
    var made = make("link");
    made.crossOrigin = "use-credentials";
    made.rel = rel;
    made.href = root + href;
    document.head.appendChild(made);
  }

  function megabytes(bytes) { return Math.max(1, Math.round(bytes / 1e6)) + "\u00a0MB"; }

  function ask(what) {
    navigator.serviceWorker.ready.then(function (ready) {
      ready.active.postMessage({ ask: what, folder: folder });
    });
  }

  function keepNow() {
    site.stored("keep " + folder, "yes");
    ask("keep");
  }

  function forget() {
    site.stored("keep " + folder, "no");
    ask("forget");
  }

  var REASONS = {
    full: "There is no room for it on this device.",
    changed: "The site changed meanwhile. It is tried again with the next page.",
    network: "The network gave out. It is tried again with the next page."
  };

  // What there is to say, and what can be done about it.
  function words() {
    if (news.state === "copying") {
      return ["Keeping this airframe on the device: " + news.done + " of " + news.of + " files, " + megabytes(news.bytes) + " in all."];
    }
    if (news.state === "kept") {
      return ["Kept on this device, " + megabytes(news.bytes) + ": " + news.says + ". No network needed.", "Remove from the device", forget];
    }
    if (news.state === "newer") {
      return ["This is " + news.shown + ". Kept and ready: " + news.says + ".", "Show it now", function () { ask("show"); }];
    }
    if (news.state === "stopped") {
      return ["Not kept on this device. " + REASONS[news.why], "Try again", keepNow];
    }
    if (news.state === "unknown") return [""];
    var size = news.bytes ? ", " + megabytes(news.bytes) : "";
    return ["Not kept on this device: it needs the network.", "Keep this airframe on the device" + size, keepNow];
  }

  function showNews() {
    var now = words();
    line.textContent = now[0];
    if (box) {
      box.replaceChildren(make("p", now[0]));
      if (now[1]) box.appendChild(site.button(now[1], now[2]));
    }
    if (bar) bar.remove();
    // Nothing is kept unasked; it is asked once.
    var offered = news.state === "none" && site.stored("keep " + folder) === null;
    if (offered || news.state === "newer") {
      bar = make("p", offered ? "" : now[0] + " ", "newer");
      bar.setAttribute("role", "status");
      bar.appendChild(site.button(now[1], now[2]));
      if (offered) {
        bar.appendChild(site.button("Not now", function () {
          site.stored("keep " + folder, "no");
          showNews();
        }));
      }
      document.querySelector("main")[offered ? "append" : "prepend"](bar);
    }
  }

  function start() {
    line = make("p", "", "kept-line");
    document.querySelector(".title-block").after(line);
    box = document.querySelector(".kept-here");
    navigator.serviceWorker.addEventListener("message", function (event) {
      if (event.data.folder !== folder) return;
      if (event.data.state === "reload") location.reload();
      // A copy that stops leaves what is kept as it was.
      else if (event.data.state === "stopped" && (news.state === "kept" || news.state === "newer")) return;
      else if (event.data.state === "copying" && news.state === "kept") return;
      news = event.data;
      showNews();
    });
    showNews();
    // The page that is read comes first.
    setTimeout(ask, PATIENCE, site.stored("keep " + folder) === "yes" ? "keep" : "state");
  }

  link("manifest", "manifest.json");
  link("apple-touch-icon", "icon-192.png");
  navigator.serviceWorker.register(root + "sw.js", { scope: root }).then(function () {
    if (folder) start();
  }, function () {
    // A browser may allow no worker, in a private window for one: the site is read from the web.
  });
})();
