/* Which branches a current may take from a source to a node: those on a path that visits no node
twice.

The same as the package's `simple_paths`. A path goes block by block (biconnected component),
entering and leaving each at the same nodes; in a block of several branches all paths are gone
through, up to `MOST_STEPS`: from there on what a branch may carry is an upper bound. Classic
script; it leaves one name, `paths`. */
"use strict";

const paths = (() => {
  const MOST_STEPS = 4000; // nodes visited in the search of one block

  /* The branches that conduct, [number, origin, target, both ways], without those into converters. */
  class Topology {
    constructor(branches) {
      this.ends = new Map();
      const neighbours = new Map();
      const joined = (node) => {
        if (!neighbours.has(node)) neighbours.set(node, []);
        return neighbours.get(node);
      };
      for (const [number, origin, target, bothWays] of branches) {
        if (origin === target) continue;
        this.ends.set(number, [origin, target, bothWays]);
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
    const arcs = new Map();
    let diodes = false;
    const arc = (start, number, end) => {
      if (!arcs.has(start)) arcs.set(start, []);
      arcs.get(start).push([number, end]);
    };
    for (const [number, origin, target, bothWays] of branches) {
      arc(origin, number, target);
      if (bothWays) arc(target, number, origin);
      else diodes = true;
    }
    const used = new Set();
    const use = ([number, end]) => used.add(`${number} ${end}`);
    let must = null;
    let steps = 0;
    for (const [path, visited] of pathsOf(arcs, entry, leave)) {
      steps += visited;
      path.forEach(use);
      const here = new Set(path.map(([number]) => number));
      must = must ? must.filter((number) => here.has(number)) : [...here];
      if (steps <= MOST_STEPS) continue;
      // Too many paths to go through: an arc counts as usable if a path leads to its start and one
      // from its end to the exit, though both may need one node.
      for (const [start, leading] of arcs) {
        for (const [number, end] of start === leave ? [] : leading) {
          if (end !== entry && reachedFrom(arcs, entry, new Set([end])).has(start)
            && reachedFrom(arcs, end, new Set([start])).has(leave)) use([number, end]);
        }
      }
      must = must.filter((number) => !reachedFrom(arcs, entry, new Set(), number).has(leave));
      break;
    }
    const passages = new Map();
    for (const [number, origin, target] of branches) {
      const along = used.has(`${number} ${target}`);
      const against = used.has(`${number} ${origin}`);
      if (!along && !against) continue;
      const isMust = must.includes(number);
      passages.set(number, {
        along, against, must: isMust, certain: isMust || (!diodes && !(along && against)),
      });
    }
    return passages;
  }

  /* Every simple path, with the number of nodes visited since the one before. */
  function* pathsOf(arcs, entry, leave) {
    const path = [];
    const onPath = new Set([entry]);
    const stack = [{ arcs: arcs.get(entry) || [], next: 0 }];
    let visited = 0;
    while (stack.length) {
      const top = stack[stack.length - 1];
      if (top.next === top.arcs.length) {
        stack.pop();
        if (path.length) onPath.delete(path.pop()[1]);
        continue;
      }
      const [number, end] = top.arcs[top.next];
      top.next += 1;
      if (onPath.has(end)) continue;
      visited += 1;
      if (end === leave) {
        yield [[...path, [number, end]], visited];
        visited = 0;
      } else if (reachedFrom(arcs, end, onPath).has(leave)) {
        path.push([number, end]);
        onPath.add(end);
        stack.push({ arcs: arcs.get(end) || [], next: 0 });
      }
    }
  }

  /* The nodes to which arcs lead past closed nodes and without one branch. */
  function reachedFrom(arcs, start, closed, without = -1) {
    const reached = new Set([start]);
    const waiting = [start];
    while (waiting.length) {
      for (const [number, node] of arcs.get(waiting.pop()) || []) {
        if (reached.has(node) || closed.has(node) || number === without) continue;
        reached.add(node);
        waiting.push(node);
      }
    }
    return reached;
  }

  return { Topology };
})();
