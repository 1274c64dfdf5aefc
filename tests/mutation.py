"""Mutation testing: small defects planted in the package one at a time; which do the tests notice?

A sample of all mutants that these rules make (operators, constants, conditions, arguments, removed
statements ...) is tried. The quick tests are run once with coverage to learn which of them execute
which line; a mutant then meets only those that execute its line, the tests of the same folder
first, the fastest first, until one fails. A mutant on which they run out of time or memory counts
as killed. Each runs in a copy of the checkout, so that the checkout itself is never changed.

Not mutated: docstrings, type annotations, decorators, `__repr__`, `strict` of `zip`, and the order
of what `min` and `max` compare. A line that is in `mutation_accepted.txt` beside this file, with
the reason why no test can notice, is left out.

Run by hand: `python -m tests.mutation --count 300 --seed 1 [paths]`. The exit code is 1 if a mutant
survives.
"""

from __future__ import annotations

import argparse
import ast
import functools
import gc
import multiprocessing
import os
import pickle
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import coverage
import pytest

CHECKOUT = Path(__file__).parents[1]
COPIED = (
    "sitegen",
    "tests",
    "themes",
    "data",
    "docs",
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
)
MUTATED = ["sitegen/solver", "sitegen/answers", "sitegen/diagram", "sitegen/pages"]
ACCEPTED = Path(__file__).with_name("mutation_accepted.txt")
KEEP_NOTHING = ("-o", "tmp_path_retention_policy=none")
MEMORY = 4 << 30
"""Bytes that a run of a mutant may have."""

SWAPS = {
    "==": "!=", "!=": "==", "<": "<=", "<=": "<", ">": ">=", ">=": ">",
    "in": "not in", "not in": "in", "is": "is not", "is not": "is",
    "and": "or", "or": "and", "+": "-", "-": "+", "*": "/", "/": "*", "//": "*", "%": "//",
    "**": "*", "&": "|", "|": "&", "^": "|", "<<": ">>", ">>": "<<",
}  # fmt: skip
OPERATOR = re.compile(
    rb"\bnot\s+in\b|\bis\s+not\b|\b(?:in|is|and|or)\b|[=!<>]=|<<|>>|\*\*|//|[<>+*/%&|^-]"
)
REMOVED = (ast.AugAssign, ast.Raise, ast.Break, ast.Continue, ast.Delete)
EMPTIED = {
    ast.List: "[]", ast.ListComp: "[]", ast.Dict: "{}", ast.DictComp: "{}",
    ast.Set: "set()", ast.SetComp: "set()",
}  # fmt: skip
NAME_SWAPS = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}


@dataclass(frozen=True)
class Mutant:
    path: str
    """Under the checkout, with slashes."""
    line: int
    start: int
    end: int
    """Offsets in the file's bytes."""
    new: str

    def apply(self, source: bytes) -> bytes:
        return source[: self.start] + self.new.encode() + source[self.end :]

    def parses(self, source: bytes) -> bool:
        try:
            ast.parse(self.apply(source))
        except SyntaxError:
            return False
        return True

    def diff(self, source: bytes) -> str:
        """The lines that change, before and after."""
        first = source.rfind(b"\n", 0, self.start) + 1
        last = source.find(b"\n", self.end)
        before = source[first:last].decode()
        after = self.apply(source)[first : last + len(self.new.encode()) - self.end + self.start]
        lines = [f"- {text}" for text in before.splitlines()]
        return "\n".join([*lines, *(f"+ {text}" for text in after.decode().splitlines())])


class Mutants(ast.NodeVisitor):
    """All mutants of a module."""

    def __init__(self, path: str, source: bytes) -> None:
        self.path, self.source = path, source
        self.starts = [0]
        for text in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(text))
        self.made: list[Mutant] = []
        self.visit(ast.parse(source))

    def span(self, node: Any) -> tuple[int, int]:
        return (
            self.starts[node.lineno - 1] + node.col_offset,
            self.starts[node.end_lineno - 1] + node.end_col_offset,
        )

    def text(self, node: ast.AST) -> str:
        start, end = self.span(node)
        return self.source[start:end].decode()

    def add(self, start: int, end: int, new: str) -> None:
        line = self.source.count(b"\n", 0, start) + 1
        self.made.append(Mutant(self.path, line, start, end, new))

    def replace(self, node: ast.AST, new: str) -> None:
        self.add(*self.span(node), new)

    def swap_operator(self, left: ast.AST, right: ast.AST) -> None:
        """The operator between two operands becomes another."""
        start, end = self.span(left)[1], self.span(right)[0]
        found = OPERATOR.search(self.source, start, end)
        if found:
            old = " ".join(found[0].decode().split())
            self.add(*found.span(), SWAPS[old])

    def visit(self, node: ast.AST) -> None:
        if isinstance(node, REMOVED):
            self.replace(node, "pass")
        elif isinstance(node, (ast.If, ast.While, ast.IfExp)):
            self.replace(node.test, f"(not ({self.text(node.test)}))")
        elif isinstance(node, tuple(EMPTIED)) and getattr(node, "elts", getattr(node, "keys", 1)):
            self.replace(node, EMPTIED[type(node)])
        super().visit(node)

    # What is left out

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        if node.name != "__repr__":
            for child in (*node.args.defaults, *filter(None, node.args.kw_defaults), *node.body):
                self.visit(child)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for child in node.body:
            self.visit(child)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value:
            self.visit(node.value)

    # Statements

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):  # a docstring
            self.replace(node, "pass")
            self.generic_visit(node)

    def visit_Return(self, node: ast.Return) -> None:
        if node.value and not (isinstance(node.value, ast.Constant) and node.value.value is None):
            self.replace(node.value, "None")
        self.generic_visit(node)

    # Expressions

    def visit_Compare(self, node: ast.Compare) -> None:
        for left, right in zip([node.left, *node.comparators], node.comparators, strict=False):
            self.swap_operator(left, right)
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for left, right in zip(node.values, node.values[1:], strict=False):
            self.swap_operator(left, right)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        self.swap_operator(node.left, node.right)
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        self.replace(node, f"({self.text(node.operand)})")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        match node.value:
            case bool():
                self.replace(node, str(not node.value))
            case int() | float():
                self.replace(node, repr(node.value + 1))
            case str():
                self.replace(node, repr("" if node.value else "mutant"))

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        # Up to Python 3.11 what is inside an f-string has no place of its own.
        self.replace(node, '""')

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self.replace(test, f"(not ({self.text(test)}))")
        self.generic_visit(node)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "strict":
            self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        if name in ("cast", "TypeVar", "NewType"):
            return
        if name in NAME_SWAPS and not (name == "sorted" and node.keywords):
            self.replace(node.func, NAME_SWAPS[name])
        starred = any(isinstance(a, ast.Starred) for a in node.args[:2])
        if len(node.args) > 1 and not starred and name not in ("min", "max"):
            first, second = node.args[:2]
            (start, first_end), (second_start, end) = self.span(first), self.span(second)
            between = self.source[first_end:second_start].decode()
            if self.text(first) != self.text(second):
                self.add(start, end, self.text(second) + between + self.text(first))
        self.generic_visit(node)


def sample(checkout: Path, paths: list[str], count: int, seed: int) -> list[Mutant]:
    """A random sample, at most one mutant for a line of code."""
    accepted = accepted_lines()
    sources: dict[str, bytes] = {}
    for path in paths:
        top = checkout / path
        for file in sorted(top.rglob("*.py")) if top.is_dir() else [top]:
            sources[file.relative_to(checkout).as_posix()] = file.read_bytes()
    every = [m for path, source in sources.items() for m in Mutants(path, source).made]
    random.Random(seed).shuffle(every)
    chosen: dict[tuple[str, int], Mutant] = {}
    for mutant in every:
        source = sources[mutant.path]
        line = source.splitlines()[mutant.line - 1].decode().strip()
        at = (mutant.path, mutant.line)
        if at not in chosen and (mutant.path, line) not in accepted and mutant.parses(source):
            chosen[at] = mutant
            if len(chosen) == count:
                break
    print(f"{len(chosen)} of {len(every)} mutants; {len(accepted)} accepted lines", flush=True)
    return sorted(chosen.values(), key=lambda m: (m.path, m.line))


def accepted_lines() -> set[tuple[str, str]]:
    """File and text of the lines on which no test can notice a mutant."""
    rows = ACCEPTED.read_text(encoding="utf-8").splitlines()
    fields = [row.split("\t") for row in rows if row and not row.startswith("#")]
    return {(path, text.strip()) for path, text, _why in fields}


@dataclass
class Recorded:
    """What a run of the quick tests showed."""

    seconds: dict[str, float] = field(default_factory=dict)
    """By test."""
    shares_fixture: set[str] = field(default_factory=set)
    """Tests with a fixture that several tests of a file share."""
    tests: dict[str, dict[int, set[str]]] = field(default_factory=dict)
    """By file and line: the tests that execute it. What runs on import is in no test."""
    failed: set[str] = field(default_factory=set)
    """Without any mutant: a limit of time under coverage, say. They are not run again."""

    def choose(self, mutant: Mutant) -> list[str]:
        """The tests that a mutant meets, in this order."""
        lines = self.tests.get(mutant.path, {})
        chosen = (lines.get(mutant.line) or set().union(*lines.values())) - self.failed
        files = {test.partition("::")[0] for test in chosen}
        # A helper that keeps its answer runs in the first test that asks for it, for all of them.
        neighbours = {t for t in self.seconds if t.partition("::")[0] in files}
        neighbours -= chosen | self.failed
        mirror = mutant.path.replace("sitegen/", "tests/", 1).rpartition("/")[0]

        def rank(test: str) -> tuple[bool, bool, str, float]:
            shares = test in self.shares_fixture
            file = test.partition("::")[0]
            return not test.startswith(mirror), shares, file if shares else "", self.seconds[test]

        return [*sorted(chosen, key=rank), *sorted(neighbours, key=rank)]


class Recorder:
    """Notes for each test how long it takes and which lines it executes."""

    def __init__(self) -> None:
        self.recorded = Recorded()
        self.coverage = coverage.Coverage(
            data_file=None, include=[f"{Path.cwd()}/sitegen/*"], config_file=False
        )
        self.coverage.start()
        self.users: dict[str, set[str]] = {}
        self.file = ""

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        for item in items:
            definitions = getattr(item, "_fixtureinfo", None)
            for name, found in definitions.name2fixturedefs.items() if definitions else ():
                if found[-1].scope != "function":
                    context = f"{found[-1].baseid}:{name}"
                    self.users.setdefault(context, set()).add(item.nodeid)
                    self.recorded.shares_fixture.add(item.nodeid)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        file = item.nodeid.partition("::")[0]
        if file != self.file:
            self.file = file
            for each in gc.get_objects():
                if isinstance(each, functools._lru_cache_wrapper):
                    each.cache_clear()
        self.coverage.switch_context(item.nodeid)
        self.test = item.nodeid
        started = time.perf_counter()
        result = yield
        self.recorded.seconds[item.nodeid] = time.perf_counter() - started
        self.coverage.switch_context("")
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        shared = fixturedef.scope != "function"
        if shared:
            self.coverage.switch_context(f"{fixturedef.baseid}:{fixturedef.argname}")
        result = yield
        if shared:
            self.coverage.switch_context(self.test)
        return result

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.recorded.failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        self.coverage.stop()
        data = self.coverage.get_data()
        for file in data.measured_files():
            by_line = {
                line: set().union(*(self.users.get(c, {c}) for c in contexts if c))
                for line, contexts in data.contexts_by_lineno(file).items()
            }
            self.recorded.tests[Path(file).relative_to(Path.cwd()).as_posix()] = by_line
        Path("recorded.pickle").write_bytes(pickle.dumps(self.recorded))


class InOrder:
    """Runs tests in the order of a list."""

    def __init__(self, tests: list[str]) -> None:
        self.place = {test: number for number, test in enumerate(tests)}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items.sort(key=lambda item: self.place.get(item.nodeid, len(self.place)))


def run_pytest(folder: Path, tests: list[str], limit: float, record: bool = False) -> str:
    """Runs quick tests in a copy of the checkout: 'passed', 'failed' or 'timeout'."""
    child = os.fork()
    if not child:
        code = 99
        try:
            os.setsid()
            os.chdir(folder)
            sys.path.insert(0, str(folder))
            os.environ["PYTHONPATH"] = str(folder)
            os.environ["TMPDIR"] = tempfile.tempdir = str(folder / "temporary")
            sys.dont_write_bytecode = not record
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            with open("output.txt", "w") as output:
                os.dup2(output.fileno(), 1)
                os.dup2(output.fileno(), 2)
            for name in [n for n in sys.modules if n.partition(".")[0] in ("tests", "sitegen")]:
                del sys.modules[name]
            arguments = [
                "--quick",
                "--tb=line",
                "--no-header",
                *KEEP_NOTHING,
                *([] if record else ["-x"]),
                *tests,
            ]
            code = int(pytest.main(arguments, plugins=[Recorder() if record else InOrder(tests)]))
        finally:
            os._exit(code)
    ends = time.monotonic() + limit
    while time.monotonic() < ends:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return "failed" if os.waitstatus_to_exitcode(status) else "passed"
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "timeout"


recorded: Recorded
copy: Path


def begin(folder: Path, record: Recorded) -> None:
    """Gives a worker its own copy."""
    global recorded, copy
    recorded, copy = record, folder / f"copy-{os.getpid()}"
    shutil.copytree(folder / "checkout", copy, ignore=shutil.ignore_patterns("temporary"))
    (copy / "temporary").mkdir()


def attempt(mutant: Mutant) -> tuple[Mutant, str, int]:
    """The mutant, what became of it, and how many tests it met."""
    file = copy / mutant.path
    source, times = file.read_bytes(), file.stat()
    tests = recorded.choose(mutant)
    if not tests:
        return mutant, "not executed", 0
    limit = 30 + 8 * sum(recorded.seconds[t] for t in tests)
    file.write_bytes(mutant.apply(source))
    try:
        return mutant, run_pytest(copy, tests, limit), len(tests)
    finally:
        file.write_bytes(source)
        os.utime(file, ns=(times.st_atime_ns, times.st_mtime_ns))


def main() -> None:
    parser = argparse.ArgumentParser(description="Plants defects and runs the tests on each.")
    parser.add_argument("--count", type=int, default=300, help="mutants to try (300)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, another sample (1)")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="at the same time")
    parser.add_argument("--tests", nargs="*", default=[], help="files and folders (all quick ones)")
    parser.add_argument("paths", nargs="*", default=MUTATED, help=" ".join(MUTATED))
    arguments = parser.parse_args()
    started = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="mutation-") as name:
        folder = Path(name)
        checkout = folder / "checkout"
        (checkout / "temporary").mkdir(parents=True)
        for part in COPIED:
            whole = CHECKOUT / part
            (shutil.copytree if whole.is_dir() else shutil.copy2)(whole, checkout / part)
        mutants = sample(checkout, arguments.paths, arguments.count, arguments.seed)
        run_pytest(checkout, arguments.tests, 3600, record=True)
        pickled = checkout / "recorded.pickle"
        if not pickled.exists():
            sys.exit(f"the tests do not run:\n{(checkout / 'output.txt').read_text()}")
        record: Recorded = pickle.loads(pickled.read_bytes())
        print(f"{len(record.seconds)} tests recorded in {time.monotonic() - started:.0f} s", end="")
        print("".join(f"\n{test} fails without any mutant" for test in record.failed), flush=True)
        ends: Counter[str] = Counter()
        pool = multiprocessing.get_context("fork").Pool(
            arguments.jobs, initializer=begin, initargs=(folder, record)
        )
        with pool:
            for mutant, end, count in pool.imap_unordered(attempt, mutants):
                ends[end] += 1
                if end in ("passed", "not executed"):
                    why = f"survives {count} tests" if count else "no quick test executes it"
                    print(f"\n{mutant.path}:{mutant.line} {why}")
                    print(mutant.diff((checkout / mutant.path).read_bytes()), flush=True)
    killed, tried = ends["failed"] + ends["timeout"], sum(ends.values())
    print(f"\n{killed} of {tried} killed ({killed / max(tried, 1):.1%}): ", end="")
    print(f"{ends['failed']} by a failing test, {ends['timeout']} by the time limit; ", end="")
    print(
        f"{ends['passed']} survive, {ends['not executed']} are executed by no quick test; ", end=""
    )
    print(f"{(time.monotonic() - started) / 60:.1f} min")
    sys.exit(killed < tried)


if __name__ == "__main__":
    main()
