// The finder, on every page: by name, placard or place, in any order of words, with the
// abbreviations that the catalogue lists and one typing error a word.
"use strict";

(function () {
  var make = site.make;
  var MOST = 30;
  var SHORTEST_WITH_ERROR = 4;
  var NONE = 1000;
  var loading = null;

  function words(text) {
    // Letters without their marks: 'Ecole' finds 'École'.
    var bare = text.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
    // 'B 7' is the place B7, '7.5' one number; 'R/H' and 'L/H' are sides.
    bare = bare.replace(/\b([rl])\s*\/\s*h\b/g, "$1h").replace(/\b([a-z])\s+(\d+)\b(?!\.)/g, "$1$2");
    return (bare.match(/\d+\.\d+|[\p{L}\p{N}]+/gu) || []).map(function (word) {
      return word === "rh" ? "right" : word === "lh" ? "left" : word;
    });
  }

  // One letter wrong, missing, too many, or two neighbours exchanged: the distance of
  // Damerau (1964), as far as one.
  function isOneErrorApart(one, other) {
    if (Math.abs(one.length - other.length) > 1) return false;
    var i = 0;
    while (i < one.length && i < other.length && one[i] === other[i]) i++;
    if (one.slice(i + 1) === other.slice(i + 1)) return true;
    if (one.slice(i) === other.slice(i + 1) || one.slice(i + 1) === other.slice(i)) return true;
    return one[i] === other[i + 1] && one[i + 1] === other[i] &&
      one.slice(i + 2) === other.slice(i + 2);
  }

  function startsWithOneError(typed, word) {
    // What is typed so far may be the beginning of a word.
    for (var length = typed.length - 1; length <= typed.length + 1; length++) {
      if (length <= word.length && isOneErrorApart(typed, word.slice(0, length))) return true;
    }
    return false;
  }

  function price(typed, word, errors) {
    if (word === typed) return 0;
    // '1' is not the beginning of '10', nor B1 that of B12.
    if (/\p{N}/u.test(typed)) return NONE;
    if (word.indexOf(typed) === 0) return 1;
    if (typed.length > 2 && word.indexOf(typed) > 0) return 4;
    return errors && typed.length >= SHORTEST_WITH_ERROR && startsWithOneError(typed, word) ? 6 : NONE;
  }

  function cheapest(typed, all, errors) {
    return all.reduce(function (best, word) {
      return best ? Math.min(best, price(typed, word, errors)) : best;
    }, NONE);
  }

  function Index(holds) {
    var meanings = {};
    Object.keys(holds.abbreviations).forEach(function (short) {
      meanings[words(short).join(" ")] = holds.abbreviations[short].split(",").map(words);
    });
    function spelled(all) {
      return [].concat.apply([], all.map(function (word) {
        return [].concat.apply([], Object.hasOwn(meanings, word) ? meanings[word] : []);
      }));
    }
    this.meanings = meanings;
    this.entries = holds.rows.map(function (row) {
      var name = words(row[0]);
      var more = words(row[1] + " " + row[2] + " " + row[4]);
      return {
        row: row, name: name, more: more, spelled: spelled(name), spelledMore: spelled(more),
        parts: row[2].split(/[,;]/).map(words)
      };
    });
  }

  Index.prototype.priceOf = function (entry, typed, errors) {
    var index = this;
    function every(parts, extra) {
      return parts.reduce(function (sum, part) {
        return sum + index.plainPrice(entry, part, errors);
      }, extra);
    }
    var best = this.plainPrice(entry, typed, errors);
    if (best > 2 && Object.hasOwn(this.meanings, typed)) {
      this.meanings[typed].forEach(function (parts) { best = Math.min(best, every(parts, 2)); });
    }
    // 'com1' for 'COM 1', '26v' for '26 V'; B7 is a place.
    var parts = typed.match(/^\p{N}+\p{L}$/u) ? typed.match(/\p{N}+|\p{L}/gu)
      : typed.match(/\p{N}+|\p{L}{2,}/gu) || [];
    if (best > 2 && parts.length > 1) best = Math.min(best, every(parts, 2));
    return best;
  };

  Index.prototype.plainPrice = function (entry, typed, errors) {
    return Math.min(
      cheapest(typed, entry.name, errors),
      1 + cheapest(typed, entry.spelled, errors),
      3 + cheapest(typed, entry.more, errors),
      4 + cheapest(typed, entry.spelledMore, errors)
    );
  };

  Index.prototype.search = function (text) {
    var typed = words(text);
    var whole = typed.join(" ");
    var phrase = whole.replace(/(\p{L}{2})(\p{N})/gu, "$1 $2");
    var index = this;
    function ranked(errors) {
      var matches = [];
      index.entries.forEach(function (entry, number) {
        var sum = typed.reduce(function (sum, word) {
          return sum < NONE ? sum + index.priceOf(entry, word, errors) : sum;
        }, 0);
        if (sum >= NONE) return;
        var name = entry.name.join(" ");
        // 'right wall B7' is one place, not the right of one thing and the wall of another.
        if (typed.length > 1 && entry.parts.some(function (part) {
          return typed.every(function (word) { return cheapest(word, part, errors) < 4; });
        })) sum = Math.min(sum, 1);
        // Of a placard and the item behind it the item is first: it has the place of its breaker.
        if (entry.row[1] === "Equipment" && (" " + name + " ").indexOf(" " + phrase + " ") >= 0) sum -= 21;
        else if (name === whole) sum -= 20;
        else if (name.indexOf(whole) === 0) sum -= 10;
        matches.push([sum, entry.name.length, number, entry.row]);
      });
      matches.sort(function (a, b) { return a[0] - b[0] || a[1] - b[1] || a[2] - b[2]; });
      return matches.map(function (item) { return item[3]; });
    }
    if (!typed.length) return { rows: [], near: false };
    var exact = ranked(false);
    return exact.length ? { rows: exact, near: false } : { rows: ranked(true), near: true };
  };

  function loadIndex() {
    loading = loading || new Promise(function (done, failed) {
      site.load("search.js", function () {
        done(new Index(findable));
      }, function () {
        loading = null;
        failed();
      });
    });
    return loading;
  }

  function result(row) {
    var item = make("li");
    var link = make("a");
    link.href = row[3];
    link.appendChild(make("b", row[0]));
    link.appendChild(make("small", row[1]));
    var detail = row[5] ? row[5][site.condition()] || row[2] : row[2];
    if (detail) link.appendChild(make("span", detail, "detail"));
    item.appendChild(link);
    return item;
  }

  function attach(form, chosen) {
    var input = form.querySelector("input");
    var count = make("p", "", "result-count");
    var list = make("ul", "", "results");
    count.setAttribute("role", "status");
    form.appendChild(count);
    form.appendChild(list);
    function show(index) {
      var matches = index.search(input.value);
      list.textContent = "";
      matches.rows.slice(0, MOST).forEach(function (row) { list.appendChild(result(row)); });
      var number = matches.rows.length;
      if (!input.value.trim()) count.textContent = "";
      else if (!number) count.textContent = "No match. A to Z lists every name.";
      else if (matches.near) count.textContent = "No exact match. Similar:";
      else if (number > MOST) count.textContent = MOST + " of " + number + ": another word narrows it.";
      else count.textContent = number + " found";
    }
    function look() {
      loadIndex().then(show, function () {
        count.textContent = "The list of names could not be read. A to Z has it too.";
      });
    }
    function links() { return Array.prototype.slice.call(list.querySelectorAll("a")); }
    input.addEventListener("focus", loadIndex);
    input.addEventListener("input", look);
    form.addEventListener("submit", function (event) {
      event.preventDefault();
      loadIndex().then(function (index) {
        show(index);
        if (input.value.trim() && links()[0]) links()[0].click();
      });
    });
    form.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && form.closest("dialog")) {
        // Otherwise it would only empty the field.
        event.preventDefault();
        form.closest("dialog").close();
      }
      var step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (!step) return;
      var all = [input].concat(links());
      var at = all.indexOf(document.activeElement);
      var next = all[at + step];
      if (at < 0 || !next) return;
      event.preventDefault();
      next.focus();
    });
    list.addEventListener("click", function (event) {
      if (event.target.closest("a")) chosen();
    });
    if (input.value) look();
  }

  function makeDialog(aToZ) {
    var dialog = make("dialog", "", "find-box");
    dialog.setAttribute("aria-label", "Find");
    var form = make("form", "", "seek");
    form.setAttribute("role", "search");
    var label = make("label", "What is dead, or which breaker?");
    label.htmlFor = "wanted-here";
    var input = make("input");
    input.id = "wanted-here";
    input.type = "search";
    input.autocomplete = "off";
    input.placeholder = "Name, placard or place";
    input.setAttribute("enterkeyhint", "go");
    var close = site.button("Close", function () { dialog.close(); }, "close");
    var all = make("a", "A to Z", "all");
    all.href = aToZ;
    [label, input, close, all].forEach(function (part) { form.appendChild(part); });
    dialog.appendChild(form);
    attach(form, function () { dialog.close(); });
    document.body.appendChild(dialog);
    return dialog;
  }

  function open(link) {
    var dialog = document.querySelector("dialog.find-box") || makeDialog(link.getAttribute("href"));
    if (!dialog.open) dialog.showModal();
    var input = dialog.querySelector("input");
    input.focus();
    input.select();
    loadIndex();
  }

  function onKey(event) {
    var busy = event.target.closest && event.target.closest("input:not([type=radio]), textarea, select, dialog");
    var off = document.documentElement.getAttribute("data-slash") === "off";
    var link = document.querySelector(".strip .find");
    if (event.key !== "/" || busy || off || !link) return;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    open(link);
  }

  document.addEventListener("DOMContentLoaded", function () {
    var link = document.querySelector(".strip .find");
    if (link && window.HTMLDialogElement) {
      link.addEventListener("click", function (event) {
        event.preventDefault();
        open(link);
      });
      document.addEventListener("keydown", onKey);
    }
    var form = document.querySelector("form.seek");
    if (form) attach(form, function () {});
  });
})();
