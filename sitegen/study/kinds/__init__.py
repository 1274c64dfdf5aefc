"""The kinds of questions, a file each."""

from __future__ import annotations

from sitegen.study.kinds import (
    airframe,
    bus,
    cause,
    function,
    lost,
    minutes,
    place,
    readings,
    still_works,
)

KINDS = (
    still_works.KIND,
    lost.KIND,
    bus.KIND,
    place.KIND,
    cause.KIND,
    readings.KIND,
    function.KIND,
    minutes.KIND,
    airframe.KIND,
)
"""Every kind that there is, in the order in which a paper takes turns.

A new kind is one more file and one more line here.
"""

QUICK_KINDS = tuple(k for k in KINDS if k not in (minutes.KIND, airframe.KIND))
"""Those that need nothing but what a site's pages have worked out already."""
