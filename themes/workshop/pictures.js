// The live drawing on a page: inserted into its box, solved and painted for the chosen view, opened
// at the part that the page is about. Pan and zoom, the card of a part, the steps of a failure.
// Nothing moves by itself, and nothing is stored.
"use strict";

(function () {
  const make = site.make;
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
      for (const mode of engine.MODES[airframe.net.kind.get(id)]) {
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

  /* The board with this failed, and with what the crew has done where it has acted. */
  const onBoard = (condition, failed, more) =>
    `${airframe.board}#${site.boardState({ condition, failed, ...more })}`;

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

    // What the crew does in a condition: what the row says of it, or else of all.
    const crewDoes = (row, condition) => {
      const number = conditions.findIndex(({ id }) => id === condition);
      return (row.thenIn || {})[number] || row.then;
    };

    function outcomeOf(row, condition) {
      const key = JSON.stringify([row, condition]);
      if (!known.has(key)) {
        const outcome = engine.solve(net, [{ condition, failed: row.fails || [] }]);
        const acts = crewDoes(row, condition);
        known.set(key, acts ? engine.afterTheCrew(outcome, acts) : outcome);
      }
      return known.get(key);
    }

    const statesOf = (row, condition) => drawing.states(outcomeOf(row, condition));

    const fails = Boolean(rows[0].fails);
    // The same failure twice: as it comes, and once the crew has acted, if only on its own page.
    const staged = rows.length > 1 && JSON.stringify(rows[0].fails) === JSON.stringify(rows[1].fails);
    const nameOf = (row) => (staged ? (row === rows[0] ? "At once" : "Crew has acted")
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
    says.tabIndex = -1;
    // A long text is cut after a whole line, and what shows the rest is at the end of that line.
    const saying = make("div", "", "saying"), cut = saying.appendChild(make("div"));
    cut.append(site.button("\u2026 more", () => {
      saying.classList.remove("long");
      says.focus({ preventScroll: true });
    }, "more"), says);
    function cutAtLine() {
      saying.classList.remove("long");
      saying.classList.toggle("long", cut.offsetHeight > 3.5 * parseFloat(getComputedStyle(cut).lineHeight));
    }
    const buttons = [];
    if (fails) {
      const bar = make("div", "", "steps");
      bar.setAttribute("role", "group");
      bar.setAttribute("aria-label", "Step by step");
      // Before, and what the page's one choice of a mode or stage says.
      [true, false].forEach((step) => buttons.push(bar.appendChild(
        site.button("Before", () => { before = step; update(); }))));
      bar.addEventListener("keydown", (event) => {
        const way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        const next = way && buttons[buttons.indexOf(event.target) + way];
        if (!next) return;
        event.preventDefault();
        next.click();
        next.focus();
      });
      picture.insertBefore(bar, pan);
    }
    picture.insertBefore(saying, pan);
    window.addEventListener("resize", cutAtLine);
    const paper = picture.insertBefore(make("p", "", "print-only"), pan);
    const printed = paper.appendChild(make("span"));
    paper.appendChild(make("small", " Part of the drawing: all of it is on the overview, with nothing failed.", "of-part"));

    // What else may fail is asked on the board.
    const also = fails && airframe.board ? caption.appendChild(make("a", "And also …", "and-also")) : null;

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
      const was = !fails ? null : row.then ? statesOf(rows[0], condition.id) : normal;
      art.paint(now);
      const failed = (row.fails || []).map(([id]) => id);
      const change = drawing.change(airframe, was, now, failed);
      says.textContent = before ? "Nothing has failed yet."
        : row.then ? `Since the failure: ${change[0].toLowerCase()}${change.slice(1)}` : change;
      cutAtLine();
      const names = (row.fails || []).map(([id, mode]) =>
        `${net.components.find((one) => one.id === id).name} ${airframe.modes[mode].toLowerCase()}`);
      printed.textContent = [where(view), before ? "" : names.join(", ")].filter(Boolean).join(": ");
      buttons.forEach((button, k) => {
        if (k) button.textContent = nameOf(row);
        button.setAttribute("aria-pressed", String(before === !k));
      });
      if (also) also.href = onBoard(condition.id, row.fails, crewDoes(row, condition.id));
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
      const { row, condition: { id } } = view;
      show(art, part, id, (!before && row.fails) || [], where(view));
    });
    document.addEventListener("change", (event) => {
      if (!event.target.matches || !event.target.matches("input.view")) return;
      before = false;
      update();
    });
    window.addEventListener("hashchange", update);
    window.addEventListener("pageshow", update);
  }

  // The view in the address is chosen by then.
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll(".picture[data-views]").forEach(live);
  });
})();
