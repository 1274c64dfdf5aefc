"""How wide texts are drawn, and how they are cut into lines."""

from __future__ import annotations

import pytest

from sitegen.diagram.parts import text_width, wrapped

# Adobe's metrics of Helvetica, 1000 units per em, from memory.
HELVETICA = {
    **dict.fromkeys("abdeghnopqu0123456789L", 556),
    **dict.fromkeys("cksvxyz", 500),
    **dict.fromkeys("ijl", 222),
    **dict.fromkeys("ft.,:;/I ", 278),
    **dict.fromkeys("r-()", 333),
    **dict.fromkeys("FTZ", 611),
    **dict.fromkeys("ABEKPSVXY", 667),
    **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("GOQ", 778),
    **dict.fromkeys("mM", 833),
    "W": 944,
}


@pytest.mark.parametrize("letter", [c for c in HELVETICA if c not in "-()"])
def test_a_letter_is_taken_to_be_a_little_wider_than_helvetica_draws_it(letter: str) -> None:
    assert 1.035 <= text_width(letter, 1000) / HELVETICA[letter] <= 1.13


def test_lines_of_a_name_are_as_even_as_can_be() -> None:
    room = text_width("Left main bus", 12) + 1
    assert wrapped("Left main bus no 1", room, 12) == ("Left main", "bus no 1")
    assert wrapped("Left main bus", room, 12) == ("Left main bus",)


def test_a_name_that_is_too_long_is_cut_as_late_as_its_last_line_allows() -> None:
    line = "PUMP MW"
    room = text_width(line, 12)
    first, last = wrapped(" ".join([line] * 3), room, 12, most=2)
    assert first == line
    shown = len(last) - len("…")
    assert last == line[:shown] + "…"
    assert text_width(last, 12) <= room < text_width(line[: shown + 1] + "…", 12)


def test_a_word_may_end_its_line_at_a_hyphen_where_it_would_not_fit_otherwise() -> None:
    assert wrapped("Electro-hydraulic", text_width("hydraulic ", 12), 12) == (
        "Electro-",
        "hydraulic",
    )
    assert wrapped("Auto-pilot", 200, 12) == ("Auto-pilot",)
