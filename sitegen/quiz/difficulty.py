"""How hard a question is: one of three steps, worked out and not judged.

- *Points of the matter*: one for a condition other than the catalogue's first; one for more than
  one failure at a time, or once the crew has acted; one for a failure in another than its
  component's plain mode (a short, a contactor that sticks). A kind that is not about failures
  gives its own points, and says for what.
- *Points of the choices*: none where the wrong choices were taken from far away (another bus,
  another chapter, another panel), one where they were taken from as near as there are.

No points is easy, one is fair, two or more are hard.
"""

from __future__ import annotations

STEPS = ("easy", "fair", "hard")


def step_of(points: int, near: bool) -> str:
    """How hard a question is.

    >>> step_of(0, False), step_of(0, True), step_of(2, True)
    ('easy', 'fair', 'hard')
    """
    return STEPS[min(points + near, len(STEPS) - 1)]
