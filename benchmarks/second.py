"""The second checker beside the kernel: the corpus, certificates made wrong, and random folded-and-cut patterns.

    python benchmarks/second.py [--mutants 1500] [--sheets 500] [--patterns 60] [--seed 1] [--write]

Needs the program that `proofs/theory/coq/build.sh` builds. A mutant is a certificate of the corpus with one to three
random edits; both checkers are asked. `--write` stores the numbers in proofs/theory/coq/agreement.md. Disagreements are
printed, and named by what the kernel says; one in which the kernel accepts and the second checker does not certify ends
with status 1, and so does a certified document that the kernel calls false.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import verify
from tests.brute.cuts import random_sheet
from verify.certificate.audit import audit
from verify.certificate.second import Answer, program, second
from verify.hunt.strategies import folded_cut_patterns
from verify.pattern.document import Crease, Document, Kind
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed

ROOT = Path(__file__).resolve().parent.parent
PROOFS = ROOT / "proofs"
PAGE = PROOFS / "theory" / "coq" / "agreement.md"
HEAD = (
    "# The second checker beside the kernel\n\nWritten by `python benchmarks/second.py --write`. "
    "Each line: what the kernel says / what the second\nchecker says, and how often.\n\n"
)
Json = dict[str, Any]
Edit = Callable[[Json, Random], None]
TURNS = [None, None, None, ("3/5", "4/5"), ("cos(pi/8)", "sin(pi/8)"), ("sqrt(1/3)", "sqrt(2/3)")]


def certificates() -> list[tuple[str, Document, Json]]:
    """The patterns of the corpus with their certificates, certified and refuted."""
    found = []
    for folder, where in (("certified", ""), ("alphabet", "alphabet"), ("refuted", "")):
        for path in sorted(p for p in (PROOFS / folder).iterdir() if p.suffix in (".toml", ".json")):
            evidence = PROOFS / "certificates" / where / f"{path.stem}.certificate.json"
            document = load_any(path)
            if evidence.exists() and isinstance(document, Document):
                found.append((path.name, document, json.loads(evidence.read_text(encoding="utf-8"))))
    return found


def other(element: Any, random: Random) -> Any:
    if isinstance(element, list):
        i = random.randrange(len(element))
        return [other(c, random) if k == i else c for k, c in enumerate(element)]
    return str(Fraction(element) + random.choice((-1, 1)) * random.choice((1, 2, 30)))


def move_vertex(c: Json, r: Random) -> None:
    v = r.choice(c["vertices"])
    k = r.randrange(2)
    v[k] = other(v[k], r)


def move_image(c: Json, r: Random) -> None:
    v = r.choice(c["fold"]["images"])
    k = r.randrange(2)
    v[k] = other(v[k], r)


def turn_face(c: Json, r: Random) -> None:
    c["fold"]["turned"] = sorted({*c["fold"]["turned"]} ^ {r.randrange(len(c["faces"]))})


def mirror_all(c: Json, r: Random) -> None:
    c["fold"]["turned"] = sorted({*range(len(c["faces"]))} - {*c["fold"]["turned"]})
    c["fold"]["images"] = [[negative(x), y] for x, y in c["fold"]["images"]]


def negative(element: Any) -> Any:
    return [negative(c) for c in element] if isinstance(element, list) else str(-Fraction(element))


def exchange_faces(c: Json, r: Random) -> None:
    stack = c["order"]["stack"]
    i, j = r.randrange(len(stack)), r.randrange(len(stack))
    stack[i], stack[j] = stack[j], stack[i]


def exchange_neighbours(c: Json, r: Random) -> None:
    stack = c["order"]["stack"]
    i = r.randrange(len(stack) - 1)
    stack[i : i + 2] = stack[i : i + 2][::-1]


def reverse_stack(c: Json, r: Random) -> None:
    c["order"]["stack"].reverse()


def add_exception(c: Json, r: Random) -> None:
    stack = c["order"]["stack"]
    i, j = sorted(r.sample(range(len(stack)), 2))
    c["order"]["except"] = sorted([*c["order"]["except"], [stack[i], stack[j]]])


def drop_face(c: Json, r: Random) -> None:
    del c["faces"][r.randrange(len(c["faces"]))]


def repeat_face(c: Json, r: Random) -> None:
    c["faces"].append(r.choice(c["faces"]))


def reverse_face(c: Json, r: Random) -> None:
    r.choice(c["faces"]).reverse()


def rotate_face(c: Json, r: Random) -> None:
    face = r.choice(c["faces"])
    face.append(face.pop(0))


def exchange_corners(c: Json, r: Random) -> None:
    face = r.choice(c["faces"])
    i, j = r.sample(range(len(face)), 2)
    face[i], face[j] = face[j], face[i]


def other_corner(c: Json, r: Random) -> None:
    face = r.choice(c["faces"])
    face[r.randrange(len(face))] = r.randrange(len(c["vertices"]))


def shorten_chain(c: Json, r: Random) -> None:
    chains = [x for x in (*c["chains"]["creases"], *c["chains"]["target"], *c["chains"]["sheet"]) if len(x) > 2]
    r.choice(chains).pop(1)


def reverse_chain(c: Json, r: Random) -> None:
    chains = [*c["chains"]["creases"], *c["chains"]["target"]]
    r.choice(chains).reverse()


def exchange_chains(c: Json, r: Random) -> None:
    chains = [x for x in (c["chains"]["creases"], c["chains"]["target"]) if len(x) > 1]
    listed = r.choice(chains)
    i, j = r.sample(range(len(listed)), 2)
    listed[i], listed[j] = listed[j], listed[i]


def other_root(c: Json, r: Random) -> None:
    p, root = c["field"]["polynomial"], c["field"]["root"]
    if len(p) > 2:
        c["field"]["root"] = [negative(root[1]), negative(root[0])]
    else:
        p[0] += 1


def other_value(c: Json, r: Random) -> None:
    values = c["field"]["values"]
    key = r.choice([*values])
    values[key] = negative(values[key])


def other_snip(c: Json, r: Random) -> None:
    r.choice(c["cut"]["snips"])[r.randrange(2)] = r.randrange(len(c["vertices"]))


def other_cell(c: Json, r: Random) -> None:
    name = r.choice(["face", "edge", "vertex"])
    c["refutation"]["cell"]  # only where there is one
    numbers = {"face": len(c["faces"]), "vertex": len(c["vertices"])}
    c["refutation"]["cell"] = {name: some_edge(c, r) if name == "edge" else r.randrange(numbers[name])}


def some_edge(c: Json, r: Random) -> list[int]:
    face = r.choice(c["faces"])
    i = r.randrange(len(face))
    return [face[i - 1], face[i]]


def some_target_edge(c: Json, r: Random) -> list[int]:
    chain = r.choice(c["chains"]["target"])
    i = r.randrange(len(chain) - 1)
    return list(chain[i : i + 2])


def other_edges(c: Json, r: Random) -> None:
    refutation = c["refutation"]
    if "edge" in refutation:
        refutation["edge"] = some_target_edge(c, r)
    else:
        edges = refutation["edges"]
        edges[r.randrange(len(edges))] = some_target_edge(c, r) if "walk" not in refutation else some_edge(c, r)


def fewer_edges(c: Json, r: Random) -> None:
    c["refutation"]["edges"].pop(r.randrange(len(c["refutation"]["edges"])))


def other_walk(c: Json, r: Random) -> None:
    walk = c["refutation"]["walk"]
    walk[r.randrange(len(walk))] = r.randrange(len(c["faces"]))


def drop_reason(c: Json, r: Random) -> None:
    c["refutation"]["reasons"].pop(r.randrange(len(c["refutation"]["reasons"])))


def other_reason(c: Json, r: Random) -> None:
    reason = r.choice(c["refutation"]["reasons"])
    if "face" in reason:
        reason["face"] = r.randrange(len(c["faces"]))
    else:
        key = r.choice(sorted(reason))
        reason[key] = [some_edge(c, r), some_edge(c, r)] if key == "edges" else some_edge(c, r)


def drop_step(c: Json, r: Random) -> None:
    c["refutation"]["steps"].pop(0)


def other_step(c: Json, r: Random) -> None:
    step = r.choice([x for x in c["refutation"]["steps"] if x])
    r.choice(step).reverse()


KINDS: list[Kind] = ["mountain", "valley", "mountain", "valley", "either"]
EDITS: list[Edit] = [
    move_vertex, move_image, turn_face, mirror_all, exchange_faces, exchange_faces, exchange_neighbours,
        exchange_neighbours,
    reverse_stack, add_exception, drop_face, repeat_face, reverse_face, rotate_face, exchange_corners, other_corner,
    shorten_chain, reverse_chain, exchange_chains, other_root, other_value, other_snip,
]  # fmt: skip


OF_REFUTATIONS: list[Edit] = [
    other_cell, other_cell, other_cell, other_edges, other_edges, fewer_edges, other_walk,
    drop_reason, other_reason, other_reason, drop_step, other_step,
    move_vertex, move_image, turn_face, mirror_all, drop_face, reverse_face, rotate_face, exchange_corners,
    other_corner, shorten_chain, reverse_chain, exchange_chains,
]  # fmt: skip


def edited(certificate: Json, random: Random, edits: list[Edit] = EDITS) -> tuple[str, Json]:
    """The certificate with one to three edits, and their names."""
    mutant, names = deepcopy(certificate), list[str]()
    while not names or random.random() < 0.25:
        edit = random.choice(edits)
        try:
            edit(mutant, random)
        except (IndexError, KeyError, ValueError):  # nothing of the kind is there
            continue
        names.append(edit.__name__)
    return "+".join(names), mutant


def sheets(count: Count, number: int, start: int) -> None:
    """Pleated sheets with holes and a random target, some turned by irrational angles; `tests/brute/cuts.py` knows the
    truth.
    """
    done = 0
    while done < number:
        start += 1
        random = Random(start)
        sheet = random_sheet(random)
        turned = random.choice(TURNS)
        for snips in (1, 2, 3):
            told = sheet.snips()
            holds = told.at_once if snips == 1 else told.fewest is not None and told.fewest <= snips
            document = verify.read(sheet.document(snips, turned))
            result = verify.certify(document)
            if result.certificate is None:
                count.told[f"{result.verdict}, no certificate"] += 1
                continue
            certificate = json.loads(json.dumps(result.certificate))
            answer = count.ask(f"sheet {start}, {snips} snips", document, certificate)
            done += holds
            if answer.verdict == "certified" and not holds:
                count.bad.append(f"sheet {start}, {snips} snips: the second checker certifies what is false")


class Count:
    """What both said, how often; and the disagreements."""

    def __init__(self) -> None:
        self.told: Counter[str] = Counter()
        self.where: Counter[str] = Counter()
        self.differ: Counter[str] = Counter()
        self.bad: list[str] = []

    def ask(self, name: str, document: Document, certificate: Json, kind: str = "") -> Answer:
        outcome, answer = audit(document, certificate), second(document, certificate)
        kernel = (outcome.proves or "") if outcome.accepted else "rejected"
        self.told[f"{kernel} / {answer.verdict}{kind}"] += 1
        if answer.verdict == "rejected":
            self.where[
                "written by the exporter"
                if " " in answer.reason and not answer.reason.startswith("evidence")
                else answer.reason.split(":")[0]
            ] += 1
        if answer.verdict not in (kernel, "unsupported"):
            self.differ[f"kernel {outcome.code or kernel}, second {answer.verdict} {answer.reason}".strip()] += 1
            print(
                f"  {name}: kernel {kernel} {outcome.code} {outcome.reason}; second {answer.verdict} {answer.reason}",
                flush=True,
            )
            if kernel != "rejected" or outcome.malformed:
                self.bad.append(name)
        return answer

    def rows(self) -> list[str]:
        return [f"| {k} | {n:,} |" for k, n in sorted(self.told.items())]


def corpus(count: Count) -> None:
    for name, document, certificate in certificates():
        count.ask(name, document, certificate)


def mutants(count: Count, number: int, random: Random) -> None:
    good = [x for x in certificates() if x[2]["proves"] == "certified"]
    for i in range(number):
        name, document, certificate = good[i % len(good)]
        names, mutant = edited(certificate, random)
        count.ask(f"{name} {names}", document, mutant)


def refutations(count: Count, number: int, random: Random) -> None:
    good = [x for x in certificates() if x[2]["proves"] == "refuted" and second(x[1], x[2]).verdict == "refuted"]
    for i in range(number):
        name, document, certificate = good[i % len(good)]
        names, mutant = edited(certificate, random, OF_REFUTATIONS)
        count.ask(f"{name} {names}", document, mutant)


def assigned(count: Count, number: int, random: Random) -> None:
    """Patterns of the corpus with some of their creases' kinds drawn anew, an either for one in four."""
    good = [x[1] for x in certificates() if x[2]["proves"] == "certified" and 2 <= len(x[1].creases) <= 30]
    for i in range(number):
        document = good[i % len(good)]
        folds = [n for n, crease in enumerate(document.creases) if crease.kind != "flat"]
        drawn = {n: random.choice(KINDS) for n in folds if random.random() < 0.3}
        creases = tuple(replace(x, kind=drawn.get(n, x.kind)) for n, x in enumerate(document.creases))
        document = replace(document, creases=creases, raw=None)
        result = verify.certify(document)
        if result.certificate is None:
            count.told[f"{result.verdict}, no certificate"] += 1
            continue
        certificate = json.loads(json.dumps(result.certificate))
        kind = f" ({certificate['refutation']['kind']})" if result.verdict == "refuted" else ""
        count.ask(f"{document.title}, kinds drawn ({i})", document, certificate, kind)


def strips(count: Count, number: int, random: Random) -> None:
    """Strips of 3 to 8 panels, each 1 to 4 wide, with mountains, valleys and now and then an either."""
    for i in range(number):
        at, panels = [0], random.randint(3, 8)
        while len(at) <= panels:
            at.append(at[-1] + random.randint(1, 4))
        points = {f"{side}{n}": (str(x), y) for n, x in enumerate(at) for side, y in (("a", "0"), ("b", "1"))}
        kinds = [random.choice(KINDS) for _ in at[1:-1]]
        creases = tuple(Crease(f"a{n}", f"b{n}", kind) for n, kind in enumerate(kinds, 1))
        outline = (*(f"a{n}" for n in range(len(at))), *(f"b{n}" for n in reversed(range(len(at)))))
        document = Document(points, outline, creases=creases)
        result = verify.certify(document)
        if result.certificate is None:
            count.told[f"{result.verdict}, no certificate"] += 1
            continue
        count.ask(f"strip {i}", document, json.loads(json.dumps(result.certificate)))


def patterns(count: Count, number: int, start: int) -> None:
    """Hypothesis draws; a pattern that is not certified within its limits is drawn again."""
    done = 0

    @seed(start)
    @settings(
        max_examples=100 * number,
        deadline=None,
        database=None,
        suppress_health_check=[*HealthCheck],
        phases=[Phase.generate],
    )
    @given(folded_cut_patterns())
    def one(document: Document) -> None:
        nonlocal done
        if done >= number:
            return
        result = verify.certify(document)
        if result.certificate is None:
            count.told[f"{result.verdict}, no certificate"] += 1
            return
        done += 1
        count.ask("random pattern", document, json.loads(json.dumps(result.certificate)))

    one()


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--mutants", type=int, default=1500)
    options.add_argument("--sheets", type=int, default=500)
    options.add_argument("--patterns", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--write", action="store_true")
    given_ = options.parse_args()
    if program() is None:
        print("the second checker is not built: run proofs/theory/coq/build.sh")
        return 1
    lines, bad = list[str](), list[str]()
    lanes: list[tuple[str, Callable[[Count], None]]] = [
        ("The corpus", corpus),
        (
            f"Certificates of the corpus with one to three random edits (seed {given_.seed})",
            lambda c: mutants(c, given_.mutants, Random(given_.seed)),
        ),
        (
            f"Refutations of the corpus with one to three random edits (seed {given_.seed})",
            lambda c: refutations(c, given_.mutants // 3, Random(given_.seed)),
        ),
        (
            f"Patterns of the corpus with some kinds of creases drawn anew (seed {given_.seed})",
            lambda c: assigned(c, given_.sheets // 4, Random(given_.seed)),
        ),
        (
            f"Strips of panels of random widths and kinds (seed {given_.seed})",
            lambda c: strips(c, given_.sheets, Random(given_.seed)),
        ),
        (
            f"Random pleated sheets with holes, cut by one snip or more (seed {given_.seed})",
            lambda c: sheets(c, given_.sheets, given_.seed),
        ),
        (
            f"Patterns of random recipes with a random cut (seed {given_.seed})",
            lambda c: patterns(c, given_.patterns, given_.seed),
        ),
    ]
    for title, lane in lanes:
        begun, count = time.monotonic(), Count()
        print(title, flush=True)
        try:
            lane(count)
        except Malformed as error:
            print(error)
            return 1
        lines += [f"## {title}", "", "| kernel / second checker | |", "|---|---|", *count.rows(), ""]
        if count.where:
            lines += [
                "Where the second checker rejects: "
                + ", ".join(f"{k} {n:,}" for k, n in count.where.most_common())
                + ".",
                "",
            ]
        lines += [
            f"Disagreements: {sum(count.differ.values())}"
            + "".join(f"\n- {n} × {k}" for k, n in count.differ.most_common()),
            "",
        ]
        print("\n".join(count.rows()), count.differ, f"{time.monotonic() - begun:.0f} s", flush=True)
        bad += count.bad
        if given_.write:
            PAGE.write_text(HEAD + "\n".join(lines), encoding="utf-8")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
