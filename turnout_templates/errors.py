"""Turn what went wrong into a sentence that a hobbyist can act on, and the place to act.

The tree of exceptions; whatever is not in it and comes out of the program is a fault of the program:

    TemplateError
    +-- InputProblems     a spec cannot be used: every `Problem` found in it, each with file, line and column
    +-- QuantityError     a written length, angle, number or ratio cannot be read (the spec reader locates it)
    +-- LayoutError       a valid spec asks for something that cannot be built (the pipeline locates it)
    +-- PaperError        paper that cannot be used (in `sheets.paper`)
    +-- OutputError       a file cannot be written

Each constructor takes values and composes its own sentence. Geometry knows no input and has no error here: what has no
answer there comes back as None or as an empty list, which alignment turns into a LayoutError with its place, and a bad
argument is a ValueError, a fault of the caller.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

KeyPath = tuple[str | int, ...]


def ordinal(number: int) -> str:
    """Return `number` (1 and up) as `1st`, `2nd`, `3rd`, `4th` ..."""
    teens = 10 < number % 100 < 14
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def spoken_path(key_path: KeyPath) -> str:
    """Return a key path in words: `routes > quarry > path > 1st piece > frog`. List places count from zero inside."""
    words: list[str] = []
    for index, key in enumerate(key_path):
        if isinstance(key, str):
            words.append(key)
        else:
            owner = key_path[index - 1] if index else ""
            words.append(f"{ordinal(key + 1)} {'piece' if owner == 'path' else 'entry'}")
    return " > ".join(words)


class Problem(Struct, frozen=True):
    """One mistake in an input: what is wrong, what to do about it, and where.

    `key_path` is the way to the value from the top of the spec; `line` and `column` count from 1 and are None where
    the trouble is with the file as a whole.
    """

    sentence: str
    remedy: str
    key_path: KeyPath = ()
    file: str = ""
    line: int | None = None
    column: int | None = None

    @property
    def place(self) -> str:
        """File, line, column and the key path in words, as far as they are known."""
        spot = self.file
        if self.line is not None:
            spot += f":{self.line}" + (f":{self.column}" if self.column is not None else "")
        return ", ".join(part for part in (spot, spoken_path(self.key_path)) if part)

    def __str__(self) -> str:
        said = " ".join(part for part in (self.sentence, self.remedy) if part)
        return f"{said} ({self.place})" if self.place else said


class TemplateError(Exception):
    """Anything that this program can say about an input or a file."""


class InputProblems(TemplateError):
    """A spec that cannot be used, with all of its `problems` at once, in the order of the file."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class QuantityError(TemplateError):
    """Text that is not the quantity it should be: what was `found`, what was `expected`, and the `remedy`."""

    def __init__(self, found: str, expected: str, remedy: str = "") -> None:
        self.found = found
        self.expected = expected
        self.remedy = remedy
        super().__init__(" ".join(part for part in (self.sentence, remedy) if part))

    @property
    def sentence(self) -> str:
        """What was found and what was expected, as one sentence."""
        return f"Found {self.found} where {self.expected} is expected."


class LayoutError(TemplateError):
    """Something that a valid spec asks for and that cannot be built there."""

    def __init__(self, sentence: str, remedy: str = "", key_path: KeyPath = ()) -> None:
        self.sentence = sentence
        self.remedy = remedy
        self.key_path = key_path
        super().__init__(" ".join(part for part in (sentence, remedy) if part))


class OutputError(TemplateError):
    """A file that cannot be written: which one and why."""

    def __init__(self, file: str, reason: str) -> None:
        self.file = file
        self.reason = reason
        super().__init__(f"Cannot write {file}: {reason}.")
