"""Connected components, for what every command loads: networkx takes longer to load than these to run."""

from __future__ import annotations

from collections.abc import Iterable


def components(count: int, joined: Iterable[tuple[int, int]]) -> list[list[int]]:
    """The numbers 0 … count - 1 in groups that the pairs join, each ascending, by their least members.

    >>> components(5, [(3, 1), (4, 3)])
    [[0], [1, 3, 4], [2]]
    """
    near: list[list[int]] = [[] for _ in range(count)]
    for a, b in joined:
        near[a].append(b)
        near[b].append(a)
    found = []
    met = [False] * count
    for first in range(count):
        if met[first]:
            continue
        met[first] = True
        part = [first]
        for member in part:
            for other in near[member]:
                if not met[other]:
                    met[other] = True
                    part.append(other)
        found.append(sorted(part))
    return found


def least_of_each(count: int, joined: Iterable[tuple[int, int]]) -> list[int]:
    """For each of the numbers 0 … count - 1 the least one of its group.

    >>> least_of_each(5, [(3, 1), (4, 3)])
    [0, 1, 2, 1, 1]
    """
    least = [0] * count
    for part in components(count, joined):
        for member in part:
            least[member] = part[0]
    return least
