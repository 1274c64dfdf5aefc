"""Bash, zsh and fish complete the ids of a catalogue, at a terminal, when TAB is pressed."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import shutil
import subprocess
import sys
import termios
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from sitegen.resources import demo_catalogue

ROOT = Path(__file__).parents[2]
LONGEST_WAIT = 60
"""Seconds, on a machine that is busy."""

SHELLS: Mapping[str, tuple[list[str], str]] = {
    "bash": (["--norc", "--noprofile", "-i"], 'eval "$(_SITEGEN_COMPLETE=bash_source sitegen)"'),
    "zsh": (
        ["-f", "-i"],
        'autoload -U compinit; compinit -D -u; eval "$(_SITEGEN_COMPLETE=zsh_source sitegen)"',
    ),
    "fish": (["--no-config", "-i"], "_SITEGEN_COMPLETE=fish_source sitegen | source"),
}
"""By shell: its options, and what the documentation has its user write in its settings."""

PROGRAM = """\
#!/bin/sh
# Completes like the program; called otherwise it only writes down how.
[ -z "$_SITEGEN_COMPLETE" ] || exec {python} -m sitegen "$@"
echo "$@" >> "{calls}"
"""


def completed(shell: str, folder: Path, *typed: str) -> list[str]:
    """How a shell calls the program for each line, with TAB pressed at the end of it."""
    program = shutil.which(shell)
    assert program, f"{shell} is not installed: `bash tests/run` installs it"
    calls = folder / "calls"
    here = folder / "bin"
    here.mkdir()
    (here / "sitegen").write_text(PROGRAM.format(python=sys.executable, calls=calls))
    (here / "sitegen").chmod(0o755)
    options, settings = SHELLS[shell]
    ours, theirs = pty.openpty()
    environment = {
        "PATH": f"{here}:{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "HOME": str(folder),
        "TERM": "xterm",
    }
    process = subprocess.Popen(
        [program, *options],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        cwd=folder,
        env=environment,
        start_new_session=True,
        preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
    )
    try:
        for number, line in enumerate([f"{settings}; sitegen ready", *typed]):
            os.write(ours, line.encode() + (b"\r" if number == 0 else b"\t\r"))
            wait_for_lines(calls, number + 1, ours)
    finally:
        process.kill()
        process.wait()
        os.close(ours)
        os.close(theirs)
    return calls.read_text().splitlines()[1:]


def wait_for_lines(path: Path, count: int, terminal: int) -> None:
    """Wait until a file has N lines, and read what the terminal shows meanwhile."""
    end = time.monotonic() + LONGEST_WAIT
    shown = b""
    while not (path.exists() and path.read_text().count("\n") >= count):
        assert time.monotonic() < end, shown.decode(errors="replace")
        if select.select([terminal], [], [], 0.05)[0]:
            shown += os.read(terminal, 10_000)


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_completes_ids(shell: str, tmp_path: Path) -> None:
    demo = str(demo_catalogue())
    lines = {
        "sitegen tra": "trace",
        "sitegen trace compe": "trace compensator",
        "sitegen drop both-gen": "drop both-generators",
        "sitegen drop --condition appr": "drop --condition approach",
        f"sitegen drop {demo} forward:sh": f"drop {demo} forward:shorted",
        "sitegen troubleshoot --lit battery-o": "troubleshoot --lit battery-off",
        "sitegen inspect --unch": "inspect --unchecked",
    }
    assert completed(shell, tmp_path, *lines) == list(lines.values())
