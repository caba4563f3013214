"""Sheets of grid cells folded by simple folds in every way that there is: piles of cells, and whole numbers.

It shares no code with `verify`, and no idea with its search: a fold is any choice of how many cells turn from the top
(or from below) of each pile beyond a grid line, kept if the paper does not tear. Nothing is known of mountains and
valleys beforehand; they are read off.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import product

Cell = tuple[int, int]
Place = tuple[int, int]
Crease = frozenset[Cell]
Assignment = frozenset[tuple[Crease, str]]
Piles = dict[Place, tuple[Cell, ...]]
# of the layers that cross the line over one side of a cell: how many turn, and how many there are
Rule = Callable[[int, int], bool]

RULES: Mapping[str, Rule] = {
    "one-layer": lambda bent, crossing: bent <= 1,
    "some-layers": lambda bent, crossing: True,
    "all-layers": lambda bent, crossing: bent in (0, crossing),
    "infinite-one-layer": lambda bent, crossing: bent == 1 or crossing == 0,
    "infinite-some-layers": lambda bent, crossing: bent >= 1 or crossing == 0,
    "infinite-all-layers": lambda bent, crossing: bent == crossing,
}

State = tuple[tuple[tuple[Place, tuple[Cell, ...]], ...], frozenset[Cell], Assignment]


def map_cells(columns: int, rows: int) -> frozenset[Cell]:
    return frozenset((x, y) for x in range(columns) for y in range(rows))


def sides(cells: frozenset[Cell]) -> list[Crease]:
    """The sides that two cells of a sheet share."""
    return [
        frozenset({(x, y), there}) for x, y in sorted(cells) for there in ((x + 1, y), (x, y + 1)) if there in cells
    ]


def reachable_assignments(cells: frozenset[Cell], creases: frozenset[Crease], rule: Rule) -> set[Assignment]:
    """The assignments of all creases that some sequence of simple folds gives, each crease folded once; cell (0, 0) is
    on the sheet.
    """
    flat = normal({cell: (cell,) for cell in cells}, cells, frozenset())
    joints = sides(cells)
    seen, todo, found = {flat}, [flat], set()
    while todo:
        piles, front, assignment = todo.pop()
        if len(assignment) == len(creases):
            found.add(assignment)
            continue
        for after in folds(dict(piles), front, assignment, joints, creases, rule):
            state = normal(*after)
            if state not in seen:
                seen.add(state)
                todo.append(state)
    return found


def normal(piles: Piles, front: frozenset[Cell], assignment: Assignment) -> State:
    """The same paper moved and turned over so that cell (0, 0) lies at the origin, front up, right way round as far as
    a grid knows.
    """
    at = next(place for place, pile in piles.items() if (0, 0) in pile)
    moved = {(x - at[0], y - at[1]): pile for (x, y), pile in piles.items()}
    if (0, 0) not in front:
        moved = {(-x, y): pile[::-1] for (x, y), pile in moved.items()}
        front = frozenset(cell for pile in moved.values() for cell in pile) - front
    return tuple(sorted(moved.items())), front, assignment


def folds(
    piles: Piles,
    front: frozenset[Cell],
    assignment: Assignment,
    joints: list[Crease],
    creases: frozenset[Crease],
    rule: Rule,
) -> Iterator[tuple[Piles, frozenset[Cell], Assignment]]:
    for axis in (0, 1):
        steps = {place[axis] for place in piles}
        for line in range(min(steps) + 1, max(steps) + 1):
            for side in (1, -1):
                beyond = [place for place in sorted(piles) if (place[axis] >= line) == (side > 0)]
                for direction in ("over", "behind"):
                    for counts in product(*(range(len(piles[place]) + 1) for place in beyond)):
                        turning = chosen(piles, beyond, counts, direction)
                        after = folded(piles, front, assignment, joints, creases, rule, axis, line, direction, turning)
                        if after is not None:
                            yield after


def chosen(piles: Piles, beyond: list[Place], counts: tuple[int, ...], direction: str) -> dict[Place, tuple[Cell, ...]]:
    """So many cells of each pile, from the top or from below."""
    taken = {}
    for place, n in zip(beyond, counts, strict=True):
        pile = piles[place]
        taken[place] = pile[len(pile) - n :] if direction == "over" else pile[:n]
    return taken


def folded(
    piles: Piles,
    front: frozenset[Cell],
    assignment: Assignment,
    joints: list[Crease],
    creases: frozenset[Crease],
    rule: Rule,
    axis: int,
    line: int,
    direction: str,
    turning: dict[Place, tuple[Cell, ...]],
) -> tuple[Piles, frozenset[Cell], Assignment] | None:
    """The paper after a fold; None if it would tear, open a fold, fold nothing, or break the rule."""
    where = {cell: place for place, pile in piles.items() for cell in pile}
    moved = {cell for pile in turning.values() for cell in pile}
    if not moved:
        return None
    bent: dict[int, int] = {}
    crossing: dict[int, int] = {}
    made = []
    for joint in joints:
        one, two = joint
        a, b = where[one], where[two]
        across = {a[axis], b[axis]} == {line - 1, line}
        along = a[1 - axis]
        if across:
            crossing[along] = crossing.get(along, 0) + 1
        if (one in moved) != (two in moved):
            if not across or joint not in creases:
                return None
            bent[along] = bent.get(along, 0) + 1
            staying = two if one in moved else one
            valley = (direction == "over") == (staying in front)
            made.append((joint, "V" if valley else "M"))
    if not made or not all(rule(bent.get(at, 0), n) for at, n in crossing.items()):
        return None
    after = {place: tuple(c for c in pile if c not in moved) for place, pile in piles.items()}
    for place, pile in turning.items():
        there = list(place)
        there[axis] = 2 * line - 1 - place[axis]
        landing = (there[0], there[1])
        under = after.get(landing, ())
        after[landing] = under + pile[::-1] if direction == "over" else pile[::-1] + under
    return {place: pile for place, pile in after.items() if pile}, front ^ moved, assignment | frozenset(made)
