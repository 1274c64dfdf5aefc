"""A paper: so many questions of the kinds that are wanted, none twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sitegen.quiz.chance import Chance
from sitegen.quiz.difficulty import STEPS, step_of
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import KINDS
from sitegen.quiz.question import Kind, Question, Subject
from sitegen.quiz.wrong_choices import plain, with_step


class TooFew(Exception):
    """There are not so many questions; the message says how many there are."""


@dataclass(frozen=True)
class Paper:
    """Questions about one airframe."""

    facts: Facts
    seed: str
    questions: tuple[Question, ...]
    """The easy ones first."""

    @property
    def title(self) -> str:
        """What stands on it; who asks for the same number gets the same paper."""
        return f"Questions, paper {self.seed}"


def make_paper(
    facts: Facts,
    count: int,
    seed: str,
    kinds: Sequence[Kind] = KINDS,
    step: str | None = None,
    fewer_will_do: bool = False,
) -> Paper:
    """A paper.

    Parameters
    ----------
    matter : the airframe, and the conditions asked about.
    count : how many questions; at least 1.
    seed : the same seed gives the same paper.
    kinds : the kinds that take turns.
    step : one of `STEPS`; None for all.
    fewer_will_do : where there are not so many, take those that there are.

    Raises
    ------
    TooFew : there are not `count` such questions, and fewer will not do.
    """
    found: dict[str, Question] = {}
    subjects = {
        kind.id: _topics_apart(Chance(f"{seed} {kind.id}").shuffled(list(kind.subjects(facts))))
        for kind in kinds
    }
    # Every kind has its turn, with another step from kind to kind and from round to round.
    turns = [
        _questions(kind, subjects[kind.id], seed, STEPS[(i + r) % len(STEPS)])
        for r in range(len(STEPS))
        for i, kind in enumerate(kinds)
        if step in (None, STEPS[(i + r) % len(STEPS)])
    ]
    while turns and len(found) < count:
        for turn in list(turns):
            made = next((q for q in turn if plain(q.text) not in found), None)
            if made is None:
                turns.remove(turn)
                continue
            found[plain(made.text)] = made
            if len(found) == count:
                break
    if len(found) < count and not fewer_will_do:
        number = len(found)
        there = {0: "there is none", 1: "there is only 1"}.get(number, f"there are only {number}")
        raise TooFew(f"{count} such questions were asked for, and {there}.")
    return Paper(facts, seed, tuple(sorted(found.values(), key=lambda q: STEPS.index(q.step))))


def _questions(kind: Kind, subjects: Sequence[Subject], seed: str, step: str) -> Iterator[Question]:
    """Every question of a kind and a step, in the order of the subjects."""
    for subject in subjects:
        chance = Chance(f"{seed} {kind.id} {step} {subject.key}")
        ways = [near for near in (False, True) if step_of(subject.points, near) == step]
        for near in chance.shuffled(ways):
            made = subject.make(chance, near)
            if made is not None:
                yield with_step(made, step)
                break


def _topics_apart(subjects: Sequence[Subject]) -> list[Subject]:
    """The first subject of every topic, then every second one, and so on."""
    seen: Counter[str] = Counter()
    rounds = []
    for subject in subjects:
        rounds.append((seen[subject.topic], subject))
        seen[subject.topic] += 1
    return [subject for _, subject in sorted(rounds, key=lambda r: r[0])]
