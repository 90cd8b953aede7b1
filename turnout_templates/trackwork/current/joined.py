"""Names that are joined pair by pair into groups."""

from __future__ import annotations

from collections.abc import Iterable


class Joined:
    """Groups of names; a name that was never joined is a group of its own."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def root(self, name: str) -> str:
        """Return the name that stands for the group of `name`."""
        root = name
        while (above := self._above.get(root, root)) != root:
            root = above
        while (above := self._above.get(name, name)) != root:
            self._above[name], name = root, above
        return root

    def join(self, first: str, *others: str) -> None:
        """Make one group of those of some names; that of the first stands for it."""
        for other in others:
            one, two = self.root(first), self.root(other)
            if one != two:
                self._above[two] = one

    def groups(self, names: Iterable[str]) -> dict[str, list[str]]:
        """Return `names` by what stands for their group, in their order."""
        found: dict[str, list[str]] = {}
        for name in names:
            found.setdefault(self.root(name), []).append(name)
        return found
