// Optional, for drawings: pan and zoom, the card of a part, the arrow keys of the steps. Nothing
// moves by itself, and nothing is stored.
"use strict";

(function () {
  var make = site.make;
  var MOST = 3, STEP = 1.3, MOVE = 60;

  // Pan and zoom: the drawing's box scrolls, and the drawing in it is made larger or smaller.

  function zoomable(picture) {
    var pan = picture.querySelector(".pan");
    var svg = pan.querySelector("svg.diagram");
    var natural = svg.viewBox.baseVal.width, tall = svg.viewBox.baseVal.height;
    var ownPage = !!document.querySelector(".page-drawing");
    var scale = 1, fitted = false, touched = false, low = 0;

    function set(wanted) {
      scale = wanted;
      svg.style.width = natural * scale + "px";
      svg.style.minWidth = "0";
      svg.style.maxWidth = svg.style.maxHeight = "none";
      showExtent();
    }

    function showExtent() {
      var across = pan.scrollWidth > pan.clientWidth + 1;
      var more = across || pan.scrollHeight > pan.clientHeight + 1;
      picture.classList.toggle("pans", across);
      picture.classList.toggle("fits", !across);
      // A finger moves the page where there is nothing more of the drawing to move.
      pan.style.touchAction = more ? "none" : "pan-y";
      pan.style.cursor = more ? "grab" : "";
    }

    function fit() {
      // A box without a height of its own is as high as the fitted drawing, and stays so.
      pan.style.height = "";
      set(0.01);
      var own = pan.clientHeight > 90 ? pan.clientHeight - 16 : 0;
      var whole = pan.clientWidth / natural;
      if (own) whole = Math.min(whole, own / tall);
      low = Math.min(whole, 1);
      set(low);
      if (!own) freeze();
      fitted = true;
    }

    function freeze() {
      var least = Math.min(window.innerHeight * 0.6, tall);
      pan.style.height = Math.max(pan.offsetHeight, least) + "px";
    }

    function zoom(factor, x, y) {
      // The point at (x, y) of the window stays there; without one, the middle.
      var box = pan.getBoundingClientRect();
      if (x === undefined) {
        x = box.left + box.width / 2;
        y = box.top + box.height / 2;
      }
      var was = svg.getBoundingClientRect();
      var across = (x - was.left) / was.width, down = (y - was.top) / was.height;
      set(Math.max(Math.min(low, scale), Math.min(MOST, scale * factor)));
      var now = svg.getBoundingClientRect();
      pan.scrollLeft += now.left + across * now.width - x;
      pan.scrollTop += now.top + down * now.height - y;
      fitted = false;
      touched = true;
    }

    function move(right, down) {
      // What the drawing has no room for is the page's.
      var before = pan.scrollTop;
      pan.scrollLeft += right;
      pan.scrollTop += down;
      touched = true;
      return down - (pan.scrollTop - before);
    }

    // Buttons

    var tools = make("div", "", "tools");
    [
      ["\u2212", "Smaller", function () { zoom(1 / STEP); }],
      ["+", "Larger", function () { zoom(STEP); }],
      ["Fit", "Fit: the whole drawing", function () { fit(); }],
    ].forEach(function (kind) {
      var button = site.button(kind[0], kind[2]);
      button.setAttribute("aria-label", kind[1]);
      tools.appendChild(button);
    });
    picture.querySelector("figcaption").appendChild(tools);
    picture.classList.add("zooms");

    // Keys, while the drawing or a part of it has the focus

    pan.setAttribute("aria-keyshortcuts", "+ - 0 ArrowLeft ArrowRight ArrowUp ArrowDown");
    pan.addEventListener("keydown", function (event) {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      var key = event.key;
      if (key === "+" || key === "=") zoom(STEP);
      else if (key === "-" || key === "_") zoom(1 / STEP);
      else if (key === "0") fit();
      else if (key === "ArrowLeft") move(-MOVE, 0);
      else if (key === "ArrowRight") move(MOVE, 0);
      else if (key === "ArrowUp" && pan.scrollTop > 0) move(0, -MOVE);
      else if (key === "ArrowDown" && pan.scrollTop + pan.clientHeight < pan.scrollHeight - 1) {
        move(0, MOVE);
      } else return;
      event.preventDefault();
    });

    // The wheel zooms on the drawing's own page; elsewhere it scrolls the page, as it does
    // everywhere, until somebody clicks into the drawing.

    pan.addEventListener("wheel", function (event) {
      if (!(event.ctrlKey || ownPage || pan.contains(document.activeElement))) return;
      event.preventDefault();
      var by = event.deltaY * (event.deltaMode === 1 ? 16 : 1);
      zoom(Math.exp(-Math.max(-200, Math.min(200, by)) * 0.002), event.clientX, event.clientY);
    }, { passive: false });

    // One finger or the mouse drags, two fingers pinch.

    var down = new Map(), dragged = false;

    function span() {
      var p = Array.from(down.values());
      return {
        wide: Math.hypot(p[0].x - p[1].x, p[0].y - p[1].y) || 1,
        x: (p[0].x + p[1].x) / 2, y: (p[0].y + p[1].y) / 2,
      };
    }

    pan.addEventListener("pointerdown", function (event) {
      if (event.pointerType === "mouse" && event.button !== 0) return;
      if (!down.size) dragged = false;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    });
    window.addEventListener("pointermove", function (event) {
      var was = down.get(event.pointerId);
      if (!was) return;
      var x = event.clientX, y = event.clientY;
      if (down.size === 2) {
        var before = span();
        down.set(event.pointerId, { x: x, y: y });
        var after = span();
        zoom(after.wide / before.wide, after.x, after.y);
        move(before.x - after.x, before.y - after.y);
        dragged = true;
        return;
      }
      if (!dragged && Math.hypot(x - was.x, y - was.y) < 6) return;
      if (event.pointerType !== "mouse" && pan.style.touchAction !== "none") return;
      dragged = true;
      down.set(event.pointerId, { x: x, y: y });
      window.scrollBy(0, move(was.x - x, was.y - y));
    });
    ["pointerup", "pointercancel"].forEach(function (name) {
      window.addEventListener(name, function (event) { down.delete(event.pointerId); });
    });
    // Two fingers zoom the drawing, never the page.
    ["touchstart", "touchmove"].forEach(function (name) {
      pan.addEventListener(name, function (event) {
        if (event.touches.length > 1 && event.cancelable) event.preventDefault();
      }, { passive: false });
    });
    pan.addEventListener("dragstart", function (event) { event.preventDefault(); });
    pan.addEventListener("click", function (event) {
      // The end of a drag is no tap.
      if (dragged) {
        event.preventDefault();
        event.stopPropagation();
      }
      dragged = false;
    }, true);

    // Another view leaves the drawing where the reader has moved it.

    var left = 0, top = 0;
    document.addEventListener("change", function () {
      left = pan.scrollLeft;
      top = pan.scrollTop;
    }, true);
    window.addEventListener("change", function () {
      if (!touched) return;
      pan.scrollLeft = left;
      pan.scrollTop = top;
    });

    function open() {
      if (picture.getAttribute("data-opens") === "whole") return fit();
      low = Math.min(1, pan.clientWidth / natural);
      set(1);
      freezeIfTall();
    }

    function freezeIfTall() {
      // On a phone, no higher than leaves the page room to be moved.
      if (pan.offsetHeight > window.innerHeight * 0.75) {
        pan.style.height = Math.round(window.innerHeight * 0.75) + "px";
      }
      showExtent();
    }

    window.addEventListener("resize", function () {
      if (fitted) fit();
      else showExtent();
    });
    open();
  }

  // The card of a part

  var card = null, cardOf = null, facts = null, requested = false;

  function withFacts(picture, then) {
    if (facts || requested) return then();
    requested = true;
    site.load(picture.getAttribute("data-parts"), function () {
      facts = window.drawnParts;
      then();
    }, then);
  }

  function stateOf(part) {
    var input = site.chosenView(), number = input ? input.id.slice(5) : "0";
    var has = function (state) { return part.classList.contains(state + "-" + number); };
    var name = ["live", "battery", "dead", "open", "failed"].filter(has)[0];
    var word = { live: "Live", battery: "On battery only", dead: "Dead", open: "Open",
                 failed: "Failed" }[name] || "";
    if (name === "failed" && has("closed")) word = "Failed, stuck closed";
    else if (name === "failed" && part.classList.contains("device")) word = "Failed, open";
    else if (/ (breaker|contactor|relay|switch) /.test(part.getAttribute("class")) && name !== "open") {
      word = "Closed, " + word.charAt(0).toLowerCase() + word.slice(1);
    }
    var view = input ? input.getAttribute("aria-label") : "";
    var colon = view.lastIndexOf(": ");
    return [word, colon > 0 ? view.slice(0, colon) : view];
  }

  function close(back) {
    if (!card) return;
    var of = cardOf, old = card;
    card = cardOf = null;
    old.remove();
    if (back) (of.hasAttribute("href") ? of : of.closest(".pan")).focus({ preventScroll: true });
  }

  function show(part) {
    close(false);
    cardOf = part;
    var title = part.querySelector("title").textContent;
    var id = part.getAttribute("data-part");
    var colon = title.indexOf(": ");
    var own = part.getAttribute("href");
    var state = stateOf(part), known = facts && facts[id];
    card = make("div", "", "part-card");
    card.tabIndex = -1;
    card.setAttribute("role", "dialog");
    card.setAttribute("aria-labelledby", "part-name");
    card.setAttribute("aria-describedby", "part-facts");
    var name = make("h3", colon > 0 ? title.slice(0, colon) : title);
    name.id = "part-name";
    card.appendChild(name);
    var description = make("div");
    description.id = "part-facts";
    if (colon > 0) description.appendChild(make("p", title.slice(colon + 2)));
    if (state[0]) {
      var now = make("p", "", "now");
      now.appendChild(make("b", state[0]));
      if (state[1]) now.appendChild(make("small", " " + state[1]));
      description.appendChild(now);
    }
    ((known && known.rows) || []).forEach(function (row) {
      var line = make("p");
      line.appendChild(make("small", row[0]));
      line.appendChild(document.createTextNode(" " + row[1]));
      description.appendChild(line);
    });
    card.appendChild(description);
    var links = make("p", "", "part-links");
    function addLink(href, text) {
      var link = make("a", text);
      link.href = href;
      links.appendChild(link);
    }
    if (own && known && known.fails) {
      addLink(own, "Its page");
      addLink(known.fails, "If it fails");
    } else if (own) addLink(own, "Its page: if it fails");
    links.appendChild(site.button("Close", function () { close(true); }));
    card.appendChild(links);
    card.addEventListener("keydown", function (event) {
      if (event.key === "Enter" && event.target === card && own) location.href = own;
    });
    card.addEventListener("focusout", function (event) {
      // Whoever walks on with Tab has left the card.
      if (card && event.relatedTarget && !card.contains(event.relatedTarget)) close(false);
    });
    part.closest(".picture").appendChild(card);
    placeCard(part);
    card.focus({ preventScroll: true });
  }

  function placeCard(part) {
    // On a phone the style sheet puts it at the foot of the screen.
    if (matchMedia("(max-width: 40rem)").matches) return;
    var at = part.getBoundingClientRect(), gap = 10;
    var left = Math.min(Math.max(at.left, gap), innerWidth - card.offsetWidth - gap);
    var below = at.bottom + gap, above = at.top - gap - card.offsetHeight;
    var top = below + card.offsetHeight < innerHeight ? below : Math.max(gap, above);
    card.style.left = left + "px";
    card.style.top = top + "px";
  }

  function cards(picture) {
    picture.querySelector(".pan").addEventListener("click", function (event) {
      if (event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
      var part = event.target.closest("[data-part]");
      if (!part) return;
      if (part === cardOf) return;
      event.preventDefault();
      withFacts(picture, function () { show(part); });
    });
  }

  document.addEventListener("pointerdown", function (event) {
    if (!card || card.contains(event.target)) return;
    if (cardOf.contains(event.target)) return;
    close(false);
  });
  document.addEventListener("keydown", function (event) {
    if (event.key === "Escape" && card) {
      event.preventDefault();
      close(true);
    }
  });
  document.addEventListener("change", function () { close(false); });

  // The steps: their labels can be reached and pressed from the keyboard.

  function steps(bar) {
    var buttons = Array.from(bar.querySelectorAll("label > span"));
    function input(button) { return document.getElementById(button.parentNode.htmlFor); }
    function showPressed() {
      buttons.forEach(function (button) {
        button.setAttribute("aria-pressed", input(button).checked ? "true" : "false");
      });
    }
    function choose(button) {
      var wanted = input(button);
      if (!wanted.checked) {
        wanted.checked = true;
        wanted.dispatchEvent(new Event("change", { bubbles: true }));
      }
      button.focus({ preventScroll: true });
    }
    buttons.forEach(function (button) {
      button.tabIndex = 0;
      button.setAttribute("role", "button");
      button.addEventListener("keydown", function (event) {
        var row = Array.from(button.closest(".step-row").querySelectorAll("span"));
        var at = row.indexOf(button);
        var direction = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        if (direction) at += direction;
        else if (event.key !== "Enter" && event.key !== " ") return;
        event.preventDefault();
        if (row[at]) choose(row[at]);
      });
    });
    // A page that becomes shorter or longer above the steps leaves them where the thumb is.
    var top = null;
    ["click", "keydown"].forEach(function (name) {
      document.addEventListener(name, function (event) {
        // A label's click comes before that of its button, which has changed the page already.
        if (name === "click" && event.target.matches("input")) return;
        var at = bar.getBoundingClientRect();
        top = at.bottom > 0 && at.top < innerHeight ? at.top : null;
      }, true);
    });
    window.addEventListener("change", function () {
      if (top === null) return;
      var main = document.querySelector("main");
      function off() { return bar.getBoundingClientRect().top - top; }
      main.style.paddingBottom = "";
      window.scrollBy(0, off());
      if (off() < 1) return;
      // The page has become too short for that.
      main.style.paddingBottom = Math.ceil(off()) + 24 + "px";
      window.scrollBy(0, off());
    });
    document.addEventListener("change", showPressed);
    window.addEventListener("hashchange", showPressed);
    showPressed();
  }

  document.querySelectorAll(".picture").forEach(function (picture) {
    if (picture.classList.contains("wide")) zoomable(picture);
    cards(picture);
  });
  document.querySelectorAll(".steps").forEach(steps);
})();
