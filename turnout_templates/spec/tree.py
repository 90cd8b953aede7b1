"""Turn the text of a spec into a tree of tables, listings and scalars that each know their place.

The tree is built from the reader's events, before anything is resolved: a scalar keeps the text that was written, so
that `1:9`, `no` or `1.10` mean nothing but themselves until a key says what it takes. What a spec has no use for
(anchors, aliases, merge keys, tags, directives, several documents) is refused; so is a key that comes twice.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from msgspec import Struct, field

from turnout_templates.errors import InputProblems, KeyPath, Problem
from turnout_templates.spec.unreadable import explain

LARGEST_TEXT = 256 * 1024
"""Characters: many times the longest yard, and still read in seconds."""
DEEPEST = 20
"""Levels of nesting; a spec needs eight."""
_NOTHING = frozenset({"", "~", "null", "Null", "NULL"})


class Place(Struct, frozen=True):
    """A spot in a file; `line` and `column` count from 1."""

    file: str
    line: int
    column: int


class Scalar(Struct, frozen=True):
    """A value written as `text`; `plain` where it stands without quotes."""

    text: str
    plain: bool
    place: Place
    path: KeyPath = ()

    @property
    def is_nothing(self) -> bool:
        """Whether nothing was written, or YAML's word for nothing."""
        return self.plain and self.text in _NOTHING


class Listing(Struct, frozen=True):
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place
    path: KeyPath = ()


class Table(Struct, frozen=True):
    """A mapping: each key's node in `entries`, and where the key itself stands in `keys`."""

    entries: dict[str, Node]
    keys: dict[str, Place]
    place: Place
    path: KeyPath = ()

    def scalar(self, key: str) -> Scalar | None:
        """Return the scalar under `key`, None where there is none or something else."""
        node = self.entries.get(key)
        return node if isinstance(node, Scalar) else None

    def table(self, key: str) -> Table | None:
        """Return the table under `key`, None where there is none or something else."""
        node = self.entries.get(key)
        return node if isinstance(node, Table) else None


Node = Scalar | Listing | Table


def problem_at(place: Place, path: KeyPath, sentence: str, remedy: str = "") -> Problem:
    """Return a problem at `place`, under the key path `path`."""
    return Problem(sentence, remedy, path, place.file, place.line, place.column)


def locate(tree: Table, path: KeyPath) -> tuple[Place, Node]:
    """Return the place and the node of the value under `path`, or of its nearest ancestor that is written.

    A key that a piece does not have is looked for inside its `curve` or `easement`, and `frog` under its other names.
    """
    node: Node = tree
    place = tree.place
    for key in path:
        node, step = _child(node, key)
        if step is None:
            break
        place = step
    return place, node


def _child(node: Node, key: str | int) -> tuple[Node, Place | None]:
    if isinstance(node, Table) and isinstance(key, str):
        if key not in node.entries:
            inner = next((node.entries[name] for name in ("curve", "easement") if name in node.entries), None)
            node = inner if isinstance(inner, Table) else node
        if key == "frog" and key not in node.entries:
            key = next((name for name in ("frog_angle", "frog_ratio") if name in node.entries), key)
        found = node.entries.get(key)
        if found is not None:
            block = not (isinstance(found, Table | Listing) and found.place.line != node.keys[key].line)
            return found, found.place if block else node.keys[key]
    if isinstance(node, Listing) and isinstance(key, int) and 0 <= key < len(node.items):
        return node.items[key], node.items[key].place
    return node, None


def read_tree(text: str, file: str) -> tuple[Table, list[Problem]]:
    """Return the tree of a spec's `text` and the keys in it that come twice.

    Raises InputProblems where the text is not YAML, or is YAML that a spec may not use.
    """
    if len(text) > LARGEST_TEXT:
        raise InputProblems([Problem("This file is too large for a spec.", "A spec stays below 256 KB.", (), file)])
    if "\0" in text:
        raise InputProblems([Problem("This is not a text file.", "A spec is a text file in UTF-8.", (), file)])
    builder = _Builder(_events(text, file), file)
    root = builder.document()
    if not isinstance(root, Table):
        sentence = "This spec is empty." if isinstance(root, Scalar) and root.is_nothing else "This is not a spec."
        raise InputProblems(
            [problem_at(root.place, (), sentence, 'A spec is a list of keys, beginning with "spec: 1".')]
        )
    return root, builder.problems


def _events(text: str, file: str) -> Iterator[Any]:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    try:
        yield from YAML(typ="safe", pure=True).parse(text)
    except YAMLError as error:
        raise InputProblems([explain(error, text, file)]) from None
    except Exception as error:  # should the YAML reader itself slip on malformed text; fuzzing has not shown it to
        sentence = f"This file cannot be read as YAML ({type(error).__name__})."
        raise InputProblems([Problem(sentence, "Check its punctuation and indentation.", (), file)]) from None


class _Builder(Struct):
    events: Iterator[Any]
    file: str
    problems: list[Problem] = field(default_factory=list)

    def document(self) -> Node:
        root: Node = Scalar("", True, Place(self.file, 1, 1))
        documents = 0
        for event in self.events:
            kind = type(event).__name__
            if kind == "DocumentStartEvent":
                documents += 1
                self._check_document(event, documents)
            elif kind in ("ScalarEvent", "AliasEvent", "SequenceStartEvent", "MappingStartEvent"):
                root = self._node(event, (), 1)
        return root

    def _check_document(self, event: Any, documents: int) -> None:
        place = self._place(event)
        if documents > 1:
            self._refuse(place, (), 'A second document begins here ("---").', "Keep one spec in one file.")
        if event.version or event.tags:
            self._refuse(place, (), 'A spec takes no YAML directives ("%...").', "Leave the line out.")

    def _node(self, event: Any, path: KeyPath, depth: int) -> Node:
        place = self._place(event)
        kind = type(event).__name__
        if kind == "AliasEvent" or event.anchor is not None:
            self._refuse(place, path, 'A spec takes no anchors ("&") or aliases ("*").', "Write the value out.")
        if event.tag is not None:
            self._refuse(place, path, 'A spec takes no tags ("!").', "Leave it out, or put the text in quotes.")
        if depth > DEEPEST:
            self._refuse(place, path, "This is nested too deeply for a spec.", "Check the brackets and indentation.")
        if kind == "ScalarEvent":
            return Scalar(self._text(str(event.value), place, path), event.style in (None, ""), place, path)
        if kind == "SequenceStartEvent":
            return Listing(self._items(path, depth), place, path)
        return self._table(place, path, depth)

    def _text(self, value: str, place: Place, path: KeyPath) -> str:
        """Return `value` with characters that were escaped as two surrogates, as JSON does, made whole."""
        try:
            return value.encode("utf-16", "surrogatepass").decode("utf-16")
        except UnicodeDecodeError:
            self._refuse(place, path, "This text holds half a character (a lone surrogate).", "Write the character.")
            return ""

    def _items(self, path: KeyPath, depth: int) -> tuple[Node, ...]:
        items: list[Node] = []
        while type(event := next(self.events)).__name__ != "SequenceEndEvent":
            items.append(self._node(event, (*path, len(items)), depth + 1))
        return tuple(items)

    def _table(self, place: Place, path: KeyPath, depth: int) -> Table:
        table = Table({}, {}, place, path)
        while type(event := next(self.events)).__name__ != "MappingEndEvent":
            key = self._key(event, path, depth)
            key_place = self._place(event)
            node = self._node(next(self.events), (*path, key), depth + 1)
            if isinstance(node, Scalar) and node.plain and not node.text:
                node = Scalar("", True, key_place, node.path)  # the reader puts nothing where the next thing stands
            if key in table.entries:
                first = table.keys[key].line
                sentence = f'The key "{key}" comes twice; it was first said on line {first}.'
                self.problems.append(problem_at(key_place, (*path, key), sentence, "Keep one of them."))
            else:
                table.entries[key], table.keys[key] = node, key_place
        return table

    def _key(self, event: Any, path: KeyPath, depth: int) -> str:
        node = self._node(event, path, depth + 1)
        if not isinstance(node, Scalar):
            self._refuse(
                node.place, path, "A list or a block of lines stands where a key is expected.", "A key is a word."
            )
            return ""
        if node.plain and node.text == "<<":
            self._refuse(node.place, path, 'A spec takes no merge keys ("<<").', 'Use "base: FILE" to share values.')
        return node.text

    def _place(self, event: Any) -> Place:
        return Place(self.file, event.start_mark.line + 1, event.start_mark.column + 1)

    def _refuse(self, place: Place, path: KeyPath, sentence: str, remedy: str) -> None:
        raise InputProblems([problem_at(place, path, sentence, remedy)])
