"""A paper: a number of questions of the requested kinds, none twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from sitegen.quiz.difficulty import DIFFICULTIES, difficulty_of
from sitegen.quiz.facts import Facts
from sitegen.quiz.kinds import KINDS
from sitegen.quiz.question import Kind, Question, Subject
from sitegen.quiz.seeded_random import SeededRandom
from sitegen.quiz.wrong_choices import normalised
from sitegen.terminal.shared_text import condition_text
from sitegen.words import in_words


class TooFew(Exception):
    """There are fewer questions than requested; the message says how many there are."""


@dataclass(frozen=True)
class Paper:
    """Questions about one airframe."""

    facts: Facts
    seed: str
    questions: tuple[Question, ...]
    """The easy ones first."""

    @property
    def conditions(self) -> list[tuple[str, str, str]]:
        """The conditions that are asked about: name, what is on line and how it is set, note."""
        asked = {q.asks.get("condition") for q in self.questions}
        network = self.facts.network
        return [
            (c.name, condition_text(network, c), in_words(c.note))
            for c in network.catalogue.conditions
            if c.id in asked
        ]

    @property
    def title(self) -> str:
        """Its heading; the same seed gives the same paper."""
        return f"Questions, paper {self.seed}"


def make_paper(
    facts: Facts,
    count: int,
    seed: str,
    kinds: Sequence[Kind] = KINDS,
    difficulty: str | None = None,
    allow_fewer: bool = False,
) -> Paper:
    """A paper.

    Parameters
    ----------
    facts : the airframe, and the conditions asked about.
    count : how many questions; at least 1.
    seed : the same seed gives the same paper.
    kinds : the kinds that take turns.
    difficulty : one of `DIFFICULTIES`; None for all.
    allow_fewer : if there are fewer than `count`, take those.

    Raises
    ------
    TooFew : there are not `count` such questions, and fewer are not allowed.
    """
    questions: dict[str, Question] = {}
    subjects = {
        kind.id: _interleave_topics(
            SeededRandom(f"{seed} {kind.id}").shuffled(list(kind.subjects(facts)))
        )
        for kind in kinds
    }
    # The kinds take turns; the difficulty changes from kind to kind and from round to round.
    turns = [
        _questions(facts, kind, subjects[kind.id], seed, DIFFICULTIES[(i + r) % len(DIFFICULTIES)])
        for r in range(len(DIFFICULTIES))
        for i, kind in enumerate(kinds)
        if difficulty in (None, DIFFICULTIES[(i + r) % len(DIFFICULTIES)])
    ]
    while turns and len(questions) < count:
        for turn in list(turns):
            made = next((q for q in turn if normalised(q.text) not in questions), None)
            if made is None:
                turns.remove(turn)
                continue
            questions[normalised(made.text)] = made
            if len(questions) == count:
                break
    if len(questions) < count and not allow_fewer:
        number = len(questions)
        there = {0: "there is none", 1: "there is only 1"}.get(number, f"there are only {number}")
        raise TooFew(f"{count} such questions were asked for, and {there}.")
    return Paper(
        facts,
        seed,
        tuple(sorted(questions.values(), key=lambda q: DIFFICULTIES.index(q.difficulty))),
    )


def _questions(
    facts: Facts, kind: Kind, subjects: Sequence[Subject], seed: str, difficulty: str
) -> Iterator[Question]:
    """Every question of a kind and a difficulty, in the order of the subjects."""
    for subject in subjects:
        rng = SeededRandom(f"{seed} {kind.id} {difficulty} {subject.key}")
        options = [
            near for near in (False, True) if difficulty_of(subject.points, near) == difficulty
        ]
        for near in rng.shuffled(options):
            made = subject.make(rng, near)
            if made is not None:
                reason = made.reason + _hazards(facts, made)
                yield replace(made, kind=kind.id, difficulty=difficulty, reason=reason)
                break


def _hazards(facts: Facts, made: Question) -> str:
    """What can hurt someone at what is asked about, and at the right answer."""
    hazards, names = facts.network.hazards, facts.network.names
    failed = [f["id"] for f in made.asks.get("failed", ())]
    named = [*failed, *made.asks.values(), *made.answer.means.values()]
    ids = dict.fromkeys(i for i in named if isinstance(i, str) and i in hazards)
    return "".join(f" Hazard, {names[i]}: {hazards[i]}." for i in ids)


def _interleave_topics(subjects: Sequence[Subject]) -> list[Subject]:
    """The first subject of every topic, then every second one, and so on."""
    seen: Counter[str] = Counter()
    rounds = []
    for subject in subjects:
        rounds.append((seen[subject.topic], subject))
        seen[subject.topic] += 1
    return [subject for _, subject in sorted(rounds, key=lambda r: r[0])]
