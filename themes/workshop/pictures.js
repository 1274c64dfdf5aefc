// The live drawing on a page: inserted into its box, solved and painted for the chosen view, opened
// at the part that the page is about. Pan and zoom, the card of a part, the steps of a failure.
// Nothing moves by itself, and nothing is stored.
"use strict";

(function () {
  const make = site.make;
  const MOST = 3, STEP = 1.3;
  // The scale at which the smallest text, 10.5 units, is 9 px high; with more room, names are 11 px.
  const READABLE = 0.86, WITH_ROOM = 0.92;
  const MARGIN = 10, BELOW = 90;

  const union = (boxes) => {
    const left = Math.min(...boxes.map((b) => b.x)), top = Math.min(...boxes.map((b) => b.y));
    return {
      x: left, y: top,
      width: Math.max(...boxes.map((b) => b.x + b.width)) - left,
      height: Math.max(...boxes.map((b) => b.y + b.height)) - top,
    };
  };

  // Pan and zoom: the drawing's box scrolls, and the drawing in it is made larger or smaller.

  function zoomable(picture, pan, art) {
    const { svg } = art;
    const natural = svg.viewBox.baseVal.width, tall = svg.viewBox.baseVal.height;
    const ownPage = !!document.querySelector(".page-drawing");
    let scale = 1, fitted = false, touched = false, low = 0, about = [];

    function set(wanted) {
      scale = wanted;
      svg.style.width = natural * scale + "px";
      const more = pan.scrollWidth > pan.clientWidth + 1 || pan.scrollHeight > pan.clientHeight + 1;
      // A finger moves the page where there is nothing more of the drawing to move.
      pan.style.touchAction = more ? "none" : "pan-y";
      pan.style.cursor = more ? "grab" : "";
    }

    const whole = () => Math.min(1, pan.clientWidth / natural, (pan.clientHeight - 16) / tall);

    function fit() {
      low = whole();
      set(low);
      fitted = touched = true;
    }

    function zoom(factor, x, y) {
      // The point at (x, y) of the window stays there; without one, the middle.
      const box = pan.getBoundingClientRect();
      if (x === undefined) {
        x = box.left + box.width / 2;
        y = box.top + box.height / 2;
      }
      const was = svg.getBoundingClientRect();
      const across = (x - was.left) / was.width, down = (y - was.top) / was.height;
      set(Math.max(Math.min(low, scale), Math.min(MOST, scale * factor)));
      const now = svg.getBoundingClientRect();
      pan.scrollLeft += now.left + across * now.width - x;
      pan.scrollTop += now.top + down * now.height - y;
      fitted = false;
      touched = true;
    }

    function move(right, down) {
      // What the drawing has no room for is the page's.
      const before = pan.scrollTop;
      pan.scrollLeft += right;
      pan.scrollTop += down;
      touched = true;
      return down - (pan.scrollTop - before);
    }

    // Opening: as large as can be read, with what feeds the part and its neighbours if they fit.

    function open(ids) {
      about = ids;
      low = whole();
      const least = pan.clientWidth > 560 ? WITH_ROOM : READABLE;
      const own = ids.flatMap((id) => art.byId.get(id) || []);
      const near = new Set(own), feeding = new Set(own);
      for (const { from, to, through } of art.branches) {
        const all = [from, ...through, to];
        if (!all.some((id) => ids.includes(id))) continue;
        for (const id of all) (art.byId.get(id) || []).forEach((part) => near.add(part));
        if (ids.includes(to) || through.some((id) => ids.includes(id))) {
          for (const id of all) (art.byId.get(id) || []).forEach((part) => feeding.add(part));
        }
      }
      const boxOf = (parts) => union([...parts].map((part) => part.getBBox()));
      const room = { width: pan.clientWidth - 2 * MARGIN, height: pan.clientHeight - 2 * MARGIN };
      const scaleOf = (box) => Math.min(1, room.width / box.width, room.height / box.height);
      if (!own.length || low >= least) {
        set(Math.max(least, Math.min(1, pan.clientWidth / natural)));
        pan.scrollLeft = (pan.scrollWidth - pan.clientWidth) / 2;
        pan.scrollTop = 0;
        return;
      }
      const fits = [near, feeding].map(boxOf).find((one) => scaleOf(one) >= least);
      const box = fits || boxOf(own);
      set(fits ? scaleOf(box) : least);
      const start = svg.getBoundingClientRect(), at = pan.getBoundingClientRect();
      const inset = start.left - at.left + pan.scrollLeft, drop = start.top - at.top + pan.scrollTop;
      const place = (from, size, free, off) => off + scale * from
        - Math.max(MARGIN, (free - scale * size) / 2);
      pan.scrollLeft = place(box.x, box.width, pan.clientWidth, inset);
      // Where only the part itself fits, it is low in the box: what feeds it is above it.
      pan.scrollTop = fits ? place(box.y, box.height, pan.clientHeight, drop)
        : Math.min(drop + scale * box.y - MARGIN,
          drop + scale * (box.y + box.height) + BELOW - pan.clientHeight);
      wholeAtTheTop(own, drop);
    }

    /* Nothing is cut through by the upper edge. */
    function wholeAtTheTop(own, drop) {
      const boxes = [...art.byId.values()].flat().map((part) => part.getBBox());
      const lowest = Math.max(...own.map((part) => part.getBBox()).map((b) => b.y + b.height));
      for (let tries = 0; tries < 4; tries++) {
        const edge = (pan.scrollTop - drop) / scale;
        const left = pan.scrollLeft / scale, right = left + pan.clientWidth / scale;
        const cut = boxes.filter((b) => b.y < edge && b.y + b.height > edge
          && b.x < right && b.x + b.width > left);
        if (!cut.length) return;
        const top = drop + scale * Math.min(...cut.map((b) => b.y)) - 4;
        if (drop + scale * lowest > top + pan.clientHeight) return;
        pan.scrollTop = top;
      }
    }

    function reveal(part) {
      // The part that has the focus comes into view, and no other part of the page moves.
      const box = pan.getBoundingClientRect(), at = part.getBoundingClientRect();
      const by = (low, high, from, to) => (low < from ? low - from - 24
        : high > to ? Math.min(high - to + 24, low - from) : 0);
      const across = by(at.left, at.right, box.left, box.right);
      const down = by(at.top, at.bottom, box.top, box.bottom);
      if (across || down) move(across, down);
    }

    // Buttons

    const tools = make("div", "", "tools");
    [
      ["\u2212", "Smaller", () => zoom(1 / STEP)],
      ["+", "Larger", () => zoom(STEP)],
      ["Fit", "Fit: the whole drawing", fit],
    ].forEach(([text, name, act]) => {
      const button = site.button(text, act);
      button.setAttribute("aria-label", name);
      tools.appendChild(button);
    });
    picture.querySelector("figcaption").appendChild(tools);

    // Keys, while a part of the drawing has the focus; the arrows lead from part to part

    svg.setAttribute("aria-keyshortcuts", "+ - 0 ArrowLeft ArrowRight ArrowUp ArrowDown");
    pan.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const { key } = event;
      if (key === "+" || key === "=") zoom(STEP);
      else if (key === "-" || key === "_") zoom(1 / STEP);
      else if (key === "0") fit();
      else return;
      event.preventDefault();
      reveal(event.target);
    });
    pan.addEventListener("focusin", (event) => {
      if (event.target.matches(":focus-visible")) reveal(event.target);
    });

    // The wheel zooms on the drawing's own page; elsewhere it scrolls the page, as it does
    // everywhere, until somebody clicks into the drawing.

    pan.addEventListener("wheel", (event) => {
      if (!(event.ctrlKey || ownPage || pan.contains(document.activeElement))) return;
      event.preventDefault();
      const by = event.deltaY * (event.deltaMode === 1 ? 16 : 1);
      zoom(Math.exp(-Math.max(-200, Math.min(200, by)) * 0.002), event.clientX, event.clientY);
    }, { passive: false });

    // One finger or the mouse drags, two fingers pinch.

    const down = new Map();
    let dragged = false;

    function span() {
      const [one, other] = [...down.values()];
      return {
        wide: Math.hypot(one.x - other.x, one.y - other.y) || 1,
        x: (one.x + other.x) / 2, y: (one.y + other.y) / 2,
      };
    }

    pan.addEventListener("pointerdown", (event) => {
      if (event.pointerType === "mouse" && event.button !== 0) return;
      if (!down.size) dragged = false;
      down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    });
    window.addEventListener("pointermove", (event) => {
      const was = down.get(event.pointerId);
      if (!was) return;
      const x = event.clientX, y = event.clientY;
      if (down.size === 2) {
        const before = span();
        down.set(event.pointerId, { x, y });
        const after = span();
        zoom(after.wide / before.wide, after.x, after.y);
        move(before.x - after.x, before.y - after.y);
        dragged = true;
        return;
      }
      if (!dragged && Math.hypot(x - was.x, y - was.y) < 6) return;
      if (event.pointerType !== "mouse" && pan.style.touchAction !== "none") return;
      dragged = true;
      down.set(event.pointerId, { x, y });
      window.scrollBy(0, move(was.x - x, was.y - y));
    });
    ["pointerup", "pointercancel"].forEach((name) => {
      window.addEventListener(name, (event) => down.delete(event.pointerId));
    });
    // Two fingers zoom the drawing, never the page.
    ["touchstart", "touchmove"].forEach((name) => {
      pan.addEventListener(name, (event) => {
        if (event.touches.length > 1 && event.cancelable) event.preventDefault();
      }, { passive: false });
    });
    pan.addEventListener("dragstart", (event) => event.preventDefault());
    pan.addEventListener("click", (event) => {
      // The end of a drag is no tap.
      if (dragged) {
        event.preventDefault();
        event.stopPropagation();
      }
      dragged = false;
    }, true);

    window.addEventListener("resize", () => {
      if (fitted) fit();
      else if (!touched) open(about);
      else set(scale);
    });
    return { open };
  }

  // The card of a part

  let card = null, cardOf = null;

  function close(back) {
    if (!card) return;
    const of = cardOf, old = card;
    card = cardOf = null;
    old.remove();
    if (back) of.focus({ preventScroll: true });
  }

  /* `failed` is what has failed in the view that is shown, `where` what the view is called. */
  function show(art, part, condition, failed, where) {
    close(false);
    cardOf = part;
    const id = part.getAttribute("data-part");
    const known = airframe.cards[id];
    const [name, ...kind] = part.querySelector("title").textContent.split(": ");
    card = make("div", "", "part-card");
    card.tabIndex = -1;
    card.setAttribute("role", "dialog");
    card.setAttribute("aria-labelledby", "part-name");
    card.setAttribute("aria-describedby", "part-facts");
    card.appendChild(make("h3", name)).id = "part-name";
    const facts = card.appendChild(make("div"));
    facts.id = "part-facts";
    if (kind.length) facts.appendChild(make("p", kind.join(": ")));
    if (known) {
      const word = art.wordOf(part);
      const now = facts.appendChild(make("p", "", "now"));
      now.appendChild(make("b", word[0].toUpperCase() + word.slice(1)));
      if (where) now.appendChild(make("small", " " + where));
      for (const [label, text] of known.rows) {
        const line = facts.appendChild(make("p"));
        line.appendChild(make("small", label));
        line.appendChild(document.createTextNode(" " + text));
      }
    }
    const links = (into, href, text) => {
      const link = into.appendChild(make("a", text));
      link.href = href;
    };
    if (known && airframe.board) {
      const others = failed.filter(([other]) => other !== id);
      const also = card.appendChild(make("p", "", "part-links also"));
      also.appendChild(make("span", others.length ? "And also: fails" : "On the board: fails"));
      for (const mode of known.modes) {
        links(also, onBoard(condition, [...others, [id, mode]]), airframe.modes[mode].toLowerCase());
      }
    }
    const row = card.appendChild(make("p", "", "part-links"));
    const own = airframe.pages[id];
    if (own && known.fails) {
      links(row, own, "Its page");
      links(row, known.fails, "If it fails");
    } else if (own) links(row, own, "Its page: if it fails");
    row.appendChild(site.button("Close", () => close(true)));
    card.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target === card && own) row.querySelector("a").click();
    });
    card.addEventListener("focusout", (event) => {
      // Whoever walks on with Tab has left the card.
      if (card && event.relatedTarget && !card.contains(event.relatedTarget)) close(false);
    });
    part.closest(".picture").appendChild(card);
    placeCard(part);
    card.focus({ preventScroll: true });
  }

  const onBoard = (condition, failed) =>
    `${airframe.board}#c=${condition}&f=${failed.map((one) => one.join(":")).join(",")}`;

  function placeCard(part) {
    // On a phone the style sheet puts it at the foot of the screen.
    if (matchMedia("(max-width: 40rem)").matches) return;
    const at = part.getBoundingClientRect(), gap = 10;
    const left = Math.min(Math.max(at.left, gap), innerWidth - card.offsetWidth - gap);
    const below = at.bottom + gap, above = at.top - gap - card.offsetHeight;
    const top = below + card.offsetHeight < innerHeight ? below : Math.max(gap, above);
    card.style.left = left + "px";
    card.style.top = top + "px";
  }

  document.addEventListener("pointerdown", (event) => {
    if (!card || card.contains(event.target) || cardOf.contains(event.target)) return;
    close(false);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && card) {
      event.preventDefault();
      close(true);
    }
  });
  document.addEventListener("change", () => close(false));

  // What a page's views mean: a row for each mode of failure, or for each stage of what the crew
  // does; in each row a view for every condition, in their order.

  function live(picture) {
    const net = airframe.net || (airframe.net = engine.load(airframe.wiring));
    const rows = JSON.parse(picture.getAttribute("data-views"));
    const { conditions } = airframe.wiring;
    const art = drawing.make(airframe);
    const pan = picture.querySelector(".pan");
    const caption = picture.querySelector("figcaption");
    const known = new Map();
    let before = false;

    function outcomeOf(row, condition) {
      const key = JSON.stringify([row, condition]);
      if (!known.has(key)) {
        const outcome = engine.solve(net, [{ condition, failed: row.fails || [] }]);
        known.set(key, row.then ? engine.afterTheCrew(outcome, row.then) : outcome);
      }
      return known.get(key);
    }

    const statesOf = (row, condition) => drawing.states(outcomeOf(row, condition));

    const fails = Boolean(rows[0].fails);
    const staged = rows.some((row) => row.then);
    const nameOf = (row) => (row.then ? "Crew has acted" : staged ? "At once"
      : rows.length > 1 ? airframe.modes[row.fails[0][1]] : "Failed");
    const chosen = () => {
      const view = site.chosenView();
      const number = view ? Number(view.id.slice(5)) : 0;
      const row = rows[Math.floor(number / conditions.length)] || rows[0];
      return { row, condition: conditions[number % conditions.length] };
    };
    const where = ({ row, condition }) => (!fails ? condition.name
      : `${before ? "Before" : nameOf(row)}, ${condition.name}`);

    // The steps, and what each changes in words: the one thing that is announced.

    const says = make("p", "", "says");
    says.setAttribute("aria-live", "polite");
    const buttons = [];
    if (fails) {
      const bar = make("div", "", "steps");
      bar.setAttribute("role", "group");
      bar.setAttribute("aria-label", "Step by step");
      const step = (name, act) => buttons.push(bar.appendChild(site.button(name, act)));
      step("Before", () => { before = true; update(); });
      rows.forEach((row, number) => step(nameOf(row), () => {
        before = false;
        const at = conditions.indexOf(chosen().condition) + number * conditions.length;
        const input = document.getElementById(`view-${at}`);
        if (!input || input.checked) return update();
        input.checked = true;
        input.dispatchEvent(new Event("change", { bubbles: true }));
      }));
      bar.addEventListener("keydown", (event) => {
        const way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        const next = way && buttons[buttons.indexOf(event.target) + way];
        if (!next) return;
        event.preventDefault();
        next.focus();
        next.click();
      });
      picture.insertBefore(bar, pan);
      staysPut(bar);
    }
    picture.insertBefore(says, pan);
    const printed = picture.insertBefore(make("p", "", "print-only"), pan);

    const details = (title) => {
      const made = caption.appendChild(make("details"));
      made.appendChild(make("summary", title));
      return made;
    };
    const legend = details("Legend");
    legend.insertAdjacentHTML("beforeend", airframe.legend);
    const words = details("In words");
    words.className = "in-words";
    words.addEventListener("toggle", inWords);

    function inWords() {
      if (!words.open) return;
      while (words.children.length > 1) words.lastChild.remove();
      const say = (into, name, state) => {
        into.appendChild(document.createTextNode(name + (state ? " " : "")));
        if (state) into.appendChild(make("b", state));
      };
      const list = (nodes) => {
        const made = make("ul");
        for (const node of nodes) {
          const item = made.appendChild(make("li"));
          node.through.forEach(([name, state], k) =>
            say(item, (k ? ", " : "through ") + name, state));
          say(item, (node.root ? "" : node.through.length ? " to " : "straight to ") + node.name,
            node.state);
          if (node.branches.length) item.appendChild(list(node.branches));
          else if (node.elsewhere) item.appendChild(document.createTextNode(" (listed elsewhere)"));
        }
        return made;
      };
      words.appendChild(list(drawing.outline(airframe, shown())));
    }

    // Lists that are long and the same on most pages: what is left, and what has no power anyway.

    const lists = [...document.querySelectorAll("[data-list]")];
    const order = new Map(Object.keys(airframe.pages).map((id, i) => [id, i]));
    const items = [...airframe.wiring.equipment].sort((one, other) =>
      (one.ata.slice(0, 2) < other.ata.slice(0, 2) ? -1 : one.ata.slice(0, 2) > other.ata.slice(0, 2)
        ? 1 : order.get(one.id) - order.get(other.id)));
    function fill(details) {
      const { row, condition } = chosen();
      const answer = engine.answer(outcomeOf(row, condition.id));
      const kind = details.getAttribute("data-list");
      const named = new Set(kind === "left" ? [...answer.kept, ...answer.reduced] : answer[kind]);
      const list = make("ul", "", "names");
      for (const item of items.filter((one) => named.has(one.id))) {
        const entry = list.appendChild(make("li", "", "name"));
        entry.appendChild(make("a", item.name)).href = airframe.pages[item.id];
        const hazard = airframe.hazards[item.id];
        if (!hazard) continue;
        entry.appendChild(document.createTextNode(" "));
        entry.appendChild(make("abbr", "!", "hazard-sign")).title = `Hazard: ${hazard}`;
      }
      details.querySelectorAll("ul").forEach((old) => old.remove());
      details.appendChild(list);
    }
    const fillOpen = () => lists.filter((one) => one.open).forEach(fill);
    lists.forEach((one) => one.addEventListener("toggle", fillOpen));
    window.addEventListener("beforeprint", () => lists.forEach(fill));

    function shown() {
      const { row, condition } = chosen();
      return before ? statesOf({}, condition.id) : statesOf(row, condition.id);
    }

    function update() {
      const view = chosen();
      const { row, condition } = view;
      const now = shown();
      const normal = statesOf({}, condition.id);
      const was = !fails ? null : row.then ? statesOf({ ...row, then: undefined }, condition.id) : normal;
      art.paint(now);
      const failed = (row.fails || []).map(([id]) => id);
      says.textContent = before ? "Nothing has failed yet."
        : drawing.change(airframe, was, now, failed);
      const names = (row.fails || []).map(([id, mode]) =>
        `${net.components.find((one) => one.id === id).name} ${airframe.modes[mode].toLowerCase()}`);
      printed.textContent = [where(view), before ? "" : names.join(", ")].filter(Boolean).join(": ");
      const pressed = before ? 0 : 1 + rows.indexOf(row);
      buttons.forEach((button, k) => button.setAttribute("aria-pressed", String(k === pressed)));
      document.querySelectorAll("a.and-also").forEach((link) => {
        link.href = onBoard(condition.id, row.fails || []);
      });
      inWords();
      fillOpen();
    }

    pan.replaceChildren(art.svg);
    picture.classList.add("live");
    const zooms = zoomable(picture, pan, art);
    update();
    const about = picture.getAttribute("data-about");
    const ids = about ? about.split(" ") : (rows[0].fails || []).map(([id]) => id);
    zooms.open(ids);
    ids.filter((id) => art.byId.has(id)).slice(0, 1).forEach((id) => art.stopAt(art.byId.get(id)[0]));
    if (about) ids.forEach((id) => (art.byId.get(id) || []).forEach((part) =>
      part.setAttribute("data-wanted", "")));

    pan.addEventListener("click", (event) => {
      if (event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return;
      const part = event.target.closest("[data-part]");
      if (!part || part === cardOf) return;
      event.preventDefault();
      const view = chosen();
      show(art, part, view.condition.id, before ? [] : view.row.fails || [], where(view));
    });
    document.addEventListener("change", (event) => {
      if (!event.target.matches || !event.target.matches("input.view")) return;
      before = false;
      update();
    });
    window.addEventListener("hashchange", update);
    window.addEventListener("pageshow", update);
  }

  // A page that becomes shorter or longer above the steps leaves them where the thumb is.

  function staysPut(bar) {
    let top = null;
    bar.addEventListener("click", () => { top = bar.getBoundingClientRect().top; }, true);
    window.addEventListener("change", () => {
      if (top === null) return;
      const main = document.querySelector("main");
      const off = () => bar.getBoundingClientRect().top - top;
      main.style.paddingBottom = "";
      window.scrollBy(0, off());
      if (off() >= 1) {
        // The page has become too short for that.
        main.style.paddingBottom = Math.ceil(off()) + 24 + "px";
        window.scrollBy(0, off());
      }
    });
    bar.addEventListener("click", () => { top = null; });
  }

  // The view in the address is chosen by then.
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll(".picture[data-views]").forEach(live);
  });
})();
