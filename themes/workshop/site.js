// Optional on every page: the look, the chosen view in the address, a note where there is more of a
// drawing to the side.
"use strict";

(function () {
  var root = document.documentElement;
  var make = site.make;

  // Each setting: what it is called, the attribute that the styles look at, and what it can be.
  var SETTINGS = [
    ["look", "Look", [
      ["", "As the device"], ["day", "Day"], ["night", "Night"], ["contrast", "High contrast"]
    ]],
    ["slash", "Key / opens Find", [["", "Yes"], ["off", "No"]]]
  ];

  function set(setting, value) {
    var known = setting[2].some(function (choice) { return choice[0] === value; });
    if (known && value) root.setAttribute("data-" + setting[0], value);
    else root.removeAttribute("data-" + setting[0]);
  }

  SETTINGS.forEach(function (setting) { set(setting, site.stored(setting[0])); });

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
        site.stored(setting[0], choice[0]);
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

  // The condition is that of the address, or else the one that was last chosen in this window: it
  // is on every page until another is chosen. By name, since catalogues have them in other orders.
  function menuLabels() {
    var row = document.querySelector(".menu-row");
    return row ? Array.prototype.slice.call(row.querySelectorAll("label[for^=view-]")) : [];
  }

  function conditionNames() {
    return menuLabels().map(function (label) { return label.firstElementChild.textContent; });
  }

  function choose(number) {
    var button = document.getElementById("view-" + number);
    if (button) button.checked = true;
    return !!button;
  }

  function showView() {
    if (document.body.classList.contains("page-fill-in")) return;
    var named = /^view-(\d+)$/.exec(site.anchor());
    if (named && choose(named[1])) remember();
    else if (!named) {
      var names = conditionNames();
      var number = names.indexOf(site.remembered(site.PLACE));
      if (number > 0) choose(number + view() - view() % names.length);
    }
  }

  // The address has led the focus to a hidden button: nothing is marked that nobody has touched.
  function leaveView() {
    if (site.chosenView()) site.chosenView().blur();
  }

  function remember() {
    var name = conditionNames()[condition()];
    if (name) site.remembered(site.PLACE, name);
  }

  function keepView(event) {
    if (!event.target.matches || !event.target.matches("input.view")) return;
    site.anchor(event.target.id);
    remember();
    if (!DESK.matches) closeMenu();
    openForView();
    measureStrip();
  }

  function view() {
    var chosen = site.chosenView();
    return chosen ? Number(chosen.id.slice(5)) : 0;
  }

  // Which condition is shown: each row of views has them all, in one order on every page but the
  // blank ones, which begin with none.
  function condition() {
    if (site.chosenView()) return view() % (menuLabels().length || Infinity);
    // A page without views, as A to Z, keeps the condition of its own address.
    var number = /^view-(\d+)$/.exec(site.anchor());
    return number ? Number(number[1]) : 0;
  }

  site.condition = condition;

  function keepCondition(event) {
    var link = event.target.closest && event.target.closest("a[href]");
    var page = link && /^(#?(?!blank)[\w.-]+\.html)(?:[#/]view-\d+)?$/.exec(link.getAttribute("href"));
    if (!page || document.body.classList.contains("page-fill-in")) return;
    var view = condition();
    var sign = page[1].charAt(0) === "#" ? "/" : "#";
    link.setAttribute("href", page[1] + (view ? sign + "view-" + view : ""));
  }

  // The menu of conditions is open at a desk, where it has a row of its own, and so are the chapters of what is not long.

  var DESK = window.matchMedia("(min-width: 60rem)");

  function closeMenu() {
    var menu = document.querySelector(".conditions");
    if (menu) menu.open = false;
  }

  function openAtDesk() {
    var parts = document.querySelectorAll(".conditions, :not(.by-chapter) > details.chapter, main .group.fold");
    parts.forEach(function (part) {
      if (DESK.matches && !part.open) part.setAttribute("data-desk", "");
      if (DESK.matches) part.open = true;
      else if (part.hasAttribute("data-desk")) {
        part.open = false;
        part.removeAttribute("data-desk");
      }
    });
  }

  // On a phone a list that is long in this view is folded; one that its reader has touched stays.
  function openForView() {
    if (DESK.matches) return;
    document.querySelectorAll("[data-open-in]").forEach(function (part) {
      if (part.hasAttribute("data-touched")) return;
      part.open = part.getAttribute("data-open-in").split(" ").indexOf(String(view())) >= 0;
    });
  }

  function touched(event) {
    var summary = event.target.closest && event.target.closest("[data-open-in] > summary");
    if (summary) summary.parentNode.setAttribute("data-touched", "");
  }

  function closeOutside(event) {
    var menu = document.querySelector(".conditions[open]");
    if (!menu || DESK.matches) return;
    var escape = event.key === "Escape";
    if (!escape && (event.type === "keydown" || menu.contains(event.target))) return;
    menu.open = false;
    if (escape) menu.querySelector("summary").focus();
  }

  // The strip is as high as its words; what stays on the screen as the page scrolls is below it.
  function measureStrip() {
    var strip = document.querySelector(".strip");
    if (strip) root.style.setProperty("--strip", strip.offsetHeight + "px");
  }

  function markWidePictures() {
    document.querySelectorAll(".picture.blank").forEach(function (picture) {
      var pan = picture.querySelector(".pan");
      var more = pan.scrollWidth > pan.clientWidth + 1;
      picture.classList.toggle("pans", more);
      picture.classList.toggle("fits", !more);
    });
  }

  function focusWhatScrolls() {
    // A box that scrolls sideways can be scrolled by keyboard too.
    document.querySelectorAll(".prose table, .lines, .drawn, .sideways, .blank-bus").forEach(function (box) {
      if (box.scrollWidth > box.clientWidth + 1) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    });
  }

  function openTarget() {
    // What the address points at may be in a closed fold.
    var part = site.anchor() && document.getElementById(site.anchor());
    if (!part) return;
    var fold = part.closest("details");
    if (!fold || fold.open) return;
    fold.open = true;
    part.scrollIntoView();
  }

  // Where a link leads to in its page: a pocket edition has the page in the hash too.
  function target(link) { return link.hash.slice(1).split("/").pop(); }

  // A section that is led to opens, also when the address has it already.
  function openSection(event) {
    var link = event.target.closest && event.target.closest(".jumps a, .lasting a, .nearest a");
    var part = link && document.getElementById(target(link));
    if (!part || !part.matches(".fold")) return;
    part.open = true;
    part.setAttribute("data-touched", "");
  }

  // A link in a sentence is as high as its line. A finger that taps beside links follows the nearest
  // whose 44 px it is in: the areas of neighbours meet, and none is over another.
  function followNearest(event) {
    var on = event.target.closest ? event.target : document.body;
    var touch = event.pointerType ? event.pointerType === "touch" : matchMedia("(pointer: coarse)").matches;
    var part = on.closest("main, footer");
    if (!touch || !part || event.defaultPrevented || String(getSelection())
      || on.closest("a, button, summary, label, input, select, textarea, .pan, dialog")
      || !DESK.matches && document.querySelector(".conditions[open]")) return;
    var nearest = null, least = Infinity;
    part.querySelectorAll("a[href]:not(svg a)").forEach(function (link) {
      Array.prototype.forEach.call(link.getClientRects(), function (box) {
        var x = Math.max(box.left - event.clientX, event.clientX - box.right, 0);
        var y = Math.max(box.top - event.clientY, event.clientY - box.bottom, 0);
        if (2 * x > Math.max(44 - box.width, 0) || 2 * y > 44 - box.height || x + y >= least) return;
        nearest = link;
        least = x + y;
      });
    });
    if (nearest) nearest.click();
  }

  // In the bar along the page the section that is being read is marked.
  function markSection() {
    var bar = document.querySelector(".jumps");
    if (!bar) return;
    var links = Array.prototype.slice.call(bar.querySelectorAll("a"));
    var line = bar.getBoundingClientRect().bottom + 24;
    var best = null, bestTop = -Infinity;
    links.forEach(function (link) {
      var part = document.getElementById(target(link));
      var top = part && part.offsetParent ? part.getBoundingClientRect().top : Infinity;
      if (top <= line && top >= bestTop) {
        best = link;
        bestTop = top;
      }
    });
    var was = bar.querySelector(".here");
    if (was === best) return;
    if (was) was.classList.remove("here");
    if (!best) return;
    best.classList.add("here");
    bar.scrollTo({ left: best.offsetLeft - 60 });
  }

  function keepOffline() {
    // From a folder there is nothing to keep, and no worker to keep it.
    if (!/^https?:$/.test(location.protocol) || !isSecureContext || !site.root) return;
    if (!navigator.serviceWorker || document.querySelector("script.offline")) return;
    var more = make("script", "", "offline");
    more.src = site.root + "offline.js";
    document.head.appendChild(more);
  }

  // A page that is made to be printed has a button for it: a phone's own is deep in a menu.
  function addPrint() {
    var note = document.querySelector("p.on-screen");
    if (note) note.after(site.button("Print", function () { window.print(); }, "print-page on-screen"));
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

  var markSoon = site.perFrame(markSection);

  // A pocket edition sends this event for every page that it shows; a listener that is added again
  // is still one listener.
  document.addEventListener("DOMContentLoaded", function () {
    addSettings();
    addPrint();
    keepOffline();
    openAtDesk();
    showView();
    openForView();
    measureStrip();
    markWidePictures();
    focusWhatScrolls();
    openTarget();
    document.addEventListener("change", keepView);
    document.addEventListener("click", followNearest);
    document.addEventListener("click", keepCondition);
    document.addEventListener("click", closeOutside);
    document.addEventListener("click", openSection);
    document.addEventListener("click", touched);
    window.addEventListener("scroll", markSoon, { passive: true });
    document.addEventListener("keydown", closeOutside);
    DESK.addEventListener("change", openAtDesk);
    window.addEventListener("load", leaveView);
    window.addEventListener("hashchange", showView);
    window.addEventListener("hashchange", openTarget);
    window.addEventListener("resize", measureStrip);
    window.addEventListener("resize", markWidePictures);
    window.addEventListener("resize", focusWhatScrolls);
    window.addEventListener("beforeprint", openForPrint);
    window.addEventListener("afterprint", closeAfterPrint);
  });
})();
