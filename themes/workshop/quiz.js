// One question at a time, with a score; what was missed comes back until it is right.
// Without this script the page is a list of questions with folded answers.
"use strict";

(function () {
  var box = document.querySelector(".asks");
  if (!box) return;
  var asks = Array.prototype.slice.call(box.querySelectorAll(".ask"));
  var make = site.make;
  var COMES_BACK_AFTER = 4;
  var LETTERS = "ABCDEFGH";
  var queue, missed, first, done, current;

  var score = make("p", "", "score");
  score.setAttribute("role", "status");
  box.insertBefore(score, box.firstChild);
  var goOn = site.button("Next question", next, "go-on");
  var end = make("section", "", "done");
  end.hidden = true;
  box.appendChild(end);
  box.appendChild(make("p", "Keys: A to D choose, Enter goes on.", "keys"));
  box.classList.add("one-by-one");

  function buttons(ask) {
    return Array.prototype.slice.call(ask.querySelectorAll(".choices button"));
  }

  asks.forEach(function (ask, place) {
    ask.querySelectorAll(".choices > li").forEach(function (item) {
      var button = site.button("", function () { choose(ask, buttons(ask).indexOf(button)); });
      while (item.firstChild) button.appendChild(item.firstChild);
      item.className = "has-button";
      item.appendChild(button);
    });
    var verdict = make("p", "", "verdict");
    verdict.setAttribute("aria-live", "polite");
    ask.insertBefore(verdict, ask.querySelector(".key"));
    ask.place = place;
  });

  function showScore() {
    score.textContent = "";
    var right = make("span", "");
    right.appendChild(make("b", first + " of " + done));
    right.appendChild(document.createTextNode(" right at once"));
    var left = make("span", "");
    left.appendChild(make("b", String(queue.length)));
    left.appendChild(document.createTextNode(" to go"));
    if (done) score.appendChild(right);
    score.appendChild(left);
  }

  // What comes back has its answers in another order: not the letter is to be remembered.
  function turn(ask) {
    var list = ask.querySelector(".choices");
    list.appendChild(list.firstElementChild);
    var all = buttons(ask);
    var right = (Number(ask.getAttribute("data-right")) + all.length - 1) % all.length;
    ask.setAttribute("data-right", right);
    all.forEach(function (button, number) {
      button.querySelector(".abc").textContent = LETTERS.charAt(number);
    });
    ask.querySelector(".key .abc").textContent = LETTERS.charAt(right);
  }

  function show(ask) {
    asks.forEach(function (other) { other.classList.toggle("now", other === ask); });
    current = ask;
    if (!ask) return;
    ask.answered = false;
    ask.querySelector(".verdict").textContent = "";
    ask.querySelector(".key").open = false;
    ask.querySelector(".key").hidden = true;
    buttons(ask).forEach(function (button) {
      button.className = "";
      button.removeAttribute("aria-disabled");
      var mark = button.querySelector(".mark");
      if (mark) mark.remove();
    });
    var tag = ask.querySelector(".again");
    if (tag) tag.remove();
    if (missed[ask.place]) {
      ask.querySelector("h2").appendChild(make("span", "again", "again"));
      turn(ask);
    }
    goOn.remove();
  }

  function note(button, name, words) {
    button.classList.add(name);
    button.appendChild(make("span", words, "mark"));
  }

  function choose(ask, number) {
    if (ask.answered || ask !== current) return;
    ask.answered = true;
    var right = Number(ask.getAttribute("data-right"));
    var all = buttons(ask);
    all.forEach(function (button) { button.setAttribute("aria-disabled", "true"); });
    note(all[right], "is-right", "\u2713 right");
    queue.shift();
    var fresh = !missed[ask.place];
    if (fresh) done += 1;
    if (number === right) {
      if (fresh) first += 1;
    } else {
      note(all[number], "is-wrong", "\u2717 yours");
      missed[ask.place] = true;
      queue.splice(Math.min(COMES_BACK_AFTER, queue.length), 0, ask);
    }
    ask.querySelector(".verdict").textContent =
      number === right ? "Right." : "Wrong. It comes back.";
    var key = ask.querySelector(".key");
    key.hidden = false;
    key.open = true;
    goOn.textContent = queue.length ? "Next question" : "To the result";
    ask.appendChild(goOn);
    goOn.focus({ preventScroll: true });
    goOn.scrollIntoView({ block: "nearest" });
    showScore();
  }

  function next() {
    if (queue.length) {
      show(queue[0]);
      score.scrollIntoView({ block: "nearest" });
      return;
    }
    show(null);
    goOn.remove();
    showResult();
  }

  function showResult() {
    end.textContent = "";
    end.appendChild(make("h2", first + " of " + asks.length + " right at once"));
    var again = asks.filter(function (ask) { return missed[ask.place]; });
    if (again.length) {
      end.appendChild(make("p", "These you missed at first:"));
      var list = make("ol");
      again.forEach(function (ask) {
        var item = make("li", ask.querySelector("h2 .text").textContent + " ");
        item.appendChild(make("b", ask.querySelector(".key b").textContent));
        list.appendChild(item);
      });
      end.appendChild(list);
    }
    var more = site.button("Once more from the start", begin, "once-more");
    end.appendChild(more);
    end.hidden = false;
    more.focus({ preventScroll: true });
    end.scrollIntoView({ block: "nearest" });
  }

  function begin() {
    queue = asks.slice();
    missed = {};
    first = done = 0;
    end.hidden = true;
    showScore();
    show(queue[0]);
  }

  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey || !current || current.answered) return;
    if (/^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName)) return;
    var key = event.key.toLowerCase();
    var number = LETTERS.toLowerCase().indexOf(key);
    if (number < 0) number = "12345678".indexOf(key);
    if (key.length === 1 && number >= 0 && number < buttons(current).length) {
      choose(current, number);
    }
  });
  begin();
})();
