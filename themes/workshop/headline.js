/* What the sentences about answers share: names in a list, and whether two answers differ. */
"use strict";

const headline = (() => {
  const COMPARED = ["lost", "reduced", "comes_on", "turned_on", "shed", "functions", "on_battery",
    "not_known", "driven", "chatter"];
  const MOST_NAMED = 3;

  const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;
  const joined = (words, joint = "and") => (words.length < 2 ? words.join("")
    : `${words.slice(0, -1).join(", ")} ${joint} ${words[words.length - 1]}`);
  const few = (words, noun) => joined(words.length > MOST_NAMED + 1
    ? [...words.slice(0, MOST_NAMED), `${words.length - MOST_NAMED} more ${noun}`] : words);
  const listed = (names, ids) => few(ids.map((id) => names.get(id)), "items");
  const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
  const differs = (one, other) => COMPARED.some((field) => !same(one[field], other[field]));

  /* What must not be otherwise in another answer unsaid. */
  const said = (net, answer) => [COMPARED.map((field) => answer[field]), answer.overloaded,
    Object.keys(answer.overRating).sort(), Object.values(answer.nodes).map(({ live, sources }) =>
      [live, sources.some((s) => net.kind.get(s) === "battery")]),
    net.sources.map(({ kind }, s) => (kind === "battery" ? (answer.given.get(s) || figures.NOTHING).text(3) : ""))];

  return { said, MOST_NAMED, counted, few, joined, listed, same, differs };
})();
