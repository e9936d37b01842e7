"""Groups that grow by joining: disjoint sets with the least member as name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Generic, TypeVar

T = TypeVar("T", int, tuple[int, int])


class Groups(Generic[T]):
    """Disjoint sets of numbers or pairs of numbers.

    Examples
    --------
    >>> groups = Groups([1, 2, 3])
    >>> groups.join(1, 3)
    >>> groups.name(3), groups.members()
    (1, [[1, 3], [2]])
    """

    def __init__(self, members: Iterable[T]) -> None:
        self._parent: dict[T, T] = {member: member for member in members}

    def name(self, member: T) -> T:
        """Return the least member of the group that holds this one."""
        while self._parent[member] != member:
            self._parent[member] = self._parent[self._parent[member]]
            member = self._parent[member]
        return member

    def join(self, one: T, two: T) -> None:
        """Make one group of two."""
        a, b = self.name(one), self.name(two)
        if a < b:
            self._parent[b] = a
        else:
            self._parent[a] = b

    def members(self) -> list[list[T]]:
        """Return the groups, each in the order in which its members were given."""
        found: dict[T, list[T]] = defaultdict(list)
        for member in self._parent:
            found[self.name(member)].append(member)
        return list(found.values())
