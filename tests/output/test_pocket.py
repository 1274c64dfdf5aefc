"""The pocket edition's packing, and how its file is written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from sitegen.output.pocket import BEGINNING, packed, write_pocket
from sitegen.output.publish import PublishRefused
from sitegen.output.site import build_pocket
from tests.pages.pages_sample import reading, sample
from tests.test_commands import run

FRAGMENTS = st.sampled_from(["<p>", "<b>one", "</b>", "<a href=x>", "two ", "<", "ß→"])
TEXTS = st.lists(st.lists(FRAGMENTS, max_size=40).map("".join), max_size=6)


def unpacked(fragments: list[str], order: bytes, counts: list[int]) -> list[str]:
    """What `packed` describes, written out by itself: `pocket.js` does the same."""
    place = 0

    def number() -> int:
        nonlocal place
        value = shift = 0
        while True:
            byte = order[place]
            place += 1
            value |= (byte & 127) << shift
            shift += 7
            if byte < 128:
                return value

    def numbers(size: int) -> Iterator[int]:
        end = place + size
        while place < end:
            yield number()

    of_lengths, of_distances = number(), number()
    lengths, distances = iter([*numbers(of_lengths)]), iter([*numbers(of_distances)])
    third = order[place:]
    each = len(third) // 3
    singles = (sum(third[k + n * each] << 8 * n for n in range(3)) for k in range(each))
    row: list[str] = []
    seen = 0
    while len(row) < sum(counts):
        for _ in range(next(lengths)):
            back = next(singles)
            row.append(fragments[seen - back])
            seen += back == 0
        length = next(lengths)
        ago = next(distances) if length else 0
        for _ in range(length):
            row.append(row[-ago])
    assert not [*distances, *singles]
    texts = []
    for count in counts:
        texts.append("".join(row[:count]))
        row = row[count:]
    assert row == []
    return texts


@given(TEXTS)
def test_what_is_packed_comes_out_as_it_was(texts: list[str]) -> None:
    fragments, order, counts = packed(texts)
    assert unpacked(fragments, order, counts) == texts
    assert len(set(fragments)) == len(fragments)


def test_a_repeated_page_takes_next_to_nothing() -> None:
    page = "".join(f"<p>line {k}" for k in range(1000))
    once, twice = packed([page])[1], packed([page, page])[1]
    assert len(twice) - len(once) < 8


def test_the_same_sample_gives_the_same_pocket_edition() -> None:
    one = build_pocket(reading(sample()), "early")[0]
    assert one == build_pocket(reading(sample()), "early")[0]
    assert one.startswith(BEGINNING)
    assert one != build_pocket(reading(sample()), "late")[0]


def test_only_a_pocket_edition_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "new" / "tarn.html"
    write_pocket(target, f"{BEGINNING}one")
    write_pocket(target, f"{BEGINNING}two")
    assert target.read_text(encoding="utf-8") == f"{BEGINNING}two"
    target.write_text("<!doctype html>\n<p>My notes", encoding="utf-8")
    with pytest.raises(PublishRefused, match="is not a pocket edition"):
        write_pocket(target, BEGINNING)
    with pytest.raises(PublishRefused, match="is a folder"):
        write_pocket(tmp_path, BEGINNING)
    assert os.listdir(target.parent) == ["tarn.html"]
    assert target.read_text(encoding="utf-8").endswith("My notes")


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "tarn.html"
    write_pocket(target, f"{BEGINNING}old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(OSError, match="No space"):
        write_pocket(target, f"{BEGINNING}new")
    assert os.listdir(tmp_path) == ["tarn.html"]
    assert target.read_text(encoding="utf-8") == f"{BEGINNING}old"


@pytest.mark.parametrize(
    ("arguments", "exit_code", "message"),
    [
        (["--pocket", "x.html", "--to", "site"], 2, "publish twice"),
        (["--airframe", "late"], 2, "add --pocket"),
        (["--pocket", "x.html", "--airframe", "laate"], 2, "late"),
        (["--pocket", "/dev/null/x.html"], 3, "could not be written"),
    ],
    ids=["both", "airframe alone", "unknown airframe", "no such place"],
)
def test_a_wrong_call_gets_one_sentence(
    arguments: list[str],
    exit_code: int,
    message: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("plover.yaml").write_text(yaml.safe_dump(sample()), encoding="utf-8")
    result = run("publish", "plover.yaml", *arguments)
    assert result.exit_code == exit_code, result.output
    assert message in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert os.listdir(tmp_path) == ["plover.yaml"]
