// The finder, on every page: by name, placard or place, in any order of words, with the
// abbreviations that the catalogue lists and one typing error a word. The board and the diagnosis
// find by `site.find`, so that the order is the same everywhere.
"use strict";

(function () {
  var make = site.make;
  var MOST = 30;
  var SHORTEST_WITH_ERROR = 4;
  var SHORTEST_WITHIN = 5; // 'pilot' finds an autopilot; 'com' no telecom
  var SHORTEST_IN_DETAILS = 4; // 'com' is in no detail the beginning of 'comes' or 'computer'
  var NONE = 1000;
  // Of what fits equally well a thing comes before its breaker, and that before what is said of it.
  var THINGS = ["Equipment", "Bus", "Generator", "Battery", "Converter", "External power"];
  var PARTS = ["Lamp", "Flag", "Voltmeter", "Loadmeter", "Ammeter", "Function", "Switch", "Relay", "Contactor"];
  var PROTECTORS = ["Breaker", "Fuse", "Fuse link"];
  var PROTECTOR = 2;
  function order(kind) {
    var place = [THINGS, PARTS, PROTECTORS].findIndex(function (kinds) { return kinds.indexOf(kind) >= 0; });
    return place < 0 ? PROTECTOR + 1 : place;
  }
  var loading = null;

  function words(text) {
    // Letters without their marks: 'Ecole' finds 'École'.
    var bare = text.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
    // 'B 7' is the place B7, '7.5' one number; 'R/H' and 'L/H' are sides.
    bare = bare.replace(/\b([rl])\s*\/\s*h\b/g, "$1h").replace(/\b([a-z])\s+(\d+)\b(?!\.)/g, "$1$2");
    // Of '28-23' the chapter is 28: '23' does not find it.
    bare = bare.replace(/\b(\d\d)-(\d\d)\b/g, "$1 $1x$2");
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
    if (typed.length >= SHORTEST_WITHIN && word.indexOf(typed) > 0) return 3;
    return errors && typed.length >= SHORTEST_WITH_ERROR && startsWithOneError(typed, word) ? 6 : NONE;
  }

  function cheapest(typed, all, errors) {
    return all.reduce(function (best, word) {
      return best ? Math.min(best, price(typed, word, errors)) : best;
    }, NONE);
  }

  function inDetails(typed, all, errors) {
    return typed.length < SHORTEST_IN_DETAILS ? all.indexOf(typed) < 0 ? NONE : 0 : cheapest(typed, all, errors);
  }

  // A placard cuts a word short: 'generator' finds GEN.
  function isCutShort(typed, word) {
    return word.length > 2 && word.length < typed.length && typed.indexOf(word) === 0 && !/\p{N}/u.test(word);
  }

  // The placards in a detail, as words: of 'NAV 1 3 A, Right side wall panel C7' the first two.
  function placardsOf(detail) {
    return detail.split(/[,;]/).filter(function (part) { return /\S\s\d[\d.]*\sA$/.test(part); })
      .map(function (part) { return words(part.replace(/\s\d[\d.]*\sA$/, "")).join(" "); });
  }

  // The id of what a row is about.
  function idOf(row) { return row[4].split(" ")[0]; }

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
        parts: row[2].split(/[,;]/).map(words), placards: placardsOf(row[2])
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
      entry.name.some(function (word) { return isCutShort(typed, word); }) ? 2 : NONE,
      5 + inDetails(typed, entry.more, errors),
      6 + inDetails(typed, entry.spelledMore, errors)
    );
  };

  // Whether a name has at `from` what is typed, word for word: each is there, begun, or cut short.
  Index.prototype.hasPhrase = function (name, typed, from) {
    var meanings = this.meanings;
    function means(short, word) {
      return Object.hasOwn(meanings, short) && meanings[short].some(function (parts) {
        return parts.length === 1 && parts[0] === word;
      });
    }
    return typed.every(function (word, i) {
      var there = name[from + i];
      return there !== undefined && (price(word, there, false) < 2 || means(word, there)
        || means(there, word) || isCutShort(word, there));
    });
  };

  // How well an entry fits: {grade, kind, whole, sum}, each the less the better, or null.
  Index.prototype.fit = function (entry, typed, phrase, errors) {
    var index = this;
    var sum = 0;
    var inName = true;
    for (var i = 0; i < typed.length; i++) {
      var one = this.priceOf(entry, typed[i], errors);
      if (one >= NONE) return null;
      if (one > 4) inName = false;
      sum += one;
    }
    var kind = order(entry.row[1]);
    // Whoever types a placard looks for what is behind it.
    if (entry.placards.indexOf(phrase.join(" ")) >= 0) {
      return { grade: 0, kind: kind, whole: 0, sum: 0 };
    }
    // 'right wall B7' is one place, not the right of one thing and the wall of another: what is
    // there is first, which is the breaker.
    if (entry.parts.some(function (part) {
      return typed.every(function (word) { return cheapest(word, part, errors) < 3; });
    })) {
      if (typed.some(function (word) { return /^\p{L}\p{N}+$/u.test(word); })) {
        return { grade: 0, kind: Math.abs(kind - PROTECTOR), whole: 1, sum: 0 };
      }
      if (typed.length > 1) sum = Math.min(sum, 4);
    }
    var starts = this.hasPhrase(entry.name, phrase, 0);
    var whole = starts && entry.name.length === phrase.length;
    var within = kind < PROTECTOR && entry.name.some(function (_, from) {
      return index.hasPhrase(entry.name, phrase, from);
    });
    return { grade: whole || within ? 0 : starts ? 1 : inName ? 2 : 3, kind: kind, whole: whole ? 0 : 1, sum: sum };
  };

  Index.prototype.ranked = function (among, typed, errors) {
    var index = this;
    var phrase = words(typed.join(" ").replace(/(\p{L}{2})(\p{N})/gu, "$1 $2"));
    var label = phrase.join(" ");
    // A placard with one thing behind it means that thing; with several, the breaker itself.
    var isShared = among.filter(function (entry) { return entry.placards.indexOf(label) >= 0; }).length > 1;
    var matches = [];
    among.forEach(function (entry, number) {
      var fit = index.fit(entry, typed, phrase, errors);
      var first = isShared && entry.name.join(" ") === label ? 0 : 1;
      if (fit) matches.push([first, fit.grade, fit.kind, fit.whole, fit.sum, entry.name.length, number, entry.row]);
    });
    matches.sort(function (a, b) {
      for (var i = 0; i < 7; i++) if (a[i] !== b[i]) return a[i] - b[i];
      return 0;
    });
    return matches.map(function (match) { return match[7]; });
  };

  // Of words that no entry has all: the most that one has, and of as many the rarest.
  Index.prototype.most = function (among, typed) {
    var index = this;
    var found = typed.map(function (word) {
      return among.map(function (entry) { return index.priceOf(entry, word, true) < NONE; });
    });
    var weights = found.map(function (has) {
      return 1 + .1 / (1 + has.filter(Boolean).length);
    });
    var best = [], most = 0;
    among.forEach(function (_, number) {
      var has = typed.filter(function (_, i) { return found[i][number]; });
      var weight = weights.reduce(function (sum, one, i) { return sum + (found[i][number] ? one : 0); }, 0);
      // A number alone says nothing.
      if (weight > most && has.some(function (word) { return /\p{L}{2}/u.test(word); })) {
        best = has;
        most = weight;
      }
    });
    return best;
  };

  // The rows, best first: `near` with errors, `most` with these of the words only. `known` says which
  // ids are looked for, else all are.
  Index.prototype.search = function (text, known) {
    var typed = words(text);
    if (!typed.length) return { rows: [] };
    var among = this.entries.filter(function (entry) { return !known || known(idOf(entry.row)); });
    var exact = this.ranked(among, typed, false);
    if (exact.length) return { rows: exact };
    var near = this.ranked(among, typed, true);
    if (near.length) return { rows: near, near: true };
    var most = typed.length > 1 ? this.most(among, typed) : [];
    return most.length ? { rows: this.ranked(among, most, true), most: most } : { rows: [] };
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

  // What is to be said before rows that are not what was typed.
  function said(matches) {
    if (matches.most) return "Nothing has all of these words. With \u2018" + matches.most.join(" ") + "\u2019:";
    return matches.near ? "No exact match. Similar:" : "";
  }

  site.find = function (text, known) {
    return loadIndex().then(function (index) {
      var matches = index.search(text, known);
      return { rows: matches.rows, said: said(matches) };
    });
  };

  site.find.id = idOf;

  function result(row) {
    var item = make("li");
    var link = make("a");
    link.href = row[3].replace("*", idOf(row));
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
      else if (said(matches)) count.textContent = said(matches);
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
    input.placeholder = "Name or place";
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
