"""What is wrong with a text that is not YAML, in an author's words."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

import yaml

from sitegen.catalogue.braces import LINK, Misread, in_braces, linked
from sitegen.catalogue.findings import Finding, Place, error
from sitegen.words import quoted


class _Wording(NamedTuple):
    parser: str
    """Part of what the parser says, or several with bars between."""
    message: str
    hint: str
    opening: bool = False


_NO_CHARACTER = "This escape names no character."

# Part of the parser's own wording, or several of them -> the message and the hint. With `opening`
# the opening mark (the context) says more to the author than the place where the parser gave up.
_WORDINGS: tuple[_Wording, ...] = (
    _Wording(
        "maximum nesting depth",
        "Values are nested too deeply.",
        "A catalogue needs a handful of levels; look for brackets that are not closed.",
    ),
    _Wording(
        "mapping values are not allowed",
        "There is a colon where no field may begin.",
        "Put a text that holds a colon in quotes, or fix the indentation.",
    ),
    _Wording(
        "expected ',' or '}'",
        "This `{` is not closed, or a comma is missing after it.",
        "Close it with `}`; between its fields write commas.",
        opening=True,
    ),
    _Wording(
        "expected ',' or ']'",
        "This `[` is not closed, or a comma is missing after it.",
        "Close it with `]`; between its entries write commas.",
        opening=True,
    ),
    _Wording(
        "while scanning a quoted scalar",
        "This quote is not closed.",
        "Close it; a quote within quotes is written twice ('') or as \\\".",
        opening=True,
    ),
    _Wording(
        "unknown escape character",
        "This backslash begins nothing that double quotes know.",
        "Write \\\\ for one backslash, or use single quotes.",
    ),
    _Wording("unicode character escape code", _NO_CHARACTER, "Write the character itself."),
    _Wording(
        "hexadecimal number|escape sequence of",
        _NO_CHARACTER,
        "Write \\\\ for one backslash, or use single quotes.",
    ),
    _Wording(
        "mapping keys are not allowed",
        "A `?` begins nothing here.",
        "Put a text that begins with `? ` in quotes.",
    ),
    _Wording(
        "expected ':'",
        "This line is no field: it has no colon.",
        "Write `field: value`, with a space after the colon.",
        opening=True,
    ),
    _Wording(
        "sequence entries are not allowed",
        "A list's `- ` cannot begin here.",
        "Begin the list on a new line, or write it in brackets: [a, b].",
    ),
    _Wording(
        "expected '-' indicator",
        "This line does not line up with the list above.",
        "Begin each entry with `- ` under the one before, indented with spaces.",
    ),
    _Wording(
        "expected <block end>|expected key",
        "This line does not line up with those above.",
        "Indent the fields of a record equally, with spaces.",
    ),
    _Wording(
        "while scanning an anchor|while scanning an alias",
        "After `&` or `*` a name must follow.",
        "Put a text that begins with `&` or `*` in quotes.",
        opening=True,
    ),
    _Wording(
        "while scanning a tag",
        "This `!` begins no tag that can be read.",
        "Put a text that begins with `!` in quotes.",
        opening=True,
    ),
    _Wording(
        "uri|expected '>'|tag handle",
        "This `!` begins no tag that can be read.",
        "Put a text that begins with `!` in quotes.",
    ),
    _Wording(
        "node content",
        "A value is missing here.",
        "Write the value, or delete the comma or bracket before it.",
    ),
    _Wording("incompatible yaml document", "This version of YAML is not read.", "Delete the line."),
    _Wording(
        "directive",
        "A line that begins with `%` is a directive, and this is none.",
        "Put the text in quotes.",
        opening=True,
    ),
    _Wording(
        "while scanning a block scalar",
        "The indentation of this longer text is not clear.",
        "Indent its lines equally, with spaces, deeper than their field.",
    ),
    _Wording(
        "<document start>",
        "This is outside the catalogue's sections.",
        "Begin each section at the left edge: `buses:`.",
    ),
)
_NO_BREAK_SPACE = re.compile(r"(?:^ *|^ *-|\b[a-z0-9-]+:|,)(\xa0)")
_NUMBER_SIGN = re.compile(r"(?<=\s)(#\S.*)")
_GLUED = re.compile(r" *(?:- +)*([a-z0-9-]+):\S")
_GLUED_DASH = re.compile(r" *-(?=[a-z{\[])")
_FIRST_FIELD = re.compile(r" *(- +)*[a-z0-9-]+ *")
_WORDINGS_NORMAL = re.compile(r"did not find expected|could not found? expected|expected", re.I)


def syntax_finding(
    failure: Exception, text: str, file: str, long_quote: tuple[int, int, int] | None = None
) -> Finding:
    """One finding for what the YAML parser could not read.

    Parameters
    ----------
    failure : what the parser raised.
    text : the text that it read.
    file : the file's name, for the place.
    long_quote : line and column where the last quoted text of several lines begins, and the line
        in which it ends, counted from 1.
    """
    mark = getattr(failure, "problem_mark", None)
    opening = getattr(failure, "context_mark", None)
    problem = str(getattr(failure, "problem", None) or failure)
    full = f"{getattr(failure, 'context', None) or ''}; {problem}"
    line, column = _line_and_column(mark, text)
    if long_quote is not None and long_quote[2] == line:
        # A quote that was left open ends at the next one, and only what follows that is no YAML.
        return error(
            Place(file, *long_quote[:2]),
            f"This quote is not closed before line {line}.",
            "Close it; a quote within quotes is written twice ('') or as \\\".",
        )
    if "cannot start any token" in problem:
        character = _character(text, line, column)
        return error(
            Place(file, line, column),
            f"A value cannot begin with {quoted(character)}.",
            "Put the value in quotes.",
        )
    normal = _WORDINGS_NORMAL.sub("expected", full).lower().replace("hexdecimal", "hexadecimal")
    for wording in _WORDINGS:
        words = next((words for words in wording.parser.split("|") if words in normal), None)
        if words is None:
            continue
        message, hint = wording.message, wording.hint
        misread = _misread(text, mark, opening, words)
        if misread:
            return error(Place(file, misread.line, misread.column), misread.message, misread.hint)
        if wording.opening and opening is not None:
            line, column = opening.line + 1, opening.column + 1
        if message == _NO_CHARACTER:
            column = text.split("\n")[line - 1].rfind("\\", 0, column) + 1
        unlike = _unlike_its_looks(text, line, column, words)
        if unlike:
            column, message, hint = unlike
        return error(Place(file, line, column), message, hint)
    return error(
        Place(file, line, column),
        f"This is not YAML that can be read ({problem.splitlines()[0][:100]}).",
        "Fix the line, or put its text in quotes.",
    )


def _misread(text: str, mark: Any, opening: Any, wording: str) -> Misread | None:
    """What the author wrote that YAML reads otherwise, where it shows from the text."""
    if mark is None:
        return None
    line, column = _line_and_column(mark, text)
    lines = text.split("\n")
    written = lines[line - 1]
    if wording.startswith("expected ',' or"):
        if _NUMBER_SIGN.search(written, column) or _NO_BREAK_SPACE.search(written):
            return None
        at = (opening.line + 1, opening.column + 1) if opening else (line, column)
        return in_braces(text, at, (line, column), wording[-2])
    glued = _GLUED_DASH.match(written)
    if glued and not wording.startswith(("while", "node")):
        message = "A space is missing after the `-` of this entry."
        return Misread(line, glued.end(), message, "Write `- `.")
    if wording == "expected ':'" and opening:
        line = opening.line + 1
        written = lines[line - 1]
    elif wording not in ("expected <block end>", "expected key", "expected '-' indicator"):
        return None
    link = LINK.search(written)
    if link and link.start() < column <= link.end() + 1:
        return linked(line, written, link)
    above = next((n for n in range(line - 1, 0, -1) if lines[n - 1].strip()), 0)
    for number in (line, above):
        bare = re.match(r" +(?=\{)", lines[number - 1]) if number else None
        if bare:
            message = "This entry of the list has no `- ` before it."
            return Misread(number, bare.end() + 1, message, "Write `- ` before the `{`.")
    return None


def _unlike_its_looks(
    text: str, line: int, column: int, wording: str
) -> tuple[int, str, str] | None:
    """The column, message and hint where a line is not read as it looks."""
    written = text.split("\n")[line - 1]
    blank = _NO_BREAK_SPACE.search(written)
    if blank and wording.startswith(("expected", "mapping values")):
        return (
            blank.start(1) + 1,
            "There is a no-break space here, which is no space to YAML.",
            "Replace it by a space; it may have come in with a text that was copied.",
        )
    comment = _NUMBER_SIGN.search(written, column)
    if comment and wording.startswith("expected ',' or"):
        return (
            comment.start(1) + 1,
            f"From here on the line is read as a comment: {quoted(comment[1])}.",
            "Put a text that holds ` #` in quotes, or write the comment in a line of its own.",
        )
    unspaced = _GLUED.match(written)
    if unspaced and wording == "expected ':'":
        return (
            unspaced.start(1) + 1,
            f"A space is missing after the colon of {quoted(unspaced[1])}.",
            "Write one between the colon and the value.",
        )
    if wording.startswith("mapping values") and _FIRST_FIELD.fullmatch(written[: column - 1]):
        return (
            column,
            "This line does not fit the one above.",
            "Indent the fields of a record equally; look also whether the line above has its "
            "colon.",
        )
    return None


def _line_and_column(mark: yaml.Mark | None, text: str) -> tuple[int, int]:
    if mark is None:
        return 1, 1
    lines = text.count("\n") + 1
    # A mark after the last line is of no use to someone who looks for it in an editor.
    if mark.line + 1 > lines:
        return lines, len(text) - text.rfind("\n")
    return mark.line + 1, mark.column + 1


def _character(text: str, line: int, column: int) -> str:
    lines = text.split("\n", line)
    return lines[line - 1][column - 1 : column] if line <= len(lines) else ""
