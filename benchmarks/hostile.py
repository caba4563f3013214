"""Inputs made to hold the kernel up: what it says of each, how long it takes and how much memory, as a page in
Markdown.

    python benchmarks/hostile.py [--only WORD …] [--write proofs/hostile.md]

Each runs as `python -S -m verify.kernel` in a process of its own. Seconds are processor time, the start of Python
included; memory is the greatest resident size (Linux). All documents have at most 4 MB, all certificates at most 1 MB.
"""

from __future__ import annotations

import argparse
import itertools
import json
import random
import resource
import string
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from verify.kernel.statement import read_document  # noqa: E402

MEGA = 10**6
DOCUMENT, CERTIFICATE = 4 * MEGA, MEGA
PROOFS = ROOT / "proofs"
SECONDS, MEGABYTES = 10, 1000
LONGEST, MOST = 120, 6 << 30  # where a process is stopped
CHILD = """
import re, sys, time
from verify.kernel.__main__ import main
main(sys.argv[1:])
print(time.process_time())
print(re.search(r"VmHWM:\\s*(\\d+)", open("/proc/self/status").read())[1])
"""
RATIONAL = {"polynomial": [0, 1], "root": [0, 0], "values": {}}
Json = dict[str, Any]


class Input(NamedTuple):
    """A document with its suffix, and a certificate."""

    document: bytes
    suffix: str
    certificate: bytes


class Run(NamedTuple):
    verdict: str
    seconds: float
    megabytes: float


def run(given: Input, folder: Path, kernel: Path) -> Run:
    document, certificate = folder / f"document{given.suffix}", folder / "certificate.json"
    document.write_bytes(given.document)
    certificate.write_bytes(given.certificate)
    command = [sys.executable, "-S", "-c", CHILD, str(document), str(certificate)]
    done = subprocess.run(command, cwd=kernel, capture_output=True, check=False, preexec_fn=bounded)
    if not done.stdout.endswith(b"\n"):
        return Run("stopped", LONGEST, MOST / 10**6)
    *told, seconds, kilobytes = done.stdout.decode().splitlines()
    keys = json.loads("\n".join(told))
    verdict = (
        f"accepted: {keys['proves']}"
        if keys["accepted"]
        else f"{'malformed' if keys['malformed'] else 'rejected'}: {keys['code']}"
    )
    return Run(verdict, float(seconds), int(kilobytes) * 1024 / 10**6)


def bounded() -> None:
    """So that a kernel without a bound of its own does not eat the machine."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST, MOST))
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST, LONGEST))


# ---- parts


def names() -> Iterator[str]:
    """Short names, the shortest first."""
    for length in itertools.count(1):
        for letters in itertools.product(string.ascii_letters + string.digits, repeat=length):
            yield "".join(letters)


def filled(write: Callable[[str], str], size: int, start: str = "", end: str = "") -> bytes:
    """As many pieces, each written for a name, as there is room for."""
    pieces, length = [start], len(start) + len(end)
    for name in names():
        piece = write(name)
        length += len(piece)
        if length > size:
            return "".join([*pieces, end]).encode()
        pieces.append(piece)
    raise AssertionError


def toml(text: bytes) -> Input:
    return Input(text, ".toml", b"{}")


def sealed(document: Json, certificate: Json) -> Input:
    """The certificate with the digest of the document."""
    data = json.dumps(document, separators=(",", ":")).encode()
    digest = read_document(data, False).digest
    head = {"format": "creaseproof-certificate/1", "proves": "certified", "statement_sha256": digest}
    return Input(data, ".json", json.dumps(head | certificate, separators=(",", ":")).encode())


def stored(base: str, edit: Callable[[Json], None]) -> Input:
    """A document of proofs/ with its certificate, edited."""
    path = PROOFS / base
    certificate = json.loads((PROOFS / "certificates" / f"{path.stem}.certificate.json").read_bytes())
    edit(certificate)
    return Input(path.read_bytes(), path.suffix, json.dumps(certificate, separators=(",", ":")).encode())


def strip(lengths: list[int], refuting: Json | None = None, target: bool = False) -> Input:
    """A strip of panels folded to and fro, valley and mountain in turn, and the certificate that it folds flat."""
    ends = [0, *itertools.accumulate(lengths)]
    last = len(lengths)
    points = {f"b{i}": [x, 0] for i, x in enumerate(ends)} | {f"t{i}": [x, 1] for i, x in enumerate(ends)}
    creases = [[f"b{i}", f"t{i}", "valley" if i % 2 else "mountain"] for i in range(1, last)]
    document = {
        "format": "creaseproof-pattern/1",
        "points": points,
        "sheet": {"outline": ["b0", f"b{last}", f"t{last}", "t0"]},
        "creases": creases,
    }
    folded = [0, *itertools.accumulate(x if i % 2 == 0 else -x for i, x in enumerate(lengths))]
    top = last + 1
    certificate: Json = {
        "field": RATIONAL,
        "vertices": [[x, 0] for x in ends] + [[x, 1] for x in ends],
        "faces": [[i, i + 1, top + i + 1, top + i] for i in range(last)],
        "chains": {
            "sheet": [[*range(last + 1), *range(2 * last + 1, last, -1)]],
            "creases": [[i, top + i] for i in range(1, last)],
            "target": [],
        },
        "fold": {"images": [[x, 0] for x in folded] + [[x, 1] for x in folded], "turned": [*range(1, last, 2)]},
    }
    if target:
        document["target"] = {"paths": [[f"b{i}", f"t{i}"] for i in range(1, last)]}
        certificate["chains"]["target"] = certificate["chains"]["creases"]
    if refuting is None:
        certificate["order"] = {"stack": [*range(last)], "except": []}
    else:
        certificate |= {"proves": "refuted", "refutation": refuting}
    return sealed(document, certificate)


def long_number(rng: random.Random, digits: int) -> str:
    return f"{rng.randrange(10 ** (digits - 1), 10**digits)}/{rng.randrange(10 ** (digits - 1), 10**digits)}"


SQUARE = {
    "format": "creaseproof-pattern/1",
    "points": {"a": [0, 0], "b": [1, 0], "c": [1, 1], "d": [0, 1]},
    "sheet": {"outline": ["a", "b", "c", "d"]},
}


def square_in(field: Json, **more: Any) -> Input:
    """A square that is not folded, its certificate in a field of one's own."""
    certificate: Json = {
        "field": field,
        "vertices": [[0, 0], [1, 0], [1, 1], [0, 1]],
        "faces": [[0, 1, 2, 3]],
        "chains": {"sheet": [[0, 1, 2, 3]], "creases": [], "target": []},
        "fold": {"images": [[0, 0], [1, 0], [1, 1], [0, 1]], "turned": []},
        "order": {"stack": [0], "except": []},
    }
    return sealed(SQUARE, certificate | more)


def points_of(texts: list[str]) -> Json:
    """The square with more points, each with such a text for x."""
    return SQUARE | {"points": SQUARE["points"] | {f"p{i}": [text, 0] for i, text in enumerate(texts)}}


def root_of_two(degree: int) -> Json:
    return {"polynomial": [-2, *[0] * (degree - 1), 1], "root": [1, 2], "values": {}}


# ---- documents


def keys_of_parts(parts: int) -> Input:
    return toml(filled(lambda name: name + ".a" * (parts - 1) + "=1\n", DOCUMENT))


def tables_of_parts(parts: int) -> Input:
    return toml(filled(lambda name: f"[{name}{'.a' * (parts - 1)}]\n", DOCUMENT))


def many_points() -> Input:
    document = filled(
        lambda name: f'"{name}":[0,0],',
        DOCUMENT - 200,
        '{"format":"creaseproof-pattern/1","points":{',
        '"-":[0,0]},"sheet":{"outline":["a","b","c"]}}',
    )
    return Input(document, ".json", b"{}")


def expressions(text: str, field: Json, values: Json) -> Input:
    """As many points with one expression as a document holds."""
    count = (DOCUMENT - 500) // (len(text) + 20)
    document = points_of([text] * count)
    certificate = json.loads(square_in(field | {"values": values}).certificate)
    del certificate["statement_sha256"]
    return sealed(document, certificate)


def comb(corners: int, loops: int) -> Input:
    """Loops with long thin teeth side by side, all aslant, so that the boxes of their edges all meet."""
    points: Json = dict(SQUARE["points"])
    loop = ["back"]
    for i in range(corners // 3):
        for name, x, y in (
            ("u", 4 * i, -4 * i),
            ("v", 4 * i + 1 + MEGA, MEGA - 4 * i - 1),
            ("w", 4 * i + 2, -4 * i - 2),
        ):
            points[f"{name}{i}"] = [x, y]
            loop.append(f"{name}{i}")
    points["back"] = [-1, -4 * corners]
    document = SQUARE | {"points": points, "target": {"loops": [loop] * loops}}
    certificate = json.loads(square_in(RATIONAL).certificate)
    del certificate["statement_sha256"]
    return sealed(document, certificate)


def recipe_of_turns() -> Input:
    document: Json = SQUARE | {"format": "creaseproof-recipe/1", "steps": [{"turn": "over"}] * 200}
    document["points"] = SQUARE["points"] | {f"p{i}": [i, 0] for i in range(200_000)}
    certificate = json.loads(square_in(RATIONAL).certificate)
    for key in ("statement_sha256", "fold", "order"):
        del certificate[key]
    return sealed(document, certificate | {"steps": [{}] * 200})


# ---- certificates


def long_clause(size: int) -> Input:
    """A step with a clause of all the literals that there is room for, which follows from nothing."""
    made = strip([1] * 200, {"kind": "order", "reasons": [], "steps": []})
    room = (size - len(made.certificate)) // 10
    literals = [[f, g] for f in range(100, 200) for g in range(100, 200) if f != g]
    clauses = list(itertools.islice(itertools.cycle(literals), room))
    return strip([1] * 200, {"kind": "order", "reasons": [], "steps": [clauses, []]})


def many_reasons() -> Input:
    """One reason of eight clauses, again and again, and steps that go through all of them."""
    count = 300
    last = count + 1
    reason = {"edges": [[1, last + 1], [3, last + 3]]}
    steps = [[[0, 2], [1, 2], [0, 3], [1, 3]]] * 6_000
    return strip([1] * count, {"kind": "order", "reasons": [reason] * 20_000, "steps": steps})


def deriving_and_deriving() -> Input:
    """A clause that follows, derived again and again, each time longer work."""
    count = 300
    last = count + 1
    fold = {"fold": [1, last + 1]}
    steps = [[[1, 0], *([f, g] for f in range(10, 60) for g in range(60, 70))]] * 90
    return strip([1] * count, {"kind": "order", "reasons": [fold], "steps": steps})


def chain_of_implications() -> Input:
    """A chain of implications in which each step begins afresh at one end."""
    count = 300
    made: Json = {"kind": "order", "reasons": [], "steps": [[[0, 1], [1, 0]]] * 60_000}
    return strip([1] * count, made)


def long_field(degree: int, digits: int, ends: bool = False) -> Input:
    """A polynomial of long coefficients with a root near 1, and a certificate that asks for signs."""
    rng = random.Random(degree)
    big = 10 ** (digits - 1)
    polynomial = [-big * degree, *[big + rng.randrange(big) for _ in range(degree - 1)], 1]
    field: Json = {"polynomial": polynomial, "root": ["1/100", 2], "values": {}}
    if ends:
        field["root"] = [f"{10 ** (digits - 3)}/{10 ** (digits - 1)}", f"{10 ** (digits - 1) + 1}/{10 ** (digits - 1)}"]
    x = [0, *[str(rng.randrange(10 ** (digits - 1))) for _ in range(degree - 1)]]
    return square_in(field, vertices=[[0, 0], [1, 0], [1, 1], [0, 1], *[[x, x]] * (3 if digits > 1000 else 34)])


def near_zero() -> Input:
    """Coordinates that are 0 in a field whose polynomial has a factor more, and elements that vanish."""
    q = [1, *[10**120 + 7 * i for i in range(29)], 1]
    p = [0] * (len(q) + 2)
    for i, c in enumerate(q):
        p[i] -= 2 * c
        p[i + 2] += c
    zero = [-2, 0, 1, *[0] * (len(p) - 4)]
    field = {"polynomial": p, "root": ["14142/10000", "14143/10000"], "values": {}}
    return square_in(field, vertices=[[0, 0], [1, zero], [1, 1], [zero, 1], *[[zero, zero]] * 2000])


def fractions_of_points() -> Input:
    """Coordinates with 32 denominators of 4,000 digits each."""
    x = [f"1/{10**3999 + 2 * i + 1}" for i in range(32)]
    return square_in(root_of_two(32), vertices=[[0, 0], [1, 0], [1, 1], [0, 1], [x, x], [x, x], [x, x]])


def four_denominators() -> Input:
    x = [*[f"1/{10**3999 + k}" for k in (1, 3, 7, 9)], *[0] * 28]
    return square_in(root_of_two(32), vertices=[[0, 0], [1, 0], [1, 1], [0, 1], *[[x, x]] * 28])


def coarse_grid(degree: int) -> Input:
    """A strip in a field of high degree, all in numbers that are bare rationals, written as elements."""
    made = json.loads(strip([1] * 500).certificate)
    document = strip([1] * 500).document
    made["field"] = root_of_two(degree)
    rest = [0] * (degree - 1)
    made["vertices"] = [[[x, *rest], [y, *rest]] for x, y in made["vertices"]]
    made["fold"]["images"] = [[[x, *rest], [y, *rest]] for x, y in made["fold"]["images"]]
    return Input(document, ".json", json.dumps(made, separators=(",", ":")).encode())


def fan(count: int) -> Input:
    """A strip of panels of random lengths: all over each other, and no two creases on one line."""
    rng = random.Random(count)
    return strip([rng.randrange(1000, 2000) for _ in range(count)])


def drifting(count: int) -> Input:
    """A strip whose panels go three steps forth and one back."""
    return strip([3 if i % 2 == 0 else 1 for i in range(count)])


def exceptions(count: int) -> Input:
    made = strip([1] * count)
    root = json.loads(made.certificate)
    room = (CERTIFICATE - len(made.certificate)) // 12
    pairs = itertools.islice(((a, b) for a in range(0, count, 2) for b in range(a + 2, count, 2)), room)
    root["order"]["except"] = [list(pair) for pair in pairs]
    return Input(made.document, ".json", json.dumps(root, separators=(",", ":")).encode())


def many_snips(count: int) -> Input:
    """As many snips as there is room for, all through all layers."""
    made = strip([1] * count, target=True)
    document, root = json.loads(made.document), json.loads(made.certificate)
    document["cut"] = {"snips": 100_000}
    room = (CERTIFICATE - len(made.certificate)) // 11
    root["cut"] = {"snips": [[1, count + 2]] * room}
    del root["statement_sha256"]
    return sealed(document, root)


def far_apart(count: int) -> Input:
    """One more target edge than snips, all on one line."""
    made = strip([1] * count, target=True)
    document, root = json.loads(made.document), json.loads(made.certificate)
    edges = [[i, count + 1 + i] for i in range(1, count)]
    room = min(100_000, (CERTIFICATE - len(made.certificate)) // 13)
    document["cut"] = {"snips": room - 1}
    root |= {
        "proves": "refuted",
        "refutation": {"kind": "apart", "edges": list(itertools.islice(itertools.cycle(edges), room))},
    }
    for key in ("order", "statement_sha256"):
        del root[key]
    return sealed(document, root)


def long_walk() -> Input:
    """A closed walk round and round, over folds whose reflections grow."""
    made = strip([1] * 300, {"kind": "closure", "walk": [0, 1] * 5000, "edges": [[1, 302]] * 10_000})
    root = json.loads(made.certificate)
    del root["fold"]
    return Input(made.document, ".json", json.dumps(root, separators=(",", ":")).encode())


def nested(depth: int) -> Input:
    return stored_text("certified/kite.toml", b'"except":[]', b'"except":' + b"[" * depth + b"]" * depth)


def stored_text(base: str, old: bytes, new: bytes) -> Input:
    given = stored(base, lambda _: None)
    return given._replace(certificate=given.certificate.replace(old, new))


def one_by_one(filler: bytes, size: int = CERTIFICATE) -> Input:
    """A certificate that is one list of so many small things."""
    return Input(
        (PROOFS / "certified" / "kite.toml").read_bytes(), ".toml", b"[" + filler * ((size - 4) // len(filler)) + b"0]"
    )


HUNDRED_DIGITS = "1" * 100
INPUTS: dict[str, dict[str, Callable[[], Input]]] = {
    "Documents": {
        "TOML: a key of 300,000 parts": lambda: toml(b"a." * 300_000 + b"a=1"),
        "TOML: short keys": lambda: keys_of_parts(1),
        "TOML: keys of 2 parts": lambda: keys_of_parts(2),
        "TOML: keys of 4 parts, the most there may be": lambda: keys_of_parts(4),
        "TOML: keys of 5 parts": lambda: keys_of_parts(5),
        "TOML: tables": lambda: tables_of_parts(1),
        "TOML: tables in tables": lambda: tables_of_parts(2),
        "TOML: empty lists, a key each": lambda: toml(filled(lambda name: f"{name}=[]\n", DOCUMENT)),
        "TOML: empty inline tables, a key each": lambda: toml(filled(lambda name: f"{name}={{}}\n", DOCUMENT)),
        "TOML: points": lambda: toml(
            filled(lambda name: f"{name}=[0,0]\n", DOCUMENT, 'format="creaseproof-pattern/1"\n[points]\n')
        ),
        "TOML: a list of digits": lambda: toml(b"a=[" + b"1," * (DOCUMENT // 2 - 4) + b"]"),
        "TOML: a list of decimals": lambda: toml(b"a=[" + b"1.5," * (DOCUMENT // 4 - 4) + b"]"),
        "TOML: a list of inline tables": lambda: toml(b"a=[" + b"{a=1}," * (DOCUMENT // 6 - 3) + b"]"),
        "TOML: a list of dates": lambda: toml(b"a=[" + b"1979-05-27T07:32:00Z," * (DOCUMENT // 21 - 3) + b"]"),
        "TOML: a text of escapes": lambda: toml(b'a="' + b"\\n" * (DOCUMENT // 2 - 9) + b'"'),
        "TOML: quotes": lambda: toml(b'a="""' + b'""\\"' * (DOCUMENT // 4 - 9) + b'"""'),
        "TOML: quotes without end": lambda: toml(b'"' * DOCUMENT),
        "TOML: blanks after a key": lambda: toml(b"a" + b" " * (DOCUMENT - 9) + b".b=1"),
        "TOML: one long bare word": lambda: toml(b"a" * DOCUMENT),
        "TOML: comments": lambda: toml(b"#\n" * (DOCUMENT // 2)),
        "TOML: nested lists": lambda: toml(b"a=" + b"[" * (DOCUMENT // 2) + b"]" * (DOCUMENT // 2 - 2)),
        "JSON: nested lists": lambda: Input(b"[" * (DOCUMENT // 2) + b"]" * (DOCUMENT // 2), ".json", b"{}"),
        "JSON: empty objects": lambda: Input(b"[" + b"{}," * (DOCUMENT // 3 - 2) + b"{}]", ".json", b"{}"),
        "JSON: one number of 4 MB": lambda: Input(b"1" * DOCUMENT, ".json", b"{}"),
        "JSON: points": many_points,
        "exponents of 1000, a point each": lambda: expressions("1e1000*1e-1000*1e1000", RATIONAL, {}),
        "quotients of numbers of 100 digits": lambda: expressions("/".join([HUNDRED_DIGITS] * 39), RATIONAL, {}),
        "products of sums in degree 32": lambda: expressions(
            "*".join(["(1+sqrt(2))"] * 300), root_of_two(32), {"sqrt(2)": [*[0] * 16, 1, *[0] * 15]}
        ),
        "cos(pi/997), wrong": lambda: expressions(
            "cos(pi/997)", root_of_two(32), {"cos(pi/997)": [0, "1/2", *[0] * 30]}
        ),
        "a loop of 1,999 corners, all boxes meet": lambda: comb(1998, 1),
        "200 loops of 1,999 corners, all boxes meet": lambda: comb(1998, 200),
        "a recipe of 200 turns and 200,000 marks": recipe_of_turns,
    },
    "Certificates": {
        "a clause of 141 kB": lambda: long_clause(141_000),
        "a clause of 1 MB": lambda: long_clause(CERTIFICATE - 10),
        "20,000 reasons of eight clauses, 6,000 steps": many_reasons,
        "90 steps that are longer than they need be": deriving_and_deriving,
        "60,000 steps that say nothing": chain_of_implications,
        "nested lists": lambda: nested(490_000),
        "empty lists": lambda: one_by_one(b"[],"),
        "empty objects": lambda: one_by_one(b"{},"),
        "empty texts": lambda: one_by_one(b'"",'),
        "one number of 1 MB": lambda: one_by_one(b"1"),
        "degree 32, coefficients of 400 digits": lambda: long_field(32, 400),
        "degree 32, coefficients of 3,900 digits": lambda: long_field(32, 3900),
        "the same, the ends of the interval too": lambda: long_field(32, 3900, ends=True),
        "2,000 zeros in disguise, degree 32, coefficients of 120 digits": near_zero,
        "points with 32 denominators of 4,000 digits": fractions_of_points,
        "points with 4 denominators of 4,000 digits": four_denominators,
        "500 panels in degree 32": lambda: coarse_grid(32),
        "8,000 equal panels, 8,000 layers": lambda: strip([1] * 8000),
        "5,000 panels of random lengths, all over each other": lambda: fan(5000),
        "2,000 panels, an exception for every other pair": lambda: exceptions(2000),
        "2,000 panels, all snips that there is room for": lambda: many_snips(2000),
        "2,000 panels, more targets than snips, all on one line": lambda: far_apart(2000),
        "a walk of 10,000 faces": long_walk,
    },
    "Honest, and large": {
        **{
            f"a strip of {count:,} panels, each over two others": partial(drifting, count)
            for count in (1000, 2000, 4000, 8000)
        },
        "1,400 panels of random lengths, all over each other": lambda: fan(1400),
    },
}


def rows(only: list[str], folder: Path, kernel: Path) -> Iterator[tuple[str, list[tuple[str, Input, Run]]]]:
    for title, inputs in INPUTS.items():
        found = []
        for name, make in inputs.items():
            if only and not any(word in name for word in only):
                continue
            given = make()
            if len(given.document) > DOCUMENT or len(given.certificate) > CERTIFICATE:
                raise SystemExit(f"{name}: {len(given.document)} and {len(given.certificate)} bytes")
            found.append((name, given, run(given, folder, kernel)))
            print(name, *found[-1][2], sep="; ", file=sys.stderr, flush=True)
        yield title, found


def page(only: list[str], kernel: Path) -> str:
    said = (__doc__ or "").split("\n\n")[2].replace("\n", " ").strip()
    lines = ["# Hostile inputs", "", f"Made by `benchmarks/hostile.py`. {said}", ""]
    lines += [
        (
            f"The goal: none holds the kernel for more than {SECONDS} s or {MEGABYTES / 1000:g} GB, and no answer "
            "is false. The bound of work is declared in `verify/kernel/SPECIFICATION.md`, §11; why it is "
            "enough for honest work stands in [theory/bounds.md](theory/bounds.md)."
        ),
        "",
    ]
    with tempfile.TemporaryDirectory() as folder:
        for title, found in rows(only, Path(folder), kernel):
            lines += [
                f"## {title}",
                "",
                "| input | document, kB | certificate, kB | verdict | s | MB |",
                "|---|---|---|---|---|---|",
            ]
            for name, given, told in found:
                sizes = f"{len(given.document) / 1000:,.0f} | {len(given.certificate) / 1000:,.0f}"
                lines.append(f"| {name} | {sizes} | {told.verdict} | {told.seconds:.1f} | {told.megabytes:.0f} |")
            lines.append("")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument(
        "--only", nargs="+", default=[], metavar="WORD", help="those whose names have one of these words"
    )
    parser.add_argument("--kernel", type=Path, default=ROOT, help="a folder with another verify/kernel, to compare")
    parser.add_argument("--write", type=Path, help="the page to write; left out: standard output")
    arguments = parser.parse_args()
    text = page(arguments.only, arguments.kernel)
    if arguments.write:
        arguments.write.write_text(text, encoding="utf-8")
    else:
        print(text)


if __name__ == "__main__":
    main()
