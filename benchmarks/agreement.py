"""Independent methods against the program and the kernel, on other random patterns than the tests, for as long as you
like.

    .venv/bin/python benchmarks/agreement.py [--seconds 600] [--seed 1000] [--map]

By turns, as in `tests/brute`: patterns of up to three vertices, sheets with a cut and recipes by brute force, strips
and single vertices by theories that know no layers. Ends at the first disagreement, with the seed. --map: instead,
each of the 4,096 assignments of the 3×3 map of stamps.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from time import process_time

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.brute import patterns, test_recipes
from tests.brute.test_agreement import agree, every_assignment, strips, vertices
from tests.brute.test_cuts import compared

EACH = 10  # of a kind with one seed
KINDS = {
    "patterns": lambda seed: agree(seed, EACH),
    "strips": lambda seed: strips(seed, EACH),
    "vertices": lambda seed: vertices(seed, EACH),
    "sheets with a cut": lambda seed: compared(range(EACH * seed, EACH * (seed + 1))),
    "recipes": lambda seed: test_recipes.compared(seed, EACH),
}


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n\n")[0])
    parser.add_argument("--seconds", type=float, default=600, help="of work (CPU)")
    parser.add_argument("--seed", type=int, default=1_000, help="the first one")
    parser.add_argument("--map", action="store_true")
    arguments = parser.parse_args()
    if arguments.map:
        every_assignment(patterns.stamps(3, 3))
        print("all 4,096 assignments agree")
        return 0
    tried: Counter[str] = Counter()
    seed = arguments.seed
    while process_time() < arguments.seconds:
        for kind, compare in KINDS.items():
            try:
                compare(seed)
            except AssertionError:
                print(f"{kind} disagree: seed {seed}", file=sys.stderr)
                raise
            tried[kind] += EACH
        seed += 1
    print(", ".join(f"{number:,} {kind}" for kind, number in tried.items()), "agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
