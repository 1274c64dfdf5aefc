"""The kinds of questions, a file each."""

from __future__ import annotations

from sitegen.quiz.kinds import (
    ask_airframe,
    ask_bus,
    ask_cause,
    ask_comes_on,
    ask_function,
    ask_lost,
    ask_minutes,
    ask_place,
    ask_readings,
    ask_still_works,
)

KINDS = (
    ask_still_works.KIND,
    ask_lost.KIND,
    ask_comes_on.KIND,
    ask_bus.KIND,
    ask_place.KIND,
    ask_cause.KIND,
    ask_readings.KIND,
    ask_function.KIND,
    ask_minutes.KIND,
    ask_airframe.KIND,
)
"""Every kind, in the order in which they take turns in a paper.

A new kind is a file here and a line in this list.
"""

QUICK_KINDS = tuple(k for k in KINDS if k not in (ask_minutes.KIND, ask_airframe.KIND))
"""The kinds that need only what the site's pages have worked out already."""
