/* Pan and zoom of the live drawing: its box scrolls, and the drawing in it is made larger or smaller.
`zoomable(picture, pan, art)` gives {open}: it opens the drawing at some parts. */
"use strict";

const zoomable = (() => {
  const make = site.make;
  const MOST = 3, STEP = 1.3;
  // The scale at which the smallest text, 10.5 units, is 9 px high; with more room, names are 11 px.
  const READABLE = 0.86, WITH_ROOM = 0.92;
  const TAPPED = 0.5;
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
      map.show(more);
    }

    // Where one is: the bars of the whole drawing small, and the part that is in view.

    const map = (() => {
      const box = drawing.element("svg", { class: "pan-map", viewBox: svg.getAttribute("viewBox"), "aria-hidden": "true" });
      const view = drawing.element("rect", { class: "in-view" });
      const move = (event) => {
        const at = box.getBoundingClientRect();
        const { width, height } = svg.getBoundingClientRect();
        pan.scrollLeft = (event.clientX - at.left) / at.width * width - pan.clientWidth / 2;
        pan.scrollTop = (event.clientY - at.top) / at.height * height - pan.clientHeight / 2;
        touched = true;
        event.preventDefault();
      };
      box.addEventListener("pointerdown", (event) => {
        box.setPointerCapture(event.pointerId);
        move(event);
      });
      box.addEventListener("pointermove", (event) => {
        if (box.hasPointerCapture(event.pointerId)) move(event);
      });
      let drawn = false;
      const soon = site.perFrame(() => {
        if (box.hasAttribute("hidden")) return;
        if (!drawn) {
          drawn = true;
          for (const bar of svg.querySelectorAll(".bar")) {
            const { x, y, width, height } = bar.getBBox();
            box.appendChild(drawing.element("rect", { x, y: y - 8, width, height: height + 16 }));
          }
          box.appendChild(view);
        }
        const at = svg.getBoundingClientRect(), room = pan.getBoundingClientRect();
        const part = (name, value) => view.setAttribute(name, value / scale);
        part("x", Math.max(0, room.left - at.left));
        part("y", Math.max(0, room.top - at.top));
        part("width", Math.min(pan.clientWidth, at.width));
        part("height", Math.min(pan.clientHeight, at.height));
      });
      pan.addEventListener("scroll", soon, { passive: true });
      picture.insertBefore(box, pan);
      return {
        show(more) {
          box.toggleAttribute("hidden", !more);
          picture.classList.toggle("has-map", more);
          soon();
        },
      };
    })();

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
        set(notCutBelow(Math.max(least, Math.min(1, pan.clientWidth / natural))));
        pan.scrollLeft = (pan.scrollWidth - pan.clientWidth) / 2;
        pan.scrollTop = 0;
        wholeAtTheSides();
        return;
      }
      const fits = [near, feeding].map(boxOf).find((one) => scaleOf(one) >= least);
      // Of parts that are far from each other the first is shown.
      const shown = scaleOf(boxOf(own)) >= least ? own : art.byId.get(ids.find((id) => art.byId.has(id)));
      const box = fits || boxOf(shown);
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
      wholeAtTheTop(shown, drop);
    }

    /* The largest scale from this one down, as long as it can be read, at which the lower edge cuts
    through no bar: a bus is in view whole or not at all. */
    function notCutBelow(wanted) {
      const bars = [...svg.querySelectorAll(".bar")].map((bar) => bar.getBBox());
      const cuts = (at) => bars.some((b) => at * b.y < pan.clientHeight - 8
        && at * (b.y + b.height) > pan.clientHeight - 20);
      for (let at = wanted; at >= READABLE; at -= 0.01) if (!cuts(at)) return at;
      return wanted;
    }

    /* Of the upper parts, which are seen first, the fewest are cut through by the edges at the sides. */
    function wholeAtTheSides() {
      const at = pan.getBoundingClientRect(), from = pan.scrollLeft;
      const boxes = [...svg.querySelectorAll(".part:not(.wire)")]
        .map((part) => part.getBoundingClientRect()).filter((b) => b.top < at.top + at.height * 0.7);
      const cut = (by) => boxes.filter((b) => [at.left, at.right].some((edge) =>
        b.left < edge + by && b.right > edge + by)).length;
      let best = 0;
      for (let far = 4; far < 300; far += 4) {
        for (const by of [far, -far]) {
          if (from + by >= 0 && from + by <= 2 * from && cut(by) < cut(best)) best = by;
        }
      }
      pan.scrollLeft += best;
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

    // On paper: the part of the drawing round what the page is about, so large that it can be read.
    // The style sheet says how many units of the drawing a sheet has room for.

    /* What each part counts for: most where the page is about it, less the further it is along the
    feeders. */
    function worth() {
      const steps = new Map(about.map((id) => [id, 0]));
      for (let step = 1; step < 4; step++) {
        for (const { from, to, through } of art.branches) {
          const all = [from, ...through, to];
          if (all.some((id) => steps.get(id) < step)) all.forEach((id) => steps.has(id) || steps.set(id, step));
        }
      }
      return (id) => [1000, 50, 8, 2][steps.get(id)] || 0.5;
    }

    function frame() {
      const room = (name) => Number(getComputedStyle(picture).getPropertyValue(name));
      const width = room("--paper-wide"), height = room("--paper-high");
      const parts = [...art.byId].flatMap(([id, drawn]) => drawn.map((part) => ({ id, part, box: part.getBBox() })));
      const whole = natural <= width && tall <= height;
      const framed = about.some((id) => art.byId.has(id)) && width && !whole && parts.some(({ box }) => box.width);
      picture.classList.toggle("framed", framed);
      if (!framed) return;
      const of = worth();
      const edges = (all, most) => [...new Set([0, ...all].map((at) => Math.round(Math.max(0, Math.min(at - 4, most)))))];
      const inside = (low, high, from, size) => low >= from && high <= from + size;
      const meets = (low, high, from, size) => high > from && low < from + size;
      let best = { value: -1 };
      const lefts = edges(parts.flatMap(({ box }) => [box.x, box.x + box.width + 8 - width]), natural - width);
      const tops = edges(parts.flatMap(({ box }) => [box.y, box.y + box.height + 8 - height]), tall - height);
      for (const { id, box } of parts) Object.assign(box, { value: of(id) });
      for (const left of lefts) {
        const across = parts.filter(({ box }) => meets(box.x, box.x + box.width, left, width));
        for (const top of tops) {
          let value = 0;
          for (const { box } of across) {
            if (!meets(box.y, box.y + box.height, top, height)) continue;
            const all = inside(box.x, box.x + box.width, left, width) && inside(box.y, box.y + box.height, top, height);
            value += all ? box.value : -0.25;
          }
          if (value > best.value) best = { value, left, top };
        }
      }
      const set = (name, value) => picture.style.setProperty(name, value);
      set("--natural", natural);
      set("--paper-left", best.left);
      set("--paper-top", best.top);
      // Text is measured as large as it is printed.
      const { left, top } = best;
      for (const { part, box } of parts) {
        const whole = inside(box.x, box.x + box.width, left, width);
        const high = inside(box.y, box.y + box.height, top, height);
        part.toggleAttribute("data-cut", !(whole && high));
        if (whole && high) continue;
        const texts = [...part.querySelectorAll("text")].map((text) => ({ text, at: text.getBBox() }));
        const move = new Map(), isBus = part.classList.contains("bus");
        if (isBus && high) {
          // What there is of a bus has its name, and its state where there is room.
          let from = Math.max(box.x, left) + 12, to = Math.min(box.x + box.width, left + width) - 12;
          texts.forEach(({ text, at }, k) => {
            if (at.width > to - from) return;
            move.set(text, k ? Math.min(0, to - at.x - at.width) : Math.max(from - at.x, 0));
            from = at.x + move.get(text) + at.width + 12;
          });
        }
        const plates = [...part.querySelectorAll(".plate")];
        texts.forEach(({ text, at }, k) => {
          const fits = isBus ? move.has(text) : inside(at.x, at.x + at.width, left, width)
            && inside(at.y, at.y + at.height, top, height);
          for (const one of [text, plates[k]].filter(Boolean)) {
            one.toggleAttribute("data-cut", !fits);
            if (move.get(text)) one.setAttribute("transform", `translate(${move.get(text)})`);
          }
        });
      }
    }
    window.addEventListener("beforeprint", frame);
    window.addEventListener("afterprint", () => svg.querySelectorAll(".bus > [transform]")
      .forEach((one) => one.removeAttribute("transform")));

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
      const far = scale < TAPPED && event.detail > 0 && event.pointerType !== "mouse";
      if (dragged || far) {
        event.preventDefault();
        event.stopPropagation();
      }
      // Parts that are too small for a finger come nearer first.
      if (far && !dragged) zoom(READABLE / scale, event.clientX, event.clientY);
      dragged = false;
    }, true);

    window.addEventListener("resize", () => {
      if (fitted) fit();
      else if (!touched) open(about);
      else set(scale);
    });
    return { open };
  }

  return zoomable;
})();
