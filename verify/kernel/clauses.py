"""Clauses on the order of faces, and what follows from them by unit propagation."""

from itertools import product

from .reading import Work

Literal = tuple[int, int]  # (f, g): face f is above face g; the opposite is (g, f)
Clause = list[Literal]  # at least one of these holds


class Clauses:
    """All clauses so far."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self.having: dict[Literal, list[Clause]] = {}  # the clauses with a literal
        self.settled: set[Literal] = set()  # the literals that follow from the clauses by unit propagation
        self.contradiction = False  # whether the empty clause does

    def add(self, clause: Clause) -> None:
        once = [*dict.fromkeys(clause)]
        for literal in once:
            self.having.setdefault(literal, []).append(once)
        possible = [(f, g) for f, g in once if (g, f) not in self.settled]
        if not possible or (len(possible) == 1 and self.contradicts(possible, self.settled)):
            self.contradiction = True

    def follows(self, clause: Clause) -> bool:
        """Whether unit propagation from the opposites of all literals runs into a contradiction."""
        return self.contradiction or self.contradicts([(g, f) for f, g in clause], set())

    def contradicts(self, literals: list[Literal], true: set[Literal]) -> bool:
        """Whether these literals, with what is true or settled, lead to a contradiction; adds to `true` what
        follows.
        """
        waiting = [*literals]
        for f, g in waiting:  # grows on the way
            self.work.spend(1)
            if (g, f) in true or (g, f) in self.settled:
                return True
            if (f, g) in true or (f, g) in self.settled:
                continue
            true.add((f, g))
            for clause in self.having.get((g, f), ()):
                self.work.spend(len(clause))
                possible = [(a, b) for a, b in clause if (b, a) not in true and (b, a) not in self.settled]
                if not possible:
                    return True
                if len(possible) == 1:
                    waiting.append(possible[0])
        return False


def even(literals: list[Literal]) -> list[Clause]:
    """The clauses that say that an even number of literals is true: each excludes one odd choice."""
    odd = [choice for choice in product((False, True), repeat=len(literals)) if sum(choice) % 2 == 1]
    return [[(g, f) if true else (f, g) for (f, g), true in zip(literals, choice, strict=True)] for choice in odd]
