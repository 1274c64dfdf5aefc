/* Which branches a current may take from a source to a node: those on a path that visits no node
twice, and whose sound diodes drop no more than 0.5 V more than those of the path that drops least.

The same as the package's `simple_paths`. A path goes block by block (biconnected component),
entering and leaving each at the same nodes; in a block of several branches all paths are gone
through, up to `MOST_STEPS`: from there on what a branch may carry is an upper bound. Classic
script; it leaves one name, `paths`. */
"use strict";

const paths = (() => {
  const MOST_STEPS = 4000; // nodes visited in the search of one block
  const MOST_MORE = 500; // mV that a path may drop more than the one that drops least

  /* The branches that conduct, without those into converters: [number, origin, target, whether both
  ways, mV that its sound diodes drop]. */
  class Topology {
    constructor(branches) {
      this.ends = new Map();
      const neighbours = new Map();
      const joined = (node) => {
        if (!neighbours.has(node)) neighbours.set(node, []);
        return neighbours.get(node);
      };
      for (const [number, origin, target, bothWays, drop] of branches) {
        if (origin === target) continue;
        this.ends.set(number, [origin, target, bothWays, drop]);
        joined(origin).push([number, target]);
        joined(target).push([number, origin]);
      }
      this.blocks = blocksOf(neighbours);
      this.ofNode = new Map();
      this.blocks.forEach((block, number) => {
        for (const node of new Set(block.flatMap((b) => this.ends.get(b).slice(0, 2)))) {
          if (!this.ofNode.has(node)) this.ofNode.set(node, []);
          this.ofNode.get(node).push(number);
        }
      });
      this.trees = new Map();
      this.inBlock = new Map();
      this.found = new Map();
    }

    /* By branch that a current from a source to a node may use, how: {along, against, must,
    certain}; `must` if every path does, `certain` if it flows there and in one direction. */
    between(source, node) {
      const key = `${source} ${node}`;
      if (!this.found.has(key)) {
        const passages = new Map();
        const { blockBefore, entries } = this.tree(source);
        for (let at = node; at !== source && blockBefore.has(at);) {
          const block = blockBefore.get(at);
          const entry = entries.get(block);
          for (const [number, passage] of this.passages(block, entry, at)) {
            passages.set(number, passage);
          }
          at = entry;
        }
        this.found.set(key, passages);
      }
      return this.found.get(key);
    }

    /* [passages, how much] of what a source gives at nodes, added up wherever it takes the same. */
    * addedUp(source, amounts, add) {
      const { blockBefore, entries } = this.tree(source);
      const due = new Map([...amounts].filter(([node]) => blockBefore.has(node)));
      // A node is noted after the one through which it is reached.
      for (const [node, block] of [...blockBefore].reverse()) {
        if (!due.has(node)) continue;
        const total = due.get(node);
        const entry = entries.get(block);
        yield [this.passages(block, entry, node), total];
        if (entry !== source) due.set(entry, due.has(entry) ? add(due.get(entry), total) : total);
      }
    }

    /* By node the block that leads to it from the source, and by block where it is entered. */
    tree(source) {
      if (!this.trees.has(source)) {
        const blockBefore = new Map();
        const entries = new Map();
        const waiting = [source];
        while (waiting.length) {
          const node = waiting.pop();
          for (const block of this.ofNode.get(node) || []) {
            if (entries.has(block)) continue;
            entries.set(block, node);
            for (const branch of this.blocks[block]) {
              for (const end of this.ends.get(branch).slice(0, 2)) {
                if (end === source || blockBefore.has(end)) continue;
                blockBefore.set(end, block);
                waiting.push(end);
              }
            }
          }
        }
        this.trees.set(source, { blockBefore, entries });
      }
      return this.trees.get(source);
    }

    passages(block, entry, leave) {
      const key = `${block} ${entry} ${leave}`;
      if (!this.inBlock.has(key)) {
        const [first, ...others] = this.blocks[block];
        const along = this.ends.get(first)[0] === entry;
        this.inBlock.set(key, others.length
          ? passagesIn(this.blocks[block].map((b) => [b, ...this.ends.get(b)]), entry, leave)
          : new Map([[first, { along, against: !along, must: true, certain: true }]]));
      }
      return this.inBlock.get(key);
    }
  }

  /* The branches of each biconnected component (Hopcroft and Tarjan 1973). */
  function blocksOf(neighbours) {
    const blocks = [];
    const depth = new Map();
    const lowest = new Map();
    for (const root of neighbours.keys()) {
      if (depth.has(root)) continue;
      depth.set(root, 0);
      lowest.set(root, 0);
      const open = [];
      const stack = [{ node: root, by: -1, next: 0 }];
      while (stack.length) {
        const top = stack[stack.length - 1];
        const arcs = neighbours.get(top.node);
        if (top.next < arcs.length) {
          const [branch, other] = arcs[top.next];
          top.next += 1;
          if (branch === top.by) continue;
          if (!depth.has(other)) {
            depth.set(other, stack.length);
            lowest.set(other, stack.length);
            open.push(branch);
            stack.push({ node: other, by: branch, next: 0 });
          } else if (depth.get(other) < depth.get(top.node)) {
            open.push(branch);
            lowest.set(top.node, Math.min(lowest.get(top.node), depth.get(other)));
          }
          continue;
        }
        stack.pop();
        if (!stack.length) continue;
        const parent = stack[stack.length - 1].node;
        lowest.set(parent, Math.min(lowest.get(parent), lowest.get(top.node)));
        if (lowest.get(top.node) >= depth.get(parent)) blocks.push(open.splice(open.indexOf(top.by)));
      }
    }
    return blocks;
  }

  /* By branch of a block, how the paths from its entry to its exit use it. */
  function passagesIn(branches, entry, leave) {
    const passages = new Map();
    const arcs = new Map();
    const arc = (start, ...to) => {
      if (!arcs.has(start)) arcs.set(start, []);
      arcs.get(start).push(to);
    };
    for (const [number, origin, target, bothWays, drop] of branches) {
      arc(origin, number, target, drop);
      if (bothWays) arc(target, number, origin, drop);
    }
    const drops = leastDrops(arcs, entry);
    if (!drops.has(leave)) return passages;
    const most = drops.get(leave) + MOST_MORE;
    const used = new Set();
    const use = ([number, end]) => used.add(`${number} ${end}`);
    let must = null;
    let steps = 0;
    for (const [path, visited] of pathsOf(arcs, entry, leave, most)) {
      steps += visited;
      path.forEach(use);
      const here = new Set(path.map(([number]) => number));
      must = must ? must.filter((number) => here.has(number)) : [...here];
      if (steps <= MOST_STEPS) continue;
      // Too many paths to go through: an arc counts as usable if a path leads to its start and one
      // from its end to the exit, though both may need one node.
      for (const [start, leading] of arcs) {
        for (const [number, end, drop] of start === leave ? [] : leading) {
          const before = leastDrops(arcs, entry, new Set([end])).get(start);
          if (end !== entry && before !== undefined
            && leads(arcs, end, leave, most - before - drop, new Set([start]))) use([number, end]);
        }
      }
      must = must.filter((number) => !leads(arcs, entry, leave, most, new Set(), number));
      break;
    }
    let diodes = false;
    for (const [number, origin, target, bothWays] of branches) {
      const along = used.has(`${number} ${target}`);
      const against = used.has(`${number} ${origin}`);
      if (!along && !against) continue;
      passages.set(number, { along, against, must: must.includes(number) });
      if (!bothWays) diodes = true;
    }
    for (const passage of passages.values()) {
      passage.certain = passage.must || (!diodes && !(passage.along && passage.against));
    }
    return passages;
  }

  /* Every simple path that drops no more than `most` mV, with the number of nodes visited since the
  one before. */
  function* pathsOf(arcs, entry, leave, most) {
    const path = [];
    const onPath = new Set([entry]);
    const stack = [{ arcs: arcs.get(entry) || [], next: 0 }];
    let [visited, left] = [0, most];
    while (stack.length) {
      const top = stack[stack.length - 1];
      if (top.next === top.arcs.length) {
        stack.pop();
        if (path.length) {
          const [, end, drop] = path.pop();
          onPath.delete(end);
          left += drop;
        }
        continue;
      }
      const arc = top.arcs[top.next];
      const [, end, drop] = arc;
      top.next += 1;
      if (onPath.has(end) || drop > left) continue;
      visited += 1;
      if (end === leave) {
        yield [[...path, arc], visited];
        visited = 0;
      } else if (leads(arcs, end, leave, left - drop, onPath)) {
        path.push(arc);
        onPath.add(end);
        left -= drop;
        stack.push({ arcs: arcs.get(end) || [], next: 0 });
      }
    }
  }

  /* By node to which arcs lead past closed nodes and without one branch: the least that diodes drop
  on the way there, mV (Dijkstra 1959; the nets are small, and so is the list that is waiting). */
  function leastDrops(arcs, start, closed = new Set(), without = -1) {
    const reached = new Map();
    const waiting = [[0, start]];
    while (waiting.length) {
      let first = 0;
      for (let i = 1; i < waiting.length; i++) if (waiting[i][0] < waiting[first][0]) first = i;
      const [dropped, node] = waiting.splice(first, 1)[0];
      if (reached.has(node)) continue;
      reached.set(node, dropped);
      for (const [number, end, drop] of arcs.get(node) || []) {
        if (reached.has(end) || closed.has(end) || number === without) continue;
        waiting.push([dropped + drop, end]);
      }
    }
    return reached;
  }

  /* Whether a path with no more than this drop leads on, past closed nodes, without a branch. */
  function leads(arcs, start, leave, most, closed = new Set(), without = -1) {
    const drop = leastDrops(arcs, start, closed, without).get(leave);
    return drop !== undefined && drop <= most;
  }

  return { Topology };
})();
