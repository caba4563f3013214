"""Whatever the bytes, the kernel answers; and no small random edit of a good certificate makes a false one pass."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tracemalloc
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.places import ROOT
from tests.profiles import examples, share, some
from verify.kernel.check import check_bytes, check_files
from verify.kernel.reading import Rejected, Work
from verify.kernel.refutation import Clauses

from .examples import ODD, as_bytes, ladder, map22, paths, replaced, run, square, strip, windmill
from .test_certified import ACCEPTED
from .test_refuted import ACCEPTED as REFUTED


@examples(300)
@given(st.binary(max_size=60), st.binary(max_size=60), st.booleans())
def test_any_bytes(document: bytes, certificate: bytes, toml: bool) -> None:
    outcome = check_bytes(document, certificate, toml=toml)
    assert not outcome.accepted
    assert outcome.code not in ("", "internal")


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=8,
)


ALL = {**ACCEPTED, **{f"refuted: {name}": make for name, (make, _) in REFUTED.items()}}


@examples(400)
@given(st.sampled_from(sorted(ALL)), st.randoms(use_true_random=False), json_values, st.booleans())
def test_any_value_anywhere(name: str, chance: random.Random, new: Any, in_document: bool) -> None:
    document, cert = ALL[name]()
    if in_document:
        document = replaced(document, chance.choice(paths(document)), new)
    else:
        cert = replaced(cert, chance.choice(paths(cert)), new)
    outcome = run((document, cert))
    assert outcome.code != "internal", outcome.reason


@pytest.mark.parametrize("name", sorted(ALL))
def test_odd_values_everywhere(name: str) -> None:
    """An odd value at every other place of the certificate, four at every place with --long."""
    document, cert = ALL[name]()
    tried = 0
    chance = random.Random(name)
    for path in some(paths(cert), of=2):
        for new in chance.sample(ODD, share(4)):
            outcome = run((document, replaced(cert, path, new)))
            assert outcome.code != "internal", (path, new, outcome.reason)
            tried += 1
    assert tried > share(70)


@pytest.mark.parametrize("name", ["2 x 2 map", "square out of a square", "sqrt", "two snips"])
def test_every_number_matters(name: str) -> None:
    """Vertices, images, faces and chains: no number can be another one."""
    document, cert = ALL[name]()
    for path in paths({key: cert[key] for key in ("vertices", "faces", "chains", "fold")}):
        inner = cert
        for key in path:
            inner = inner[key]
        if isinstance(inner, int):
            for new in (inner + 1, inner - 1):
                assert not run((document, replaced(cert, path, new))).accepted, path


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_list_is_as_long_as_it_must_be(name: str) -> None:
    document, cert = ALL[name]()
    for path in some(paths(cert), of=2):
        if path[0] in ("refutation", "field", "cut"):
            continue
        inner = cert
        for key in path:
            inner = inner[key]
        if isinstance(inner, list) and inner and path != ("order", "except"):
            assert not run((document, replaced(cert, path, inner[:-1]))).accepted, path
            assert not run((document, replaced(cert, path, [*inner, inner[-1]]))).accepted, path


def test_all_orders_of_the_map() -> None:
    """Of the 24 stacks of the 2 x 2 map, those that the kernel accepts with every assignment of the four creases."""
    from itertools import permutations, product

    accepted = 0
    for kinds in product(("mountain", "valley"), repeat=4):
        for stack in permutations(range(4)):
            document, cert = map22()
            for crease, kind in zip(document["creases"], kinds, strict=True):
                crease[2] = kind
            from .examples import sealed

            cert["order"]["stack"] = list(stack)
            accepted += run(sealed((document, cert))).accepted
    # a vertex of four right angles: 8 assignments with |M - V| = 2, each with exactly one order
    assert accepted == 8


def test_exceptions_do_not_open_a_door() -> None:
    """Any pair of the windmill's overlapping faces as the exception of any stack: accepted means consistent."""
    from itertools import permutations

    accepted = set()
    for stack in permutations(range(1, 5)):
        for pair in ([1, 2], [2, 1], [2, 3], [3, 2], [3, 4], [4, 3], [4, 1], [1, 4]):
            document, cert = windmill(1)
            cert["order"] = {"stack": [0, *stack], "except": [pair]}
            if run((document, cert)).accepted:
                above = tuple(
                    sorted(
                        (a, b) if stack.index(a) > stack.index(b) else (b, a)
                        for a, b in ((1, 2), (2, 3), (3, 4), (1, 4))
                    )
                )
                accepted.add((above, tuple(pair)))
            wide, wide_cert = windmill(2)
            wide_cert["order"] = cert["order"]
            outcome = run((wide, wide_cert))
            if outcome.accepted:  # then the exchange of two neighbours in the stack says the same
                i, j = sorted(cert["order"]["stack"].index(f) for f in pair)
                assert j == i + 1
    assert accepted


def test_memory_that_ends_is_no_bug_of_the_kernel(monkeypatch: pytest.MonkeyPatch) -> None:
    def greedy(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr("verify.kernel.check.read_subdivision", greedy)
    outcome = run(map22())
    assert (outcome.accepted, outcome.malformed, outcome.code) == (False, False, "limit")


LONG = [(0, g) for g in range(1, 15_001)]


def test_a_long_clause_is_kept_once() -> None:
    """Not once for each of its literals: 141 kB of a certificate took more than 5 GB."""
    tracemalloc.start()
    Clauses(Work(0, 0)).add(LONG)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20 << 20


def test_the_work_of_a_derivation_is_bounded() -> None:
    """The clause is gone through for each of its literals: 225 million steps, of which no more are made than are
    left.
    """
    clauses = Clauses(Work(0, 0))
    clauses.add(LONG)
    clauses.work.left = 300_000
    with pytest.raises(Rejected) as fault:
        clauses.follows(LONG)
    assert fault.value.code == "limit"
    assert clauses.work.left < 0


def test_a_derivation_counts_as_work_by_its_literals() -> None:
    """The bound of SPECIFICATION §11: one for each literal that becomes true, and one for each in a clause that then
    is gone through. From a or b or c, not b, not c follows a: three, and for each of not b and not c the three of the
    first clause.
    """
    a, b, c = (0, 1), (2, 3), (4, 5)
    clauses = Clauses(Work(0, 0))
    clauses.add([a, b, c])
    before = clauses.work.left
    clauses.add([b[::-1]])
    clauses.add([c[::-1]])
    assert clauses.settled == {a, b[::-1], c[::-1]}
    assert before - clauses.work.left == 3 + 2 * 3


def test_numbers_in_place_of_lists_of_faces() -> None:
    document, cert = square()
    for stack in ("01234567", {str(i): i for i in range(8)}, 7, None, [[i] for i in range(8)], [True, *range(1, 8)]):
        cert["order"]["stack"] = stack
        assert run((document, cert)).code == "certificate.type"


def test_deep_nesting() -> None:
    document, cert = map22()
    text = as_bytes(cert)
    for size in (100, 900, 100_000):
        for hole in (b'"except": []', b'"values": {}', b'"root": [0, 0]'):
            key = hole.split(b":")[0]
            deep = text.replace(hole, key + b": " + b"[" * size + b"]" * size)
            assert not check_bytes(as_bytes(document), deep, toml=False).accepted


def command(*arguments: str, flags: tuple[str, ...] = ("-S",)) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *flags, "-m", "verify.kernel", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("flags", [("-S",), ("-S", "-O"), ("-S", "-OO", "-I")])
def test_command(tmp_path: Path, flags: tuple[str, ...]) -> None:
    if "-I" in flags:
        flags = ("-S", "-OO")
    document, cert = square()
    (tmp_path / "d.json").write_bytes(as_bytes(document))
    (tmp_path / "c.json").write_bytes(as_bytes(cert))
    good = str(tmp_path / "d.json"), str(tmp_path / "c.json")
    done = command(*good, flags=flags)
    assert (done.returncode, done.stderr) == (0, "")
    told = json.loads(done.stdout)
    assert (told["proves"], told["statement_sha256"]) == ("certified", cert["statement_sha256"])
    assert told["accepted"] is True
    assert told["claims"] == ["folds-flat", "cut-exact"]
    assert told["facts"]["layers"] == 4
    cert["order"]["stack"].reverse()
    (tmp_path / "c.json").write_bytes(as_bytes(cert))
    done = command(*good, flags=flags)
    assert done.returncode == 1
    assert json.loads(done.stdout)["code"] == "order.direction"
    if flags != ("-S",):
        return  # what is said of files and arguments does not ask for flags
    (tmp_path / "c.json").write_bytes(b"?")
    assert command(*good, flags=flags).returncode == 2
    told = json.loads(command(*good, flags=flags).stdout)
    assert told["accepted"] is False
    assert told["proves"] is None
    assert told["reason"]
    done = command(good[0], str(tmp_path / "none.json"))
    assert (done.returncode, done.stderr) == (2, "")
    told = json.loads(done.stdout)
    assert (told["accepted"], told["malformed"], told["code"]) == (False, True, "unreadable")
    assert told["reason"] == f"cannot read '{tmp_path / 'none.json'}': No such file or directory"
    assert command(good[0]).returncode == 2
    assert command().returncode == 2
    assert command(*good, "--yaml").returncode == 2
    assert command(good[0]).stderr == "usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE\n"


@pytest.mark.parametrize("option", ["--help", "-h"])
def test_the_command_says_how_it_is_used(option: str) -> None:
    for flag in ("-S", "-OO"):  # without docstrings too
        done = command(option, flags=(flag,))
        assert (done.returncode, done.stderr) == (0, "")
        assert "usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE" in done.stdout.splitlines()
        assert ("exit status: 0 accepted, 1 rejected, 2 malformed" in done.stdout) == (flag == "-S")


def test_command_tells_each_verdict(tmp_path: Path) -> None:
    for i, case in enumerate([map22(), ladder(2, 2), *some([make() for make, _ in REFUTED.values()])]):
        (tmp_path / f"{i}.json").write_bytes(as_bytes(case[0]))
        (tmp_path / "c.json").write_bytes(as_bytes(case[1]))
        done = command(str(tmp_path / f"{i}.json"), str(tmp_path / "c.json"))
        assert done.returncode == 0
        told = json.loads(done.stdout)
        assert (told["accepted"], told["proves"]) == (True, case[1]["proves"])


def test_files(tmp_path: Path) -> None:
    outcome = check_files(str(tmp_path), "nowhere")
    assert (outcome.malformed, outcome.code) == (True, "unreadable")
    assert outcome.reason == f"cannot read '{tmp_path}': Is a directory"
    outcome = check_files("nothing\0here", "nowhere")
    assert (outcome.malformed, outcome.code) == (True, "unreadable")
    document, cert = strip(2, [(1, "valley")])
    (tmp_path / "d.toml").write_bytes(as_bytes(document))
    (tmp_path / "c").write_bytes(as_bytes(cert))
    assert check_files(tmp_path / "d.toml", tmp_path / "c").code == "document.unreadable"


def test_the_kernel_stands_alone() -> None:
    """Standard library only, no asserts, no floats."""
    import ast

    for path in sorted((ROOT / "verify" / "kernel").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            assert not isinstance(node, ast.Assert)
            if isinstance(node, ast.Import):
                assert all(name.name.split(".")[0] in sys.stdlib_module_names for name in node.names)
            if isinstance(node, ast.ImportFrom):
                standard = node.module and node.module.split(".")[0] in sys.stdlib_module_names
                assert node.level == 1 or (node.level == 0 and standard)
            if isinstance(node, ast.Constant):
                assert not isinstance(node.value, float)
            if isinstance(node, ast.Name):
                assert node.id not in ("float", "eval", "exec")
