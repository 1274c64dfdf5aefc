/* A QR code of a text (ISO/IEC 18004): bytes, versions 1 to 25, error correction M, or L where M has
no room. `qr.matrix(text)` gives rows of booleans, dark is true; `qr.svg(text, label)` the picture. */
"use strict";

const qr = (() => {
  const LEVELS = { L: 1, M: 0 }; // as the format information has them
  // By level and version: error correction codewords a block, and blocks (table 9 of the standard).
  const PER_BLOCK = {
    L: [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26],
    M: [10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26, 28, 28, 28, 28],
  };
  const BLOCKS = {
    L: [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12],
    M: [1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21],
  };
  const LARGEST = 25;

  // ---- Arithmetic of bytes: the field of 256 elements with x^8 + x^4 + x^3 + x^2 + 1

  const EXP = new Uint8Array(512);
  const LOG = new Uint8Array(256);
  for (let i = 0, x = 1; i < 255; i++) {
    EXP[i] = EXP[i + 255] = x;
    LOG[x] = i;
    x = x & 128 ? (x << 1) ^ 0x11d : x << 1;
  }
  const times = (a, b) => (a && b ? EXP[LOG[a] + LOG[b]] : 0);

  /* What is left of a block's data divided by the generator polynomial of this degree. */
  function remainder(data, degree) {
    let generator = [1];
    for (let i = 0; i < degree; i++) {
      const next = new Array(generator.length + 1).fill(0);
      generator.forEach((g, k) => {
        next[k] ^= g;
        next[k + 1] ^= times(g, EXP[i]);
      });
      generator = next;
    }
    const rest = [...data, ...new Array(degree).fill(0)];
    for (let i = 0; i < data.length; i++) {
      const lead = rest[i];
      if (lead) generator.forEach((g, k) => { rest[i + k] ^= times(g, lead); });
    }
    return rest.slice(data.length);
  }

  // ---- How much there is room for

  const sizeOf = (version) => 17 + 4 * version;

  function alignments(version) {
    if (version === 1) return [];
    const count = Math.floor(version / 7) + 2;
    const last = sizeOf(version) - 7;
    const step = Math.ceil((last - 6) / (count - 1) / 2) * 2;
    return [6, ...Array.from({ length: count - 1 }, (_, i) => last - step * (count - 2 - i))];
  }

  /* Codewords in all: the modules that no pattern takes, in eights. */
  function codewords(version) {
    const size = sizeOf(version);
    const lines = alignments(version).length;
    const aligned = lines ? (lines * lines - 3) * 25 - 2 * (lines - 2) * 5 : 0;
    const versions = version > 6 ? 36 : 0;
    return (size * size - 3 * 64 - 2 * (size - 16) - 31 - aligned - versions) >> 3;
  }

  const dataWords = (version, level) =>
    codewords(version) - PER_BLOCK[level][version - 1] * BLOCKS[level][version - 1];

  function chosenFor(length) {
    for (const level of ["M", "L"]) {
      for (let version = 1; version <= LARGEST; version++) {
        const bits = 4 + (version < 10 ? 8 : 16) + 8 * length;
        if (bits <= 8 * dataWords(version, level)) return { version, level };
      }
    }
    throw new Error(`a text of ${length} bytes is too long for a QR code of version ${LARGEST}`);
  }

  // ---- The codewords: data and padding, cut into blocks, interleaved with their corrections

  function words(bytes, version, level) {
    const bits = [];
    const add = (value, count) => { for (let i = count - 1; i >= 0; i--) bits.push((value >> i) & 1); };
    add(4, 4);
    add(bytes.length, version < 10 ? 8 : 16);
    for (const byte of bytes) add(byte, 8);
    const room = dataWords(version, level) * 8;
    for (let i = 0; i < 4 && bits.length < room; i++) bits.push(0);
    while (bits.length % 8) bits.push(0);
    const data = [];
    for (let i = 0; i < bits.length; i += 8) data.push(parseInt(bits.slice(i, i + 8).join(""), 2));
    for (let pad = 0xec; data.length < room / 8; pad ^= 0xec ^ 0x11) data.push(pad);
    const count = BLOCKS[level][version - 1];
    const short = Math.floor(data.length / count);
    const shorter = count - (data.length % count);
    const blocks = [];
    for (let i = 0, at = 0; i < count; i++) {
      const length = short + (i < shorter ? 0 : 1);
      blocks.push(data.slice(at, at + length));
      at += length;
    }
    const corrections = blocks.map((block) => remainder(block, PER_BLOCK[level][version - 1]));
    const interleaved = (lists) => {
      const longest = Math.max(...lists.map((list) => list.length));
      return Array.from({ length: longest }, (_, i) =>
        lists.filter((list) => i < list.length).map((list) => list[i])).flat();
    };
    return [...interleaved(blocks), ...interleaved(corrections)];
  }

  // ---- The picture

  /* Bits with the remainder of their division by a generator, as format and version have them. */
  function protectedBits(value, generator, length) {
    let rest = value << length;
    for (let i = 31; i >= length; i--) if ((rest >>> i) & 1) rest ^= generator << (i - length);
    return (value << length) | rest;
  }

  const MASKS = [
    (r, c) => (r + c) % 2 === 0, (r) => r % 2 === 0, (r, c) => c % 3 === 0,
    (r, c) => (r + c) % 3 === 0, (r, c) => (Math.floor(r / 2) + Math.floor(c / 3)) % 2 === 0,
    (r, c) => ((r * c) % 2) + ((r * c) % 3) === 0,
    (r, c) => (((r * c) % 2) + ((r * c) % 3)) % 2 === 0,
    (r, c) => (((r + c) % 2) + ((r * c) % 3)) % 2 === 0,
  ];

  /* The patterns that every code of a version has; null is room for data. */
  function patterns(version) {
    const size = sizeOf(version);
    const rows = Array.from({ length: size }, () => new Array(size).fill(null));
    const put = (r, c, dark) => { if (r >= 0 && c >= 0 && r < size && c < size) rows[r][c] = dark; };
    for (const [top, left] of [[0, 0], [0, size - 7], [size - 7, 0]]) {
      for (let r = -1; r <= 7; r++) {
        for (let c = -1; c <= 7; c++) {
          const ring = Math.max(Math.abs(r - 3), Math.abs(c - 3));
          put(top + r, left + c, ring !== 2 && ring !== 4);
        }
      }
    }
    const lines = alignments(version);
    for (const r of lines) {
      for (const c of lines) {
        if (rows[r][c] !== null) continue;
        for (let y = -2; y <= 2; y++) {
          for (let x = -2; x <= 2; x++) put(r + y, c + x, Math.max(Math.abs(x), Math.abs(y)) !== 1);
        }
      }
    }
    for (let i = 8; i < size - 8; i++) rows[6][i] = rows[i][6] = i % 2 === 0;
    return rows;
  }

  function putFormat(rows, level, mask) {
    const size = rows.length;
    const bits = protectedBits((LEVELS[level] << 3) | mask, 0x537, 10) ^ 0x5412;
    const at = (i) => Boolean((bits >> i) & 1);
    for (let i = 0; i < 15; i++) {
      // Beside the upper left finder, and again in two parts beside the others.
      if (i < 6) rows[i][8] = at(i);
      else if (i < 8) rows[i + 1][8] = at(i);
      else if (i === 8) rows[8][7] = at(i);
      else rows[8][14 - i] = at(i);
      if (i < 8) rows[8][size - 1 - i] = at(i);
      else rows[size - 15 + i][8] = at(i);
    }
    rows[size - 8][8] = true;
  }

  function putVersion(rows, version) {
    if (version < 7) return;
    const bits = protectedBits(version, 0x1f25, 12);
    for (let i = 0; i < 18; i++) {
      const [a, b] = [Math.floor(i / 3), rows.length - 11 + (i % 3)];
      rows[a][b] = rows[b][a] = Boolean((bits >> i) & 1);
    }
  }

  /* The places of data, two columns at a time from the right, upwards and downwards in turn. */
  function* places(rows) {
    const size = rows.length;
    for (let right = size - 1, up = true; right > 0; right -= 2, up = !up) {
      if (right === 6) right = 5;
      for (let i = 0; i < size; i++) {
        const r = up ? size - 1 - i : i;
        for (const c of [right, right - 1]) if (rows[r][c] === null) yield [r, c];
      }
    }
  }

  /* How hard a code is to read: runs, blocks, what looks like a finder, and too much of one shade. */
  function penalty(rows) {
    const size = rows.length;
    let sum = 0;
    const line = (at) => {
      let run = 1;
      for (let i = 1; i <= size; i++) {
        if (i < size && at(i) === at(i - 1)) run += 1;
        else {
          if (run >= 5) sum += run - 2;
          run = 1;
        }
      }
      const text = Array.from({ length: size }, (_, i) => (at(i) ? 1 : 0)).join("");
      for (let i = 0; i + 11 <= size; i++) {
        const part = text.slice(i, i + 11);
        if (part === "10111010000" || part === "00001011101") sum += 40;
      }
    };
    for (let k = 0; k < size; k++) {
      line((i) => rows[k][i]);
      line((i) => rows[i][k]);
    }
    let dark = 0;
    for (let r = 0; r < size; r++) {
      for (let c = 0; c < size; c++) {
        dark += rows[r][c] ? 1 : 0;
        if (r && c && rows[r][c] === rows[r - 1][c] && rows[r][c] === rows[r][c - 1]
          && rows[r][c] === rows[r - 1][c - 1]) sum += 3;
      }
    }
    return sum + 10 * Math.floor(Math.abs((20 * dark) / (size * size) - 10));
  }

  function matrix(text) {
    const bytes = new TextEncoder().encode(text);
    const { version, level } = chosenFor(bytes.length);
    const bits = words(bytes, version, level).flatMap((word) =>
      Array.from({ length: 8 }, (_, i) => Boolean((word >> (7 - i)) & 1)));
    const empty = patterns(version);
    putFormat(empty, level, 0);
    putVersion(empty, version);
    const where = [...places(empty)];
    let best = null;
    MASKS.forEach((flips, mask) => {
      const rows = empty.map((row) => [...row]);
      where.forEach(([r, c], i) => { rows[r][c] = Boolean(bits[i]) !== flips(r, c); });
      putFormat(rows, level, mask);
      const worth = penalty(rows);
      if (!best || worth < best.worth) best = { rows, worth };
    });
    return best.rows;
  }

  /* Black on white in every look, with the quiet zone of four modules. */
  function svg(text, label) {
    const rows = matrix(text);
    const size = rows.length + 8;
    const picture = drawing.element("svg", {
      class: "qr", viewBox: `0 0 ${size} ${size}`, role: "img", "aria-label": label,
      "shape-rendering": "crispEdges",
    });
    const d = rows.flatMap((row, r) => row.map((dark, c) => (dark ? `M${c + 4} ${r + 4}h1v1h-1z` : ""))).join("");
    picture.append(drawing.element("rect", { class: "ground", width: size, height: size }), drawing.element("path", { class: "modules", d }));
    return picture;
  }

  return { matrix, svg };
})();
