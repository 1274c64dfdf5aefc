"""Any text at all can be read: nothing raises, nothing hangs, every finding has a place."""

from __future__ import annotations

import random
import re

from hypothesis import given
from hypothesis import strategies as st

from sitegen.catalogue.characters import REFUSED
from sitegen.catalogue.read import ReadResult
from tests.catalogue.catalogue_sample import SAMPLE, read_texts
from tests.samples import sample_size, thorough

hunt = thorough(150)

WORDS = [
    *sorted(set(re.findall(r"[A-Za-z0-9.\"-]+", SAMPLE))),
    "on", "~", "", "null", "010", "1:30", "2026-01-01", "-1", "1e999", "../../x", "é", "x" * 300,
    "'", '"', "!!python/object:os.system", "&a", "*a", "<<", "{", "}", "[", "]", ":", "- ",
    "#", "\t",
]  # fmt: skip


def sound(reading: ReadResult, texts: dict[str, str | bytes]) -> None:
    """What must hold of any reading."""
    assert (reading.catalogue is None) == bool(reading.errors)
    for finding in reading.findings:
        assert finding.message
        assert "\n" not in str(finding)
        assert not REFUSED.search(str(finding)), "a terminal would obey it"
        str(finding).encode()
        text = texts.get(finding.place.file)
        if text is not None:
            lines = text.decode(errors="replace") if isinstance(text, bytes) else text
            assert 1 <= finding.place.line <= len(re.split("\r\n|\r|\n", lines))
        assert finding.place.column >= 1


def read_soundly(text: str | bytes) -> None:
    texts: dict[str, str | bytes] = {"all.yaml": text}
    sound(read_texts(texts), texts)


@hunt
@given(st.binary(max_size=300))
def test_any_bytes_end_in_a_reading(data: bytes) -> None:
    read_soundly(data)


@hunt
@given(st.text(max_size=300))
def test_any_text_ends_in_a_reading(text: str) -> None:
    read_soundly(text.encode("utf-8", "replace"))


@hunt
@given(st.lists(st.sampled_from([*WORDS, "\n", "\n  ", "\n    ", " ", ": ", ", "]), max_size=80))
def test_any_string_of_the_catalogue_s_words_ends_in_a_reading(words: list[str]) -> None:
    read_soundly("format: 1\n" + "".join(words))


plain_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from(WORDS),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(WORDS), inner, max_size=3)
    ),
    max_leaves=8,
)


def as_yaml(value: object) -> str:
    """A value in YAML's braces, every word quoted."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{as_yaml(str(k))}: {as_yaml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_yaml, value)) + "]"
    if isinstance(value, str):
        return "'" + value.replace("'", "''") + "'"
    return {None: "~", True: "true", False: "false"}.get(value, repr(value))  # type: ignore[call-overload,no-any-return]


VALUES = [m.span(1) for m in re.finditer(r"[a-z]: ([^\s,{}\[\]][^,{}\[\]\n]*)", SAMPLE)]


@hunt
@given(st.integers(0, len(VALUES) - 1), plain_values)
def test_any_value_in_any_field_ends_in_a_reading(which: int, value: object) -> None:
    start, end = VALUES[which]
    read_soundly(SAMPLE[:start] + as_yaml(value) + SAMPLE[end:])


def test_the_sample_with_any_line_lost_or_doubled_ends_in_a_reading() -> None:
    lines = SAMPLE.split("\n")
    for i in range(len(lines)):
        read_soundly("\n".join(lines[:i] + lines[i + 1 :]))
        read_soundly("\n".join(lines[: i + 1] + lines[i:]))


def test_the_sample_with_any_spoilt_character_ends_in_a_reading() -> None:
    chance = random.Random(19)
    for _ in range(sample_size(400)):
        text = SAMPLE
        for _ in range(chance.randint(1, 3)):
            i = chance.randrange(len(text))
            text = text[:i] + chance.choice("{}[]:,-\"'#&*!|>%@ \t\n\r\0x1é~") + text[i + 1 :]
        read_soundly(text)


def test_the_sample_cut_off_anywhere_ends_in_a_reading() -> None:
    for end in range(0, len(SAMPLE), 29):
        read_soundly(SAMPLE[:end])


def test_the_sample_with_words_exchanged_ends_in_a_reading() -> None:
    chance = random.Random(23)
    spans = [m.span() for m in re.finditer(r"[a-z0-9-]+", SAMPLE)]
    for _ in range(sample_size(400)):
        (a, b), (c, d) = sorted(chance.sample(spans, 2))
        read_soundly(SAMPLE[:a] + SAMPLE[c:d] + SAMPLE[b:c] + SAMPLE[a:b] + SAMPLE[d:])
