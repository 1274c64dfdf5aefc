/* The causes that a diagnosis found, as a list: what many of them have in common is said once.
Its only name is `causeList`. */
"use strict";

const causeList = (() => {
  const { make } = site;
  const NAMED = 3; // components of a group that its line names
  const FEW = 2; // lines that take no more room than what would say that there are more

  const keyOf = ({ failed, reading }) => `${reading}|${failed.map((fault) => fault.join(" ")).sort().join("|")}`;

  /* Sets of one size as products: each choice of one failure from every group is one of the sets.
  The last places are joined first, then the one before, as `as_products` of the package does. */
  function products(sets) {
    let lines = sets.map((set) => set.map((fault) => [fault]));
    for (let place = sets[0].length - 1; place >= 0; place--) {
      const merged = new Map();
      for (const line of lines) {
        const rest = line.filter((_, i) => i !== place);
        const key = JSON.stringify(rest);
        if (!merged.has(key)) merged.set(key, { rest, here: [] });
        merged.get(key).here.push(...line[place]);
      }
      lines = [...merged.values()].map(({ rest, here }) => [...rest.slice(0, place), here, ...rest.slice(place)]);
    }
    return lines;
  }

  /* The lines of causes of one size: {groups, causes}, `groups` the shortest first. What has a name is
  not joined. */
  function inLines(causes, areNamed = false) {
    if (areNamed || !/^[23]$/.test(causes[0].failed.length)) {
      return causes.map((cause) => ({ groups: [[cause.failed[0]]], causes: [cause] }));
    }
    const lines = [];
    // Joined is what explains it in the same answer, with the sources at the same volts.
    const how = ({ reading, volts, others = [] }) => JSON.stringify([reading, volts, others.length]);
    for (const same of new Set(causes.map(how))) {
      const here = causes.filter((cause) => how(cause) === same);
      const { reading } = here[0];
      const byKey = new Map(here.map((cause) => [keyOf(cause), cause]));
      for (const groups of products(here.map((cause) => cause.failed))) {
        const sets = groups.reduce((all, group) => all.flatMap((set) => group.map((fault) => [...set, fault])), [[]]);
        const found = sets.map((failed) => byKey.get(keyOf({ failed, reading })));
        lines.push({ groups: [...groups].sort((a, b) => a.length - b.length), causes: found });
      }
    }
    return lines;
  }

  /* `Generator 1 lost or shorted`: of a group each component once, with its modes. */
  function byComponent(group, names, modes) {
    const of = new Map();
    for (const [id, mode] of group) of.set(id, [...(of.get(id) || []), modes[mode].toLowerCase()]);
    return [...of].map(([id, words]) => `${names.get(id)} ${words.join(" or ")}`);
  }

  /* {element, mark}: the list of causes of one size, and what marks the chosen one. `words` is
  {names, modes, text, beside, size, areNamed}; `choose` gets a cause, `more` is called for longer lists. */
  function list(causes, most, words, choose, more) {
    const element = make("ul", "", "causes");
    const marks = [];
    const lines = inLines(causes, words.areNamed);
    const pressed = (button, is) => marks.push((chosen) => button.setAttribute("aria-pressed", String(is(chosen))));

    function one(cause) {
      const item = make("li");
      const button = site.button("", () => choose(cause));
      button.append(make("b", words.text(cause)), make("small", words.beside(cause)));
      pressed(button, (chosen) => chosen === cause);
      item.append(button);
      return item;
    }

    function several({ groups, causes: every }) {
      const { reading } = every[0];
      const item = make("li", "", "cause-set");
      const fold = make("details");
      const summary = make("summary");
      const said = make("span");
      groups.forEach((group, i) => {
        const named = byComponent(group, words.names, words.modes);
        const some = named.slice(0, NAMED).join(", ") + (named.length > NAMED ? ` and ${named.length - NAMED} more` : "");
        // Each group on a line of its own.
        const many = named.length > 1;
        const line = make(many ? "span" : "b");
        line.append(make("i", `${i ? "and " : ""}${many ? "one of: " : ""}`), some);
        said.append(line, " ");
      });
      said.append(make("i", words.only(every[0])));
      summary.append(said, make("small", `${every.length} ${words.size}s`));
      fold.append(summary);
      const byKey = new Map(every.map((cause) => [keyOf(cause), cause]));
      let picked = groups.map((group) => group[0]);
      groups.forEach((group, i) => {
        if (group.length === 1) return;
        const row = make("div", "", "one-of");
        row.setAttribute("role", "group");
        row.setAttribute("aria-label", "One of");
        for (const fault of group) {
          const button = site.button(`${words.names.get(fault[0])} ${words.modes[fault[1]].toLowerCase()}`, () => {
            picked = picked.map((was, place) => (place === i ? fault : was));
            choose(byKey.get(keyOf({ failed: picked, reading })));
          });
          pressed(button, (chosen) => every.includes(chosen) && chosen.failed.some((f) => f.join() === fault.join()));
          row.append(button);
        }
        fold.append(row);
      });
      item.append(fold);
      return item;
    }

    const shown = lines.length > most + FEW ? most : lines.length;
    for (const line of lines.slice(0, shown)) {
      element.append(line.causes.length === 1 ? one(line.causes[0]) : several(line));
    }
    if (lines.length > shown) {
      const item = make("li");
      item.append(site.button(`${lines.length - shown} more`, more));
      element.append(item);
    }
    return { element, mark: (chosen) => marks.forEach((mark) => mark(chosen)) };
  }

  return { list, inLines, keyOf };
})();
