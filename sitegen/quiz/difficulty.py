"""How hard a question is: one of three difficulties, computed and not judged.

- *Points of the subject*: one for a condition other than the catalogue's first; one for more than
  one failure at a time, or once the crew has acted; one for a failure mode other than the
  component's first (a short, a contactor that sticks). A kind that is not about failures has its
  own points; its module says for what.
- *Points of the choices*: none where the wrong choices are the least similar (another bus,
  another chapter, another panel), one where they are the most similar that there are.

No points is easy, one is fair, two or more are hard.
"""

from __future__ import annotations

DIFFICULTIES = ("easy", "fair", "hard")


def difficulty_of(points: int, near: bool) -> str:
    """How hard a question is.

    >>> difficulty_of(0, False), difficulty_of(0, True), difficulty_of(2, True)
    ('easy', 'fair', 'hard')
    """
    return DIFFICULTIES[min(points + near, len(DIFFICULTIES) - 1)]
