// Helps, and nothing depends on it: the look, the chosen view in the address, drawings that show
// what has failed and say whether there is more of them.
"use strict";

(function () {
  var root = document.documentElement;
  var script = document.currentScript;

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

  // In a pocket edition the address names the page first: `#bus-left-main.html/view-2`.
  function place() {
    return /^#(?:([^/]+\.html)\/?)?(.*)$/.exec(location.hash) || ["", "", ""];
  }

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

  // What the other scripts use.
  window.site = {
    anchor: anchor, kept: kept, make: make, place: place,
    root: script && script.src ? new URL(".", script.src).href : ""
  };

  // Each setting: what it is called, the attribute that the styles look at, and what it can be.
  var SETTINGS = [
    ["look", "Look", [
      ["", "As the device"], ["day", "Day"], ["night", "Night"], ["contrast", "High contrast"]
    ]],
    ["hand", "Find button", [["", "Right hand"], ["left", "Left hand"]]],
    ["slash", "Key / opens Find", [["", "Yes"], ["off", "No"]]]
  ];

  function set(setting, value) {
    var known = setting[2].some(function (choice) { return choice[0] === value; });
    if (known && value) root.setAttribute("data-" + setting[0], value);
    else root.removeAttribute("data-" + setting[0]);
  }

  SETTINGS.forEach(function (setting) { set(setting, kept(setting[0])); });

  function choices(setting) {
    var field = make("fieldset", "", setting[0]);
    field.appendChild(make("legend", setting[1]));
    setting[2].forEach(function (choice) {
      var label = make("label");
      var button = make("input");
      button.type = "radio";
      button.name = setting[0];
      button.value = choice[0];
      button.checked = (root.getAttribute("data-" + setting[0]) || "") === choice[0];
      button.addEventListener("change", function () {
        set(setting, choice[0]);
        kept(setting[0], choice[0]);
      });
      label.appendChild(button);
      label.appendChild(make("span", choice[1]));
      field.appendChild(label);
    });
    return field;
  }

  function addSettings() {
    var link = document.querySelector(".strip .set");
    var section = document.getElementById("settings");
    if (!link || !section || !window.HTMLDialogElement) return;
    var dialog = make("dialog", "", "settings-box");
    var form = make("form");
    form.method = "dialog";
    var title = make("h2", "Settings");
    title.id = "settings-title";
    dialog.setAttribute("aria-labelledby", title.id);
    form.appendChild(title);
    SETTINGS.forEach(function (setting) { form.appendChild(choices(setting)); });
    // Here the script for working without a network says what is kept on the device.
    form.appendChild(make("div", "", "kept-here"));
    form.appendChild(make("button", "Close"));
    dialog.appendChild(form);
    section.replaceWith(dialog);
    link.addEventListener("click", function (event) {
      event.preventDefault();
      dialog.showModal();
    });
  }

  function showView() {
    var button = /^view-\d+$/.test(anchor()) && document.getElementById(anchor());
    if (button) button.checked = true;
  }

  function keepView(event) {
    if (event.target.matches && event.target.matches("input.view")) {
      anchor(event.target.id);
      showFailed();
    }
  }

  // Which condition is shown: each row of views has them all, in one order on every page but the
  // blank ones, which begin with none.
  function condition() {
    var chosen = document.querySelector("input.view:checked");
    // A page without views, as A to Z, hands on what it was given.
    var number = /^view-(\d+)$/.exec(chosen ? chosen.id : anchor());
    var row = document.querySelector(".chip-row");
    var views = row ? row.querySelectorAll("label[for^=view-]") : document.querySelectorAll("input.view");
    return number ? number[1] % (views.length || Infinity) : 0;
  }

  function carryCondition(event) {
    var link = event.target.closest && event.target.closest("a[href]");
    var page = link && /^(#?(?!blank)[\w.-]+\.html)(?:[#/]view-\d+)?$/.exec(link.getAttribute("href"));
    if (!page || document.body.classList.contains("page-blank")) return;
    var view = condition();
    var sign = page[1].charAt(0) === "#" ? "/" : "#";
    link.setAttribute("href", page[1] + (view ? sign + "view-" + view : ""));
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

  function reachWhatScrolls() {
    // A box that scrolls sideways can be slid by keyboard too.
    document.querySelectorAll(".prose table, .lines, .drawn, .sideways, .blank-bus").forEach(function (box) {
      if (box.scrollWidth > box.clientWidth + 1) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    });
  }

  function changeZoom(event) {
    if (!event.target.matches || !event.target.matches(".zoom")) return;
    sayHowWide();
    showFailed();
  }

  function openTarget() {
    // What the address points at may be folded away.
    var part = anchor() && document.getElementById(anchor());
    if (!part) return;
    var fold = part.closest("details");
    if (!fold || fold.open) return;
    fold.open = true;
    part.scrollIntoView();
  }

  function keepOffline() {
    // From a folder there is nothing to keep, and no worker to keep it.
    if (!/^https?:$/.test(location.protocol) || !isSecureContext || !site.root) return;
    if (!navigator.serviceWorker || document.querySelector("script.offline")) return;
    var more = make("script", "", "offline");
    more.src = site.root + "offline.js";
    document.head.appendChild(more);
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

  // A pocket edition tells of every page that it puts in place in the same way; a listener that is
  // added again is still one listener.
  document.addEventListener("DOMContentLoaded", function () {
    addSettings();
    keepOffline();
    showView();
    sayHowWide();
    reachWhatScrolls();
    showFailed();
    openTarget();
    document.addEventListener("change", keepView);
    document.addEventListener("change", changeZoom);
    document.addEventListener("click", carryCondition);
    window.addEventListener("hashchange", showView);
    window.addEventListener("hashchange", openTarget);
    window.addEventListener("resize", sayHowWide);
    window.addEventListener("resize", reachWhatScrolls);
    window.addEventListener("beforeprint", openForPrint);
    window.addEventListener("afterprint", closeAfterPrint);
  });
})();
