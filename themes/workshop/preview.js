// In a preview: waits until the catalogue's files change, then loads the page anew, or says what is
// wrong with them above the last good page.
"use strict";

(function () {
  var version = Number(document.currentScript.getAttribute("data-version"));
  var bar = null;

  function say(messages) {
    if (bar) bar.remove();
    bar = null;
    if (!messages.length) return;
    bar = document.createElement("div");
    bar.className = "preview-errors";
    bar.setAttribute("role", "alert");
    var title = bar.appendChild(document.createElement("b"));
    title.textContent = messages.length === 1 ? "The catalogue has an error. This is the last good page."
      : "The catalogue has " + messages.length + " errors. This is the last good page.";
    messages.slice(0, 20).forEach(function (text) {
      bar.appendChild(document.createElement("p")).textContent = text;
    });
    document.body.prepend(bar);
  }

  function wait() {
    fetch("/-/state?since=" + version).then(function (answer) { return answer.json(); }).then(function (state) {
      if (state.version !== version) {
        if (!state.messages.length) {
          location.reload();
          return;
        }
        say(state.messages);
      }
      version = state.version;
      wait();
    }, function () { setTimeout(wait, 1000); });
  }

  document.addEventListener("DOMContentLoaded", wait, { once: true });
})();
