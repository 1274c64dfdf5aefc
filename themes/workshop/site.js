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
    ["hand", "Find button", [["", "Right hand"], ["left", "Left hand"]]],
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

  function showView() {
    var button = /^view-\d+$/.test(site.anchor()) && document.getElementById(site.anchor());
    if (button) button.checked = true;
  }

  function keepView(event) {
    if (event.target.matches && event.target.matches("input.view")) {
      site.anchor(event.target.id);
    }
  }

  // Which condition is shown: each row of views has them all, in one order on every page but the
  // blank ones, which begin with none.
  function condition() {
    var chosen = site.chosenView();
    // A page without views, as A to Z, keeps the condition of its own address.
    var number = /^view-(\d+)$/.exec(chosen ? chosen.id : site.anchor());
    var row = document.querySelector(".chip-row");
    var views = row ? row.querySelectorAll("label[for^=view-]") : document.querySelectorAll("input.view");
    return number ? number[1] % (views.length || Infinity) : 0;
  }

  function keepCondition(event) {
    var link = event.target.closest && event.target.closest("a[href]");
    var page = link && /^(#?(?!blank)[\w.-]+\.html)(?:[#/]view-\d+)?$/.exec(link.getAttribute("href"));
    if (!page || document.body.classList.contains("page-fill-in")) return;
    var view = condition();
    var sign = page[1].charAt(0) === "#" ? "/" : "#";
    link.setAttribute("href", page[1] + (view ? sign + "view-" + view : ""));
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

  // A pocket edition sends this event for every page that it shows; a listener that is added again
  // is still one listener.
  document.addEventListener("DOMContentLoaded", function () {
    addSettings();
    keepOffline();
    showView();
    markWidePictures();
    focusWhatScrolls();
    openTarget();
    document.addEventListener("change", keepView);
    document.addEventListener("click", keepCondition);
    window.addEventListener("hashchange", showView);
    window.addEventListener("hashchange", openTarget);
    window.addEventListener("resize", markWidePictures);
    window.addEventListener("resize", focusWhatScrolls);
    window.addEventListener("beforeprint", openForPrint);
    window.addEventListener("afterprint", closeAfterPrint);
  });
})();
