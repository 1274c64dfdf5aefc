// What several scripts use. Read before them; its only name is `site`.
"use strict";

(function () {
  var script = document.currentScript;

  function make(tag, text, name) {
    var element = document.createElement(tag);
    if (text) element.textContent = text;
    if (name) element.className = name;
    return element;
  }

  // What follows a scroll is done once before the next picture, however often it is asked for.
  function perFrame(act) {
    var waiting = false;
    return function () {
      if (waiting) return;
      waiting = true;
      requestAnimationFrame(function () {
        waiting = false;
        act();
      });
    };
  }

  function button(text, act, name) {
    var made = make("button", text, name);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  }

  // Reads a value, or stores one: on the device, or for as long as the window is open. A browser may
  // store nothing for pages opened from a folder.
  function keeper(storage) {
    return function (key, value) {
      try {
        if (value === undefined) return storage().getItem(key);
        storage().setItem(key, value);
      } catch (error) {
        return null;
      }
      return value;
    };
  }
  var stored = keeper(function () { return localStorage; });
  var remembered = keeper(function () { return sessionStorage; });

  // In a pocket edition the address names the page first: `#bus-left-main.html/view-2`.
  function place() {
    return /^#(?:([^/]+\.html)\/?)?(.*)$/.exec(location.hash) || ["", "", ""];
  }

  // Reads the place within the page, or sets it.
  function anchor(id) {
    if (id === undefined) return place()[2];
    var page = place()[1];
    try {
      history.replaceState(history.state, "", "#" + (page ? page + "/" : "") + id);
    } catch (error) {
      // Some file viewers let no page change its address.
    }
    return id;
  }

  // A state of the board as its address has it: `c=cruise&f=left-main:dead&s=switch:place&p=breaker`,
  // and `x=item&r=reset&a=dip`. What is empty is left out; `failed` is a list of [id, mode].
  function boardState(set) {
    function list(pairs) {
      return pairs.map(function (pair) { return pair[0] + ":" + encodeURIComponent(pair[1]); });
    }
    var parts = [["c", [set.condition]], ["f", list(set.failed)],
      ["s", list(Object.entries(set.switches || {}))], ["p", set.pulled], ["x", set.shed],
      ["r", set.reset], ["a", set.reading ? [set.reading] : []]];
    return parts.filter(function (part) { return part[1] && part[1].length; })
      .map(function (part) { return part[0] + "=" + part[1].join(","); }).join("&");
  }

  function chosenView() { return document.querySelector("input.view:checked"); }

  // Data comes as a script, since a page that was opened from a folder may fetch nothing. In a
  // pocket edition `site.file` has its text.
  function load(name, done, failed) {
    var data = make("script", site.file && site.file(name));
    data.onload = done;
    data.onerror = failed;
    if (!data.textContent) data.src = name;
    document.head.appendChild(data);
    if (data.textContent) done();
  }

  var root = script && script.src ? new URL(".", script.src).href : "";

  window.site = {
    anchor: anchor, boardState: boardState, button: button, chosenView: chosenView, load: load, make: make,
    perFrame: perFrame, place: place, remembered: remembered, root: root, stored: stored,
    // Where the name of the condition is remembered that was last chosen.
    PLACE: "condition of " + root,
    // The number of the condition that the page shows; `site.js` knows.
    condition: function () { return 0; }
  };
})();
