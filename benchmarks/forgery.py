"""Forged certificates against the kernel, for a stated time; an independent exact checker knows the truth.

    python benchmarks/forgery.py [--seconds 3600] [--seed 1]

Random sheets of unit squares with holes, pleated, some turned by irrational angles, with a random target and one snip
or more (`tests/brute/cuts.py`, which uses nothing of `verify`, says whether the snips cut the target). Of each the
program's verdict is compared with that truth. Then false claims are forged: for a document that does not hold, true
evidence of how it folds together with the snips of its relatives that hold (the same sheet with other targets, with
more snips); for one that holds the refutations of relatives; each as it is and with random edits, under the digest of
the document. Whatever the kernel accepts of these is a false acceptance: it is printed with its seed, and the run ends
with status 1.
"""

from __future__ import annotations

import argparse
import copy
import json
import sys
import time
from collections import Counter
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import verify
from tests.brute.cuts import Sheet, random_sheet
from verify.kernel.check import check_bytes

TURNS = [None, None, None, ("3/5", "4/5"), ("cos(pi/8)", "sin(pi/8)"), ("sqrt(1/3)", "sqrt(2/3)")]
FORGED_OF_EACH = 12


def holds(sheet: Sheet, snips: int) -> bool:
    told = sheet.snips()
    return told.at_once if snips == 1 else told.fewest is not None and told.fewest <= snips


def relatives(sheet: Sheet, random: Random) -> list[Sheet]:
    """The same pleats with one line of the target elsewhere, and with a line less."""
    lines = list(sheet.target)
    i = random.randrange(len(lines))
    width, height = sheet.size
    found = [lines[:i] + lines[i + 1 :]]
    for _ in range(8):
        ends = [
            (Fraction(random.randint(0, 2 * width), 2), Fraction(random.randint(0, 2 * height), 2)) for _ in range(2)
        ]
        if ends[0] != ends[1] and sheet.drawn(*ends):
            found.append([*lines[:i], (ends[0], ends[1]), *lines[i + 1 :]])
            break
    return [Sheet(sheet.cells, sheet.across, sheet.up, tuple(target)) for target in found if target]


def folding(document: dict[str, Any]) -> dict[str, Any] | None:
    """True evidence that a document folds, its target among the chains, without a word on the cut.

    None where lines of the target lie on each other or on creases, which folds must not.
    """
    lines = document["target"]["paths"]
    plain = {key: value for key, value in document.items() if key not in ("target", "cut")}
    plain["creases"] = [*document["creases"], *([a, b, "flat"] for a, b in lines)]
    try:
        certificate = verify.certify(verify.read(plain)).certificate
    except verify.Malformed:
        return None
    if certificate is None:
        raise RuntimeError(f"pleats that do not fold: {json.dumps(document)}")
    drawn = certificate["chains"]["creases"]
    creases = len(drawn) - len(lines)
    certificate["chains"] |= {"creases": drawn[:creases], "target": drawn[creases:]}
    return certificate


def places(root: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The way to every value inside a JSON value."""
    inside = root.items() if isinstance(root, dict) else enumerate(root) if isinstance(root, list) else ()
    return [found for key, value in inside for found in [(*way, key), *places(value, (*way, key))]]


def forged(certificate: dict[str, Any], other: dict[str, Any], random: Random) -> dict[str, Any]:
    """A copy with a few random edits: numbers moved, entries exchanged, repeated, left out, or taken from another
    certificate.
    """
    root = copy.deepcopy(certificate)
    for _ in range(random.choice([0, 1, 1, 2, 3])):
        ways = [way for way in places(root) if way[0] not in ("format", "statement_sha256")]
        if not ways:
            break
        *way, last = random.choice(ways)
        at = root
        for key in way:
            at = at[key]
        kind = random.randrange(6)
        if kind == 0 and isinstance(at[last], int) and not isinstance(at[last], bool):
            at[last] += random.choice([-2, -1, 1, 2])
        elif kind == 1 and isinstance(at[last], list) and len(at[last]) > 1:
            i, j = random.sample(range(len(at[last])), 2)
            at[last][i], at[last][j] = at[last][j], at[last][i]
        elif kind == 2 and isinstance(at, list):
            at.append(copy.deepcopy(at[last]))
        elif kind == 3 and isinstance(at, list):
            del at[last]
        elif kind == 4 and way == [] and last in other:
            at[last] = copy.deepcopy(other[last])
        elif isinstance(at[last], list) and at[last]:
            at[last] = at[last][: random.randrange(len(at[last]) + 1)]
    return root


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    end = time.monotonic() + arguments.seconds
    seen: Counter[str] = Counter()
    wrong = 0
    seed = arguments.seed
    while time.monotonic() < end:
        seed += 1
        random = Random(seed)
        sheet = random_sheet(random)
        turned = random.choice(TURNS)
        family = [(s, snips) for s in [sheet, *relatives(sheet, random)] for snips in (1, 2, 3)]
        made = []
        for relative, snips in random.sample(family, min(4, len(family))):
            document = relative.document(snips, turned)
            truth = "certified" if holds(relative, snips) else "refuted"
            result = verify.certify(verify.read(document))
            seen["documents"] += 1
            if result.verdict != truth:
                wrong += 1
                print(
                    f"seed {seed}: the program says {result.verdict}, the truth is {truth}: {json.dumps(document)}",
                    flush=True,
                )
            if result.certificate is not None:
                made.append((document, truth, result.certificate))
        for document, truth, _ in made:
            data = json.dumps(document).encode()
            digest = check_bytes(data, b"", toml=False).statement_sha256
            bases = [c for _, said, c in made if said != truth]
            if truth == "refuted":
                evidence = folding(document)
                if evidence is None:
                    continue
                snips = [{key: c[key] for key in c.keys() - evidence.keys()} for c in bases]
                bases = [evidence | extra for extra in snips or [{}]]
            for base in bases:
                for _ in range(FORGED_OF_EACH):
                    forgery = forged(base, random.choice(bases), random)
                    forgery["statement_sha256"] = digest
                    answer = check_bytes(data, json.dumps(forgery).encode(), toml=False)
                    seen[f"forged, {answer.code if not answer.accepted else 'ACCEPTED'}"] += 1
                    if answer.accepted:
                        wrong += 1
                        print(
                            f"seed {seed}: accepted, though {truth}: {json.dumps(document)} {json.dumps(forgery)}",
                            flush=True,
                        )
    total = sum(number for name, number in seen.items() if name.startswith("forged"))
    print(f"{seen['documents']:,} documents, {total:,} forged certificates, {wrong} wrong answers; last seed {seed}")
    for name, number in sorted(seen.items()):
        print(f"| {name} | {number:,} |")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
