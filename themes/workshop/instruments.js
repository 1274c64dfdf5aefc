/* Meters and lamps drawn as instruments, with what they show in figures and words below.

`instruments.meter` and `instruments.lamp` make elements; a state is never shown by colour alone. */
"use strict";

const instruments = (() => {
  const TOPS = [5, 10, 16, 20, 32, 40, 60, 80, 100, 150, 200, 300, 400, 600, 800, 1000];
  const WORDS = {
    lamp: { lit: "lit", unlit: "unlit", "lit or unlit": "lit or unlit", blank: "no power" },
    flag: { lit: "in view", unlit: "out of view", "lit or unlit": "in or out of view", blank: "no power" },
  };

  /* What a reading says, as the pages print it. */
  function text(reading, kind) {
    if (WORDS[kind]) return WORDS[kind][reading.kind];
    if (reading.kind === "blank") return "no power";
    if (reading.kind === "load") return "some load";
    return figures.readingText(reading, "\u00a0");
  }

  const { short } = figures;

  /* The end of a meter's scale: what it may have to show, with some room, in a round figure. */
  function topOf(net, indication) {
    if (indication.kind === "loadmeter") return 150;
    const source = net.sources[net.node.get(indication.at)];
    const node = net.nodes[net.node.get(indication.at)];
    let most = 0;
    if (indication.kind === "voltmeter") {
      for (const s of net.sources) if (s.current === node.current) most = Math.max(most, s.millivolts / 1000);
    } else {
      const device = net.devices[net.device.get(indication.at)];
      most = (source || device || {}).amps || 100;
    }
    return TOPS.find((top) => top >= most * 1.1) || most;
  }

  /* The dial of a meter: a half circle, its needle at the figure, a band where it may be anywhere.

  The ammeter of a battery has its zero in the middle: left is discharge. */
  function gauge(net, indication, reading) {
    const top = topOf(net, indication);
    const centred = indication.kind === "ammeter" && figures.directionsAt(net, indication)[0] !== null;
    const least = centred ? -top : 0;
    const signed = (amps) => (reading.direction === "discharge" ? -amps : amps);
    const svg = drawing.element("svg", { class: "gauge", viewBox: "0 0 104 66", "aria-hidden": "true" });
    const at = (value) => {
      const part = Math.max(-0.04, Math.min(1.04, (value - least) / (top - least)));
      return Math.PI * (1 - part);
    };
    const point = (angle, r) => `${(52 + r * Math.cos(angle)).toFixed(1)} ${(54 - r * Math.sin(angle)).toFixed(1)}`;
    const arc = (from, to, r) => `M${point(at(from), r)}A${r} ${r} 0 0 1 ${point(at(to), r)}`;
    svg.append(drawing.element("path", { class: "scale", d: arc(least, top, 42) }));
    for (let k = 0; k <= 10; k++) {
      const angle = at(least + ((top - least) * k) / 10);
      svg.append(drawing.element("path", {
        class: k % 5 ? "tick" : "tick long",
        d: `M${point(angle, 42)}L${point(angle, k % 5 ? 38 : 34)}`,
      }));
    }
    const sign = centred ? ["\u2212", "+"] : ["", ""];
    for (const [value, x, anchor] of [[sign[0] + short(Math.abs(least)), 14, "start"],
      [sign[1] + short(top), 90, "end"]]) {
      const label = drawing.element("text", { x, y: 64, "text-anchor": anchor });
      label.textContent = value;
      svg.append(label);
    }
    if (reading.kind === "figure") {
      if (reading.band) {
        // Without a direction it goes both ways.
        const ends = centred && !reading.direction ? [-reading.band[1], reading.band[1]]
          : reading.band.map(signed).sort((one, other) => one - other);
        svg.append(drawing.element("path", { class: "band", d: arc(...ends, 38) }));
      }
      svg.append(drawing.element("path", { class: "needle", d: `M52 54L${point(at(signed(reading.number)), 36)}` }));
      svg.append(drawing.element("circle", { class: "hub", cx: 52, cy: 54, r: 4 }));
    } else if (reading.kind !== "unread") {
      svg.append(drawing.element("path", { class: "unknown", d: arc(least, top, 38) }));
      const mark = drawing.element("text", { class: "mark", x: 52, y: 46, "text-anchor": "middle" });
      mark.textContent = reading.kind === "blank" ? "OFF" : "?";
      svg.append(mark);
    }
    return svg;
  }

  /* A meter with its name and what it shows. */
  function meter(net, indication, reading, was) {
    const box = site.make("div", "", "meter");
    const changed = was && text(was, indication.kind) !== text(reading, indication.kind);
    box.append(gauge(net, indication, reading));
    const name = site.make("p", indication.name, "meter-name");
    const shown = site.make("p", "", "meter-shows");
    shown.append(site.make("b", text(reading, indication.kind)));
    if (changed) {
      box.classList.add("changed");
      shown.append(site.make("small", `was ${text(was, indication.kind)}`));
    }
    box.append(name, shown);
    return box;
  }

  /* A lamp or flag as the tile that it is on a panel, with its word. */
  function lamp(indication, reading, was) {
    const tile = site.make("div", "", `lamp lamp-${reading.kind.replaceAll(" ", "-")}`);
    if (was && was.kind !== reading.kind) tile.classList.add("changed");
    tile.append(site.make("b", indication.name), site.make("small", text(reading, indication.kind)));
    return tile;
  }

  const isLamp = (indication) => indication.kind in WORDS;

  return { gauge, meter, lamp, text, topOf, isLamp, short };
})();
