"""Clauses and reverse unit propagation: whether each step of a derivation follows from the clauses before it."""

from __future__ import annotations

from collections.abc import Iterable


class Clauses:
    """Literals are nonzero integers, -x the opposite of x. `contradiction` is set only when unit propagation finds one."""

    def __init__(self) -> None:
        self.contradiction = False
        self._true: set[int] = set()
        self._trail: list[int] = []
        self._watching: dict[int, list[list[int]]] = {}  # clauses by their first two literals

    def _propagate(self, literals: Iterable[int]) -> bool:
        """Makes the literals true with all that follows by units; whether that runs into a contradiction."""
        waiting = list(literals)
        while waiting:
            literal = waiting.pop()
            if literal in self._true:
                continue
            if -literal in self._true:
                return True
            self._true.add(literal)
            self._trail.append(literal)
            kept: list[list[int]] = []
            for clause in self._watching.pop(-literal, []):
                if clause[0] == -literal:
                    clause[0], clause[1] = clause[1], clause[0]
                for i in range(2, len(clause)):
                    if -clause[i] not in self._true:
                        clause[1], clause[i] = clause[i], clause[1]
                        self._watching.setdefault(clause[1], []).append(clause)
                        break
                else:
                    kept.append(clause)
                    waiting.append(clause[0])  # all others are false
            self._watching[-literal] = kept
        return False

    def add(self, literals: Iterable[int]) -> None:
        """Adds a clause; what it makes true stays true."""
        clause = list(dict.fromkeys(literals))
        if self.contradiction or any(-x in clause or x in self._true for x in clause):
            return
        clause = [x for x in clause if -x not in self._true]
        if len(clause) >= 2:
            for x in clause[:2]:
                self._watching.setdefault(x, []).append(clause)
        else:
            self.contradiction = not clause or self._propagate(clause)

    def follows(self, literals: Iterable[int]) -> bool:
        """Whether propagation from the opposites of all literals runs into a contradiction."""
        if self.contradiction:
            return True
        mark = len(self._trail)
        found = self._propagate([-x for x in literals])
        self._true.difference_update(self._trail[mark:])
        del self._trail[mark:]
        return found
