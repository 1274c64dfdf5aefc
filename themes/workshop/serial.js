// My serial: typed once, it leads to its airframe, and every page of another airframe says so.
"use strict";

(function () {
  var make = site.make;
  var KEY = "serial of " + site.root;

  /* By airframe: its name, and the first and last serial of each range. Where this file is
     published, its last line says them. */
  site.serials = {};
  function airframes() { return site.serials; }

  function airframeOf(serial) {
    var all = airframes();
    return Object.keys(all).find(function (id) {
      return all[id][1].some(function (range) { return serial >= range[0] && serial <= range[1]; });
    });
  }

  function known() {
    var all = airframes();
    return Object.keys(all).map(function (id) { return all[id][0]; }).join(", ");
  }

  function here() {
    var parts = location.pathname.split("/");
    var folder = decodeURIComponent(parts[parts.length - 2] || "");
    return document.querySelector(".strip .airframe") ? folder : "";
  }

  function form(mine) {
    var made = make("form", "", "my-serial");
    var label = make("label", "Serial number");
    var field = make("input");
    var says = make("p");
    field.inputMode = "numeric";
    field.autocomplete = "off";
    field.value = mine || "";
    says.setAttribute("role", "status");
    label.appendChild(field);
    made.appendChild(label);
    made.appendChild(make("button", "Open"));
    made.appendChild(says);
    made.addEventListener("submit", function (event) {
      event.preventDefault();
      var text = field.value.trim();
      var id = /^[0-9]{1,9}$/.test(text) && airframeOf(Number(text));
      if (!text) {
        site.stored(KEY, "");
        says.textContent = "No serial is kept.";
      } else if (!id) says.textContent = "No airframe here has serial " + text + ". Here are: " + known() + ".";
      else {
        site.stored(KEY, text);
        location.href = (here() ? "../" : "") + id + "/index.html";
      }
    });
    return made;
  }

  /* On a page of another airframe: where this page is for my serial. */
  function elsewhere(mine, id) {
    var there = document.querySelector('.others a[href^="../' + id + '/"]');
    var note = make("p", "", "newer");
    note.appendChild(make("span", "Serial " + mine + " is in " + airframes()[id][0] + "."));
    var link = make("a", there ? "This page there" : "Its front page");
    link.href = there ? there.getAttribute("href") : "../" + id + "/index.html";
    note.appendChild(link);
    var main = document.querySelector("main");
    main.insertBefore(note, main.firstChild);
  }

  function begin() {
    // A pocket edition holds one airframe only.
    if (!site.root) return;
    var mine = site.stored(KEY);
    var id = mine && airframeOf(Number(mine));
    var list = document.querySelector(".page-fleet #answer");
    if (list) list.insertBefore(form(mine), list.querySelector("ul"));
    var settings = document.querySelector(".settings-box .kept-here");
    if (settings && !document.querySelector(".settings-box .my-serial")) settings.before(form(mine));
    if (!id || !here()) return;
    if (id !== here()) elsewhere(mine, id);
    else document.querySelector(".strip .airframe").textContent = "Serial " + mine;
  }

  document.addEventListener("DOMContentLoaded", begin);
})();
