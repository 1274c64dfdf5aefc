"""The modules of a QR code one by one: a decoder corrects errors, so it does not see all faults.

Tables are those of ISO/IEC 18004, from memory; public lists of format information agree.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import groupby, pairwise, product

import pytest

from tests.engine.test_qr import matrix, read

Rows = list[list[bool]]

# Format information by mask. M with mask 5 is the worked example of the standard.
FORMAT = {
    "M": "101010000010010 101000100100101 101111001111100 101101101001011 "
    "100010111111001 100000011001110 100111110010111 100101010100000",
    "L": "111011111000100 111001011110011 111110110101010 111100010011101 "
    "110011000101111 110001100011000 110110001000001 110100101110110",
}
VERSION_7 = "000111110010010100"
ALIGNMENT = {1: [], 2: [6, 18], 7: [6, 22, 38], 15: [6, 26, 48, 70], 22: [6, 26, 50, 74, 98]}
MASKS: list[Callable[[int, int], int]] = [  # 0 flips the module in row i, column j
    lambda i, j: (i + j) % 2,
    lambda i, j: i % 2,
    lambda i, j: j % 3,
    lambda i, j: (i + j) % 3,
    lambda i, j: (i // 2 + j // 3) % 2,
    lambda i, j: (i * j) % 2 + (i * j) % 3,
    lambda i, j: ((i * j) % 2 + (i * j) % 3) % 2,
    lambda i, j: ((i + j) % 2 + (i * j) % 3) % 2,
]


@cache
def codes() -> dict[str, Rows]:
    """Small codes, by text; among them every mask."""
    return {
        text: matrix(text)
        for text in [f"{name}{n}" for name in ("bus ", "cb-") for n in range(100)]
    }


def format_places(n: int) -> list[list[tuple[int, int]]]:
    """Both copies of the format information, most significant bit first."""
    row, column = (0, 1, 2, 3, 4, 5, 7, 8), (7, 5, 4, 3, 2, 1, 0)
    upper_left = [*((8, c) for c in row), *((r, 8) for r in column)]
    return [upper_left, [*((n - 1 - k, 8) for k in range(7)), *((8, n - 8 + k) for k in range(8))]]


def bits_at(rows: Rows, places: list[tuple[int, int]]) -> str:
    return "".join(str(int(rows[r][c])) for r, c in places)


def mask_of(rows: Rows, level: str = "M") -> int:
    first, second = (bits_at(rows, places) for places in format_places(len(rows)))
    assert first == second
    return FORMAT[level].split().index(first)


def is_data(r: int, c: int, n: int = 21) -> bool:
    """Whether a module of version 1 is data."""
    finder = (r < 9 and (c < 9 or c >= n - 8)) or (r >= n - 8 and c < 9)
    return not finder and r != 6 and c != 6


def masked(rows: Rows, mask: int) -> Rows:
    """Version 1 with the data flipped by a mask."""
    return [
        [dark != (is_data(r, c) and MASKS[mask](r, c) == 0) for c, dark in enumerate(row)]
        for r, row in enumerate(rows)
    ]


def with_format(rows: Rows, mask: int) -> Rows:
    """Version 1 with the format information of level M and a mask."""
    rows = [list(row) for row in rows]
    for places in format_places(len(rows)):
        for (r, c), bit in zip(places, FORMAT["M"].split()[mask], strict=True):
            rows[r][c] = bit == "1"
    return rows


def penalty(rows: Rows) -> int:
    """The four rules of the standard, points 3, 3, 40 and 10."""
    total = 0
    for line in [*rows, *map(list, zip(*rows, strict=True))]:
        lengths = [len(list(group)) for _, group in groupby(line)]
        total += sum(3 + length - 5 for length in lengths if length >= 5)
        text = "".join(str(int(dark)) for dark in line)
        total += 40 * sum(
            text.startswith(("10111010000", "00001011101"), k) for k in range(len(text))
        )
    for upper, lower in pairwise(rows):
        squares = zip(pairwise(upper), pairwise(lower), strict=True)
        total += 3 * sum(a == b and a[0] == a[1] for a, b in squares)
    dark, count = sum(map(sum, rows)), len(rows) ** 2
    return total + 10 * (abs(dark * 20 - count * 10) // count)


def codewords(rows: Rows) -> list[int]:
    """All 26 codewords of version 1, without the mask."""
    plain, bits = masked(rows, mask_of(rows)), []
    for pair, right in enumerate([20, 18, 16, 14, 12, 10, 8, 5, 3, 1]):
        for r in range(20, -1, -1) if pair % 2 == 0 else range(21):
            bits += [plain[r][c] for c in (right, right - 1) if is_data(r, c)]
    return [int("".join(str(int(b)) for b in bits[k : k + 8]), 2) for k in range(0, 208, 8)]


def test_every_mask_is_chosen_for_some_text_and_read_back() -> None:
    by_mask = {mask_of(rows): text for text, rows in codes().items()}
    assert sorted(by_mask) == list(range(8))
    assert [read(codes()[text])[0] for text in by_mask.values()] == list(by_mask.values())


def test_the_mask_with_the_lowest_penalty_is_chosen() -> None:
    for text, rows in codes().items():
        chosen = mask_of(rows)
        plain = masked(rows, chosen)
        points = [penalty(with_format(masked(plain, mask), mask)) for mask in range(8)]
        assert points[chosen] == min(points), text


def test_level_l_is_in_both_copies_of_the_format_information() -> None:
    assert mask_of(matrix("x" * 1200), "L") in range(8)


def test_data_are_padded_and_corrections_leave_no_syndrome() -> None:
    words = codewords(matrix("a"))
    assert words[:16] == [0x40, 0x16, 0x10, *[0xEC, 0x11] * 6, 0xEC]
    for root in range(10):
        value = 0
        for word in words:
            for _ in range(root):  # times 2 in the field of x^8 + x^4 + x^3 + x^2 + 1
                value = value << 1 ^ (0x11D if value & 128 else 0)
            value ^= word
        assert value == 0, root


def test_version_7_is_written_twice() -> None:
    rows = matrix("x" * 120)
    n = len(rows)
    assert n == 45
    places = [(5 - k // 3, n - 9 - k % 3) for k in range(18)]
    assert bits_at(rows, places) == VERSION_7
    assert bits_at(rows, [(c, r) for r, c in places]) == VERSION_7


@pytest.mark.parametrize(("version", "length"), [(1, 14), (2, 26), (7, 122), (15, 412), (22, 779)])
def test_the_fixed_patterns_are_in_their_places(version: int, length: int) -> None:
    rows = matrix("x" * length)  # the longest text at level M
    n = len(rows)
    assert n == 17 + 4 * version
    assert rows[n - 8][8]  # the dark module
    assert all(rows[6][k] == rows[k][6] == (k % 2 == 0) for k in range(8, n - 8))
    finders = {(3, 3), (3, n - 4), (n - 4, 3)}
    for r, c in finders:
        for y, x in product(range(-4, 5), repeat=2):
            if 0 <= r + y < n and 0 <= c + x < n:
                assert rows[r + y][c + x] == (max(abs(y), abs(x)) not in (2, 4))
    lines = ALIGNMENT[version]
    for r, c in product(lines, repeat=2):
        if (r, c) not in {(6, 6), (6, n - 7), (n - 7, 6)}:
            for y, x in product(range(-2, 3), repeat=2):
                assert rows[r + y][c + x] == (max(abs(y), abs(x)) != 1)
