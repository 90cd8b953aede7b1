"""Turn a spec and the base specs it names into one tree, the spec's own values over those of its base.

Mappings merge key by key, everything else is replaced. A base lies in the spec's own folder or below it, so that a
spec from a stranger reads nothing else; every node keeps the file it came from.
"""

from __future__ import annotations

from pathlib import Path, PurePosixPath

from turnout_templates.errors import InputProblems, Problem
from turnout_templates.spec.tree import LARGEST_TEXT, Node, Scalar, Table, problem_at, read_tree


def read_text_file(path: Path, shown: str) -> str:
    """Return the text of the file `path`, called `shown` in messages. Raises InputProblems."""
    try:
        if path.is_dir():
            sentence = f"{shown} is a folder, not a spec."
            raise InputProblems([Problem(sentence, "Name a spec in it.", (), shown)])
        if not path.is_file():
            raise InputProblems([Problem(f"There is no file {shown}.", "Check its name and folder.", (), shown)])
        with path.open("rb") as stream:
            content = stream.read(4 * LARGEST_TEXT + 1)
        if content.startswith(b"%PDF"):
            remedy = "Give the .yaml file that it was drawn from; a PDF of this program carries it as an attachment."
            raise InputProblems([Problem(f"{shown} is a PDF, not a spec.", remedy, (), shown)])
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputProblems([Problem("This is not a text file in UTF-8.", "Save it as UTF-8.", (), shown)]) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name is not valid"
        raise InputProblems([Problem(f"The file cannot be read: {reason}.", "", (), shown)]) from None


def read_tree_with_bases(text: str, file: str, folder: Path | None) -> tuple[Table, list[Problem]]:
    """Return the merged tree of the spec `text` and what is wrong with its bases and its double keys.

    `folder` is where the spec lies, None where it has no place (then it can have no base). Raises InputProblems where
    the spec itself is not readable.
    """
    tree, problems = read_tree(text, file)
    own = folder / Path(file).name if folder is not None else None
    seen = [own.resolve()] if own is not None else []
    merged = tree
    while (named := tree.entries.get("base")) is not None:
        try:
            path = _base_path(named, folder, seen)
            seen.append(path)
            shown = str(Path(file).parent / path.relative_to(_root(folder)))
            tree, more = read_tree(read_text_file(path, shown), shown)
        except InputProblems as found:
            problems.extend(_pointed(problem, named) for problem in found.problems)
            break
        problems.extend(more)
        merged = merged_over(merged, tree)
    return merged, problems


def merged_over(upper: Table, lower: Table) -> Table:
    """Return `lower` with the values of `upper` laid over it, key by key."""
    entries, keys = dict(lower.entries), dict(lower.keys)
    for key, node in upper.entries.items():
        below = entries.get(key)
        merged = merged_over(node, below) if isinstance(node, Table) and isinstance(below, Table) else node
        entries[key], keys[key] = merged, upper.keys[key]
    return Table(entries, keys, upper.place, upper.path)


def _root(folder: Path | None) -> Path:
    return Path() if folder is None else folder.resolve()


def _base_path(named: Node, folder: Path | None, seen: list[Path]) -> Path:
    if not isinstance(named, Scalar) or not named.text.strip():
        raise _refusal(named, "The base is not the name of a file.", 'Write "base: FILE", such as "base: club.yaml".')
    if folder is None:
        raise _refusal(named, "This spec lies in no folder, so it can have no base.", "Save it beside its base first.")
    inside = "A base lies in the spec's own folder or below it; write its path from there, with forward slashes."
    parts = PurePosixPath(named.text).parts
    if named.text.startswith("/") or ".." in parts or any(mark in named.text for mark in "\\:\0~"):
        raise _refusal(named, f'The base "{named.text}" is not a path inside the spec\'s folder.', inside)
    try:
        path = (folder / named.text).resolve()
    except (OSError, RuntimeError, ValueError):
        raise _refusal(named, f'The base "{named.text}" cannot be found.', inside) from None
    if not path.is_relative_to(_root(folder)):
        raise _refusal(named, f'The base "{named.text}" leads out of the spec\'s folder.', inside)
    if path in seen:
        raise _refusal(named, f'The base "{named.text}" leads back to itself.', "Let no base name a spec that uses it.")
    return path


def _refusal(named: Node, sentence: str, remedy: str) -> InputProblems:
    return InputProblems([problem_at(named.place, ("base",), sentence, remedy)])


def _pointed(problem: Problem, named: Node) -> Problem:
    """Return a problem that has no line of its own, such as a missing file, at the key that names the base."""
    if problem.line is not None:
        return problem
    sentence = f"{problem.sentence[:-1]}, which is named here as base." if problem.sentence else problem.sentence
    return problem_at(named.place, ("base",), sentence, problem.remedy)
