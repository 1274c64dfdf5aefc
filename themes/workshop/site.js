// Helps, and nothing depends on it: the finder, colours for day or night, the chosen view in the
// address, and drawings that show what has failed and say whether there is more of them.
"use strict";

(function () {
  var root = document.documentElement;

  function kept(key, value) {
    // A browser may keep nothing for pages opened from a folder.
    try {
      if (value === undefined) return localStorage.getItem(key);
      localStorage.setItem(key, value);
    } catch (error) {
      return null;
    }
    return value;
  }

  function make(tag, text, name) {
    var element = document.createElement(tag);
    if (text) element.textContent = text;
    if (name) element.className = name;
    return element;
  }

  var look = kept("look");
  if (look === "day" || look === "night") root.setAttribute("data-look", look);

  function addLook() {
    var button = make("button", "", "look-button");
    button.type = "button";
    function isNight() {
      var set = root.getAttribute("data-look");
      return set ? set === "night" : matchMedia("(prefers-color-scheme: dark)").matches;
    }
    function say() {
      button.textContent = isNight() ? "Day colours" : "Night colours";
    }
    button.addEventListener("click", function () {
      var wanted = isNight() ? "day" : "night";
      root.setAttribute("data-look", wanted);
      kept("look", wanted);
      say();
    });
    say();
    document.querySelector("footer").appendChild(button);
  }

  function showView() {
    var button = /^#view-\d+$/.test(location.hash) && document.querySelector(location.hash);
    if (button) button.checked = true;
  }

  function keepView(event) {
    if (event.target.matches && event.target.matches("input.view")) {
      history.replaceState(null, "", "#" + event.target.id);
      showFailed();
    }
  }

  function showFailed() {
    // Where a drawing is larger than its box, what has failed comes to the middle, but no
    // farther down than it must: the sources on top are worth seeing.
    var chosen = document.querySelector("input.view:checked");
    var name = ".failed-" + (chosen ? chosen.id.slice(5) : "0");
    document.querySelectorAll(".pan").forEach(function (pan) {
      var part = pan.querySelector(name) || pan.querySelector(".wanted");
      if (!part) return;
      var box = pan.getBoundingClientRect();
      var at = part.getBoundingClientRect();
      pan.scrollLeft += at.left + at.width / 2 - box.left - box.width / 2;
      pan.scrollTop = Math.max(0, at.bottom + 90 - box.top + pan.scrollTop - box.height);
    });
  }

  function sayHowWide() {
    document.querySelectorAll(".picture").forEach(function (picture) {
      var pan = picture.querySelector(".pan");
      var more = pan.scrollWidth > pan.clientWidth + 1;
      picture.classList.toggle("pans", more);
      picture.classList.toggle("fits", !more);
    });
  }

  function changeZoom(event) {
    if (!event.target.matches || !event.target.matches(".zoom")) return;
    sayHowWide();
    showFailed();
  }

  function openTarget() {
    // What the address points at may be folded away.
    var part = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (!part) return;
    var fold = part.closest("details");
    if (!fold || fold.open) return;
    fold.open = true;
    part.scrollIntoView();
  }

  function plain(text) {
    return text.toLowerCase().replace(/[^a-z0-9\u00c0-\uffff]+/g, " ").trim();
  }

  function rank(entry, wanted, words) {
    // Smaller is better; names that begin with what was typed come first.
    var name = entry.plain;
    if (name === wanted) return 0;
    if (name.indexOf(wanted) === 0) return 1;
    if ((" " + name).indexOf(" " + wanted) >= 0) return 2;
    var all = " " + entry.all;
    if (words.every(function (w) { return all.indexOf(" " + w) >= 0; })) return 3;
    if (words.every(function (w) { return all.indexOf(w) >= 0; })) return 4;
    return -1;
  }

  function addFinder(finder) {
    var label = make("label", "What is dead, or which breaker?");
    label.htmlFor = "wanted";
    var input = make("input");
    input.id = "wanted";
    input.type = "search";
    input.autocomplete = "off";
    input.placeholder = "Name, placard or place";
    input.setAttribute("enterkeyhint", "go");
    var found = make("div", "", "found");
    found.setAttribute("aria-live", "polite");
    finder.insertBefore(found, finder.firstChild);
    finder.insertBefore(input, found);
    finder.insertBefore(label, input);
    var entries = null;

    function show() {
      var wanted = plain(input.value);
      found.textContent = "";
      if (!wanted || !entries) return;
      var words = wanted.split(" ");
      var ranked = [];
      entries.forEach(function (entry, index) {
        var value = rank(entry, wanted, words);
        if (value >= 0) ranked.push([value, index, entry]);
      });
      ranked.sort(function (a, b) { return a[0] - b[0] || a[1] - b[1]; });
      if (!ranked.length) found.appendChild(make("p", "Nothing goes by that name."));
      ranked.slice(0, 24).forEach(function (item) {
        var row = item[2].row;
        var link = make("a");
        link.href = row[3];
        link.appendChild(make("b", row[0]));
        link.appendChild(make("small", row[1]));
        if (row[2]) link.appendChild(make("span", row[2], "detail"));
        found.appendChild(link);
      });
      if (ranked.length > 24) {
        found.appendChild(make("p", ranked.length - 24 + " more: type another letter."));
      }
    }

    var script = make("script");
    script.src = finder.getAttribute("data-index");
    script.onload = function () {
      entries = window.answerFinder.map(function (row) {
        return { row: row, plain: plain(row[0]), all: plain(row.join(" ")) };
      });
      show();
    };
    document.head.appendChild(script);
    input.addEventListener("input", show);
    input.addEventListener("keydown", function (event) {
      var first = found.querySelector("a");
      if (event.key === "Enter" && first) location.href = first.href;
    });
    function ready() {
      if (location.hash === "#find") input.focus();
    }
    window.addEventListener("hashchange", ready);
    ready();
  }

  function openForPrint() {
    document.querySelectorAll("details:not([open])").forEach(function (part) {
      part.open = true;
      part.setAttribute("data-opened", "");
    });
  }

  function closeAfterPrint() {
    document.querySelectorAll("details[data-opened]").forEach(function (part) {
      part.open = false;
      part.removeAttribute("data-opened");
    });
  }

  document.addEventListener("DOMContentLoaded", function () {
    addLook();
    showView();
    sayHowWide();
    showFailed();
    openTarget();
    document.addEventListener("change", keepView);
    document.addEventListener("change", changeZoom);
    window.addEventListener("hashchange", showView);
    window.addEventListener("hashchange", openTarget);
    window.addEventListener("resize", sayHowWide);
    window.addEventListener("beforeprint", openForPrint);
    window.addEventListener("afterprint", closeAfterPrint);
    var finder = document.querySelector(".finder");
    if (finder) addFinder(finder);
  });
})();
