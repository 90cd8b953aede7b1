"""Turn what the YAML reader could not read into the line at fault and plain words about it.

The reader stops where it can no longer go on, which is often a line or more behind the mistake; so the lines before are
looked at for what people forget: a colon, the space after it, the end of a quote or a bracket, the same indent.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

from msgspec import Struct

from turnout_templates.errors import Problem

_UNSPACED = re.compile(r"([^\W\d][\w .'+-]*):(?=[^\s:])")
_UNCOLONED = re.compile(r"([^\W\d]\w*)(?:\s+(?=\S)|$)")
_DASHED = re.compile(r"-(?=[^\W\d])")
_OPEN = re.compile(r"""(?:[\w .'+-]+:\s+)?(["'])""")
_TWO_COLONS = re.compile(r"([\w .'+-]+):\s+([\w .'+-]+):(?:\s|$)")
_BLOCK = re.compile(r":\s+[|>][0-9+-]*\s*(?:#.*)?$")
_COLON = re.compile(r":(?:\s|$)")


@cache
def _keys() -> frozenset[str]:
    """Return every key that a spec can have anywhere."""
    from turnout_templates.spec.schema import spec_schema

    def inside(node: Any) -> Iterator[str]:
        children = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
        if isinstance(node, dict) and isinstance(node.get("properties"), dict):
            yield from node["properties"]
        for child in children:
            yield from inside(child)

    return frozenset(inside(spec_schema()))


class _Fault(Struct, frozen=True):
    """Where it is (`line` and `column` from 0) and what it is."""

    line: int
    column: int
    sentence: str
    remedy: str


def explain(error: Exception, text: str, file: str) -> Problem:
    """Return the problem that the reader's `error` on `text` comes from."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = " ".join(str(getattr(error, "problem", None) or getattr(error, "reason", None) or "").split())
    if mark is None:
        return Problem("This file cannot be read as YAML.", _remedy(said), (), file)
    lines = text.splitlines()
    context = getattr(error, "context_mark", None) or mark
    fault = (
        _named(said, str(getattr(error, "context", "") or ""), mark, context, lines)
        or _before(said, mark.line, lines)
        or _Fault(mark.line, mark.column, "This line cannot be read.", _remedy(said))
    )
    return Problem(fault.sentence, fault.remedy, (), file, fault.line + 1, fault.column + 1)


def _remedy(said: str) -> str:
    if "special characters are not allowed" in said or "unacceptable character" in said:
        return "Remove the control character."
    return "Check its punctuation and indentation, and those of the lines before it."


def _named(said: str, context: str, mark: Any, opened: Any, lines: list[str]) -> _Fault | None:
    """Return the fault where the reader itself knows what it is."""
    written = lines[mark.line] if mark.line < len(lines) else ""
    if "\t" in written[: len(written) - len(written.lstrip())] or "'\\t'" in said:
        return _Fault(
            mark.line, mark.column, "A tab stands here.", "Write spaces in its place; YAML allows no tabs there."
        )
    if "escape" in said:
        remedy = "Use forward slashes, or single quotes around the text."
        return _Fault(mark.line, mark.column, "In double quotes a backslash has a meaning of its own.", remedy)
    if "found '<scalar>'" in said and written[: mark.column].rstrip().endswith(("'", '"')):
        sentence = "This follows a closing quote."
        return _Fault(mark.line, mark.column, sentence, "Put the whole text in quotes, or none of it.")
    if "found '-'" in said and written[mark.column :].startswith("- "):
        sentence = "A dash begins this line, and none begins those that it belongs with."
        return _Fault(mark.line, mark.column, sentence, "Leave the dash out, or begin the line where its list begins.")
    if "quoted scalar" in context:
        sentence = "The quote that opens here is never closed."
        return _Fault(opened.line, opened.column, sentence, "Close it on the same line, or leave it out.")
    if context.startswith("while parsing a flow"):
        if mark.line == opened.line:
            return _Fault(
                mark.line, mark.column, "Something is missing before this.", "Put a comma between two entries."
            )
        return _Fault(opened.line, opened.column, "The bracket that opens here is never closed.", "Close it.")
    return None


def _before(said: str, last: int, lines: list[str]) -> _Fault | None:
    """Return the mistake of the line `last` or of the nearest before it that has one."""
    if last < len(lines) and "mapping values" in said and (two := _two_colons(last, lines[last])) is not None:
        return two
    prose = _prose(lines)
    for number in range(min(last, len(lines) - 1), -1, -1):
        if number in prose:
            continue
        indent = len(lines[number]) - len(lines[number].lstrip())
        bare = lines[number][indent:]
        while bare.startswith("- "):
            indent += len(bare) - len(bare[2:].lstrip())
            bare = bare[2:].lstrip()
        fault = _of_line(number, indent, bare.split(" #")[0].rstrip())
        if fault is not None:
            return fault
    return _indent(min(last, len(lines) - 1), lines)


def _prose(lines: list[str]) -> set[int]:
    """Return the numbers of the lines of texts that run over several lines, as notes may, where anything can stand."""
    found: set[int] = set()
    depth: int | None = None
    for number, line in enumerate(lines):
        if depth is not None and (not line.strip() or _depth(line) > depth):
            found.add(number)
        else:
            depth = _depth(line) if _BLOCK.search(line) else None
    return found


def _two_colons(number: int, line: str) -> _Fault | None:
    found = _TWO_COLONS.search(line)
    if found is None or found[2].lstrip()[:1] in ("{", "["):
        return None
    key, inner = found[1].strip(" -"), found[2].strip()
    rest = line[found.end() :].strip()
    sentence = "Two colons stand in this line, and only one key can."
    remedy = "Put a text that contains a colon in quotes."
    if key in _keys() and inner in _keys():
        remedy = f'Write "{key}: {{{inner}: {rest}}}".'
    return _Fault(number, found.end(2), sentence, remedy)


def _of_line(number: int, indent: int, line: str) -> _Fault | None:
    """Return the mistake of one `line`, which stands without its `indent`, dashes and comment."""
    if not line or line[0] in "#{[\"'" or (line[-1] in ",]}" and not _UNCOLONED.match(line)):
        return None
    if _DASHED.match(line):
        return _Fault(number, indent, "This dash is joined to its text.", f'Write a dash and a space: "- {line[1:]}".')
    opened = _OPEN.match(line)
    if opened is not None and line.count(opened[1]) == 1:
        sentence = "The quote that opens here is never closed."
        return _Fault(number, indent + opened.start(1), sentence, "Close it on the same line, or leave it out.")
    unspaced = _UNSPACED.match(line)
    if unspaced is not None and not _COLON.search(line[: unspaced.end() - 1]):
        shown = f"{unspaced[0]} {line[unspaced.end() :]}"
        return _Fault(number, indent, "There is no space after the colon.", f'Write "{shown}".')
    word = _UNCOLONED.match(line)
    rest = "" if word is None else line[word.end() :]
    if word is not None and (not _COLON.search(line) or (word[1] in _keys() and rest[:1] in ("{", "["))):
        if line[-1] in ",]}" and rest[:1] not in ("{", "["):
            return None
        key = word[1] if word[1] in _keys() or not rest else ""
        remedy = f'Write "{f"{key}: {rest}".rstrip()}".' if key else "A line is written as KEY: VALUE."
        return _Fault(
            number, indent, "There is no colon in this line." if not key else f'No colon follows "{key}".', remedy
        )
    return None


def _indent(number: int, lines: list[str]) -> _Fault | None:
    """Return the fault of a line that is indented like none that it could belong with."""
    own, levels = _depth(lines[number]), list[int]()
    for line in reversed(lines[:number]):
        if line.strip() and not line.lstrip().startswith("#") and _depth(line) < min(levels, default=1000):
            levels.append(_depth(line))
    if not levels or own in levels:
        return None
    near = [max((level for level in levels if level < own), default=None)]
    near += [min((level for level in levels if level > own), default=None)]
    shown = " or ".join(_spaces(level) for level in near if level is not None)
    sentence = f"This line begins after {_spaces(own)}, and those above that it could belong with after {shown}."
    return _Fault(number, own, sentence, "Begin lines that belong together at the same place.")


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip())


def _spaces(count: int) -> str:
    return f"{count or 'no'} space{'' if count == 1 else 's'}"
