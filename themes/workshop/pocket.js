// Puts the pages of a pocket edition together, and shows the one that the address names.
// The address is `#page.html`, with `/place` for a place or a view of that page.
"use strict";

(function () {
  var root = document.documentElement;
  var pages = {};
  var fragments, row;
  var shown = null;
  var scrolled = {};
  var number = 0;
  var kept = new Set();

  root.classList.add("is-opening");

  function unpacked(id) {
    var part = document.getElementById(id);
    var letters = atob(part.textContent);
    part.remove();
    var bytes = Uint8Array.from(letters, function (letter) { return letter.charCodeAt(0); });
    var stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
    return new Response(stream);
  }

  // As `sitegen.output.pocket.packed` writes it.
  function inOrder(bytes, length) {
    var numbers = new Uint32Array(length);
    var at = [0, 0];
    var filled = 0, seen = 0;
    function next(row) {
      var value = 0, shift = 0, byte;
      do {
        byte = bytes[at[row]++];
        value += (byte & 127) * Math.pow(2, shift);
        shift += 7;
      } while (byte > 127);
      return value;
    }
    var first = next(0), second = next(0);
    at[1] = at[0] + first;
    var single = at[1] + second;
    var most = (bytes.length - single) / 3;
    while (filled < length) {
      for (var singles = next(0); singles > 0; singles--) {
        var back = bytes[single] | bytes[single + most] << 8 | bytes[single + 2 * most] << 16;
        single++;
        numbers[filled++] = seen - back;
        if (back === 0) seen++;
      }
      var run = next(0);
      for (var ago = run && next(1); run > 0; run--, filled++) numbers[filled] = numbers[filled - ago];
    }
    return numbers;
  }

  function file(name) {
    var text = "";
    for (var k = pages[name][0]; k < pages[name][1]; k++) text += fragments[row[k]];
    return text;
  }

  function readdress(links) {
    links.forEach(function (link) {
      var href = link.getAttribute("href");
      if (/^(data|https):/.test(href)) return;
      var parts = /^(?:\.\.\/)?([\w.-]*)(?:#(.*))?$/.exec(href);
      if (!parts || /^#[^/]+\.html/.test(href)) return;
      var page = parts[1] || shown;
      if (!pages[page]) {
        link.removeAttribute("href");
        link.title = "Not in this file";
      } else if (/\.html$/.test(page)) {
        link.setAttribute("href", "#" + page + (parts[2] ? "/" + parts[2] : ""));
      } else {
        link.setAttribute("href", "data:text/csv;charset=utf-8," + encodeURIComponent(file(page)));
        link.download = page;
      }
    });
  }

  // The listeners of a page's scripts are removed with the page.
  var listening = [];
  [window, document].forEach(function (target) {
    var add = target.addEventListener;
    target.addEventListener = function (kind, act, options) {
      if (shown !== null) listening.push([target, kind, act, options]);
      add.call(target, kind, act, options);
    };
  });

  function stopListening() {
    listening.forEach(function (one) { one[0].removeEventListener(one[1], one[2], one[3]); });
    listening = [];
  }

  function name(address) { return address.split("/").pop(); }

  function run(text) {
    var script = site.make("script", text);
    document.body.appendChild(script);
    script.remove();
  }

  function replacePage(page) {
    var made = new DOMParser().parseFromString(file(page), "text/html");
    var scripts = new Set();
    made.querySelectorAll("script").forEach(function (script) {
      var source = script.getAttribute("src");
      script.remove();
      // Those that every page has are here already.
      if (!source) scripts.add(script.textContent);
      else if (pages[name(source)] && !(script.hasAttribute("data-once") && kept.has(source))) {
        scripts.add(file(name(source)));
        // What only defines something is defined for all pages.
        if (script.hasAttribute("data-once")) kept.add(source);
      }
    });
    // What is read here is read without scripts, and so has their pictures.
    made.querySelectorAll("noscript").forEach(function (part) { part.remove(); });
    stopListening();
    shown = page;
    document.title = made.title;
    document.documentElement.className = made.documentElement.className;
    document.getElementById("view-style").textContent = Array.from(
      made.querySelectorAll("head style"), function (style) { return style.textContent; }
    ).join("\n");
    var wanted = Array.from(made.querySelectorAll("link[rel=stylesheet]"), function (link) {
      return name(link.getAttribute("href"));
    });
    document.querySelectorAll("style[data-name]").forEach(function (style) {
      var own = style.getAttribute("data-name");
      var isWanted = wanted.indexOf(own) >= 0;
      style.media = isWanted ? "all" : "not all";
      if (isWanted && pages[own] && !style.textContent) style.textContent = file(own);
    });
    document.body.className = made.body.className;
    document.body.replaceChildren.apply(document.body, Array.from(made.body.childNodes));
    readdress(document.querySelectorAll("a[href]"));
    // Scripts begin as on any page that is read: each of its own, then those that wait for its end.
    scripts.forEach(run);
    document.dispatchEvent(new Event("DOMContentLoaded"));
  }

  // A link that a script has made gets its address when it is clicked.
  function onClick(event) {
    var link = event.target.closest && event.target.closest("a[href]");
    if (link) readdress([link]);
  }

  function toPlace(anchor) {
    var part = anchor && document.getElementById(anchor);
    document.querySelectorAll(".target").forEach(function (old) { old.classList.remove("target"); });
    if (!part) return false;
    part.classList.add("target");
    if (!part.matches("input.view")) part.scrollIntoView();
    return !part.matches("input.view");
  }

  function show() {
    var place = site.place();
    var page = pages[place[1]] ? place[1] : "index.html";
    var known = history.state && history.state.number;
    var fresh = page !== shown;
    var first = shown === null;
    if (fresh) replacePage(page);
    number = known || Date.now();
    try {
      history.replaceState({ number: number }, "");
    } catch (error) {
      // Some file viewers let no page change its address: then 'back' leads to the page's top.
    }
    if (known) scrollTo(0, scrolled[number] || 0);
    else if (!toPlace(place[2]) && fresh) scrollTo(0, 0);
    var title = document.querySelector("h1");
    if (!fresh || first || !title) return;
    // As after any page that is read anew, what follows begins at its top.
    title.tabIndex = -1;
    title.focus({ preventScroll: true });
  }

  function fail(message) {
    root.classList.remove("is-opening");
    var note = document.querySelector(".opening");
    note.classList.add("warning");
    note.textContent = message + " The list below needs nothing.";
  }

  document.addEventListener("DOMContentLoaded", function start() {
    document.removeEventListener("DOMContentLoaded", start);
    if (!window.DecompressionStream) {
      fail("This browser is too old for the pages: Chrome or Edge 103, Firefox 113, Safari 16.4 or later opens them.");
      return;
    }
    var length = 0;
    JSON.parse(document.getElementById("pocket-table").textContent).forEach(function (entry) {
      pages[entry[0]] = [length, length += entry[1]];
    });
    Promise.all([
      unpacked("pocket-fragments").text(), unpacked("pocket-order").arrayBuffer()
    ]).then(function (parts) {
      fragments = parts[0].split("\0");
      row = inOrder(new Uint8Array(parts[1]), length);
      site.file = function (name) { return pages[name] ? file(name) : ""; };
      history.scrollRestoration = "manual";
      addEventListener("scroll", function () { scrolled[number] = scrollY; }, { passive: true });
      addEventListener("hashchange", show);
      addEventListener("click", onClick, true);
      root.classList.remove("is-opening");
      show();
    }).catch(function () { fail("The pages in this file could not be read: it may be cut short."); });
  });
})();
