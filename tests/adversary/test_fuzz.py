"""Hostile input, at random and by design: no crash, no hang, no verdict but the honest one; the same under `python -O`.

Mutations are of bytes: flipped, cut out, repeated, exchanged with pieces of other files. `benchmarks/fuzz.py` goes on.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

import verify
from tests.profiles import share
from verify.kernel.check import check_bytes
from verify.pattern.document import Document
from verify.pattern.recipe import Recipe, read_any
from verify.pattern.source import NotRead
from verify.pattern.svg import target_from_svg

from .corpus import PROOFS, accepted
from .targets import TARGETS, kept

SVG = [
    (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80"><g '
        b'transform="rotate(90) scale(-1 2)"><rect x="20" y="20" width="40" height="40"/></g></svg>'
    ),
    (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="3in" height="96px"><path id="a" d="M10,10 h20 v20.5e0 '
        b'l-5-5 Z m5 5L40 40"/><polyline points="1,2 3,4 5 1"/><use href="#a" x="3"/></svg>'
    ),
]
SMALL = [(document, certificate) for document, certificate in accepted() if certificate.stat().st_size < 12_000]


def mutated(rng: random.Random, data: bytes, others: list[bytes]) -> bytes:
    """A few changes of bytes."""
    text = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        if not text:
            break
        i, j = sorted(rng.randrange(len(text) + 1) for _ in range(2))
        j = min(j, i + 40)
        match rng.randrange(7):
            case 0:
                text[i : i + 1] = bytes([rng.randrange(256)])
            case 1:
                del text[i:j]
            case 2:
                text[i:i] = text[i:j] * rng.randint(1, 30)
            case 3:
                other = rng.choice(others)
                k = rng.randrange(len(other) + 1)
                text[i:j] = other[k : k + rng.randint(0, 60)]
            case 4:
                text[i:j] = rng.choice(
                    [
                        b"0",
                        b"-1",
                        b"1/0",
                        b'"',
                        b"[",
                        b"]",
                        b"{}",
                        b"null",
                        b"1e999",
                        b"\xff",
                        b"\x00",
                        b"sqrt(",
                        b"\xe2\x82",
                        b"9" * 300,
                    ]
                )
            case 5:
                text = text[:i]
            case 6:
                text[i:i] = b"[" * rng.randint(1, 2000)
    return bytes(text)


def told(error: NotRead) -> None:
    """A refusal says something, on one line."""
    assert str(error)
    assert "\n" not in str(error)


def fuzz_documents(rounds: int, seed: int) -> int:
    """How many of the mutated documents were still understood."""
    rng, understood = random.Random(seed), 0
    contents = [(d.read_bytes(), d.suffix == ".toml") for d, _ in SMALL]
    for _ in range(rounds):
        data, toml = rng.choice(contents)
        data = mutated(rng, data, [c for c, _ in contents[:9]])
        try:
            document = read_any(data, source="fuzz", toml=toml)
        except NotRead as error:
            told(error)
            continue
        assert isinstance(document, Document | Recipe)
        understood += 1
    return understood


def fuzz_kernel(rounds: int, seed: int) -> int:
    """How many of the mutated pairs were still accepted; each of these states what it did before."""
    rng, count = random.Random(seed), 0
    for _ in range(rounds):
        document, certificate = rng.choice(SMALL)
        data, proof = document.read_bytes(), certificate.read_bytes()
        honest = json.loads(proof)
        if rng.random() < 0.5:
            data = mutated(rng, data, [proof])
        else:
            proof = mutated(rng, proof, [data])
        outcome = check_bytes(data, proof, toml=document.suffix == ".toml")
        assert outcome.code != "internal", outcome.reason
        assert len(outcome.reason) < 2_000
        if outcome.accepted:
            assert (outcome.proves, outcome.statement_sha256) == (honest["proves"], honest["statement_sha256"])
            count += 1
    return count


def fuzz_svg(rounds: int, seed: int, folder: Path) -> int:
    rng, understood = random.Random(seed), 0
    path = folder / "fuzz.svg"
    for _ in range(rounds):
        path.write_bytes(mutated(rng, rng.choice(SVG), SVG))
        try:
            understood += isinstance(target_from_svg(path), Document)
        except NotRead as error:
            told(error)
    return understood


def test_documents() -> None:
    assert fuzz_documents(share(2_000), seed=1) > 0


def test_the_kernel() -> None:
    assert fuzz_kernel(share(1_250), seed=1) > 0


def test_drawings(tmp_path: Path) -> None:
    assert fuzz_svg(share(2_000), seed=1, folder=tmp_path) > 0


def test_the_same_without_asserts(root: Path) -> None:
    """`python -O`: the kernel gives the same answers."""
    code = """
        import sys
        sys.path.insert(0, ".")
        from tests.adversary.corpus import accepted, document_of, edited, edits
        from verify.kernel.check import check_bytes
        assert not sys.argv, "-O leaves this out"
        for e in edits()[::9]:
            document, toml = document_of(e)
            outcome = check_bytes(document, edited(e), toml=toml)
            if outcome.accepted or outcome.code != e["code"]:
                sys.exit(f"{e}: {outcome.code}")
        for document, certificate in accepted()[::9]:
            toml = document.suffix == ".toml"
            if not check_bytes(document.read_bytes(), certificate.read_bytes(), toml=toml).accepted:
                sys.exit(str(document))
    """
    done = subprocess.run(
        [sys.executable, "-O", "-c", textwrap.dedent(code)],
        cwd=root,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


HUGE = {
    "a million digits": (lambda c: c["vertices"][0].__setitem__(0, "1" * 10**6), "certificate.number"),
    "a million digits, no text": (lambda c: c["vertices"][0].__setitem__(0, 10**4_100), "certificate.number"),
    "a field of degree 1000": (lambda c: c["field"].update(polynomial=[0] * 1000 + [1]), "certificate.length"),
    "a hundred thousand faces": (lambda c: c.update(faces=[[0, 1, 2]] * 10**5), "certificate.length"),
    "a face of a hundred thousand corners": (lambda c: c["faces"].__setitem__(0, [0, 1] * 50_000), "faces.convex"),
}


@pytest.mark.parametrize("name", HUGE)
def test_huge(name: str) -> None:
    change, code = HUGE[name]
    certificate = json.loads((PROOFS / "certificates" / "kite.certificate.json").read_bytes())
    change(certificate)
    outcome = check_bytes(
        (PROOFS / "certified" / "kite.toml").read_bytes(), json.dumps(certificate).encode(), toml=True
    )
    assert (outcome.accepted, outcome.code) == (False, code)


def test_deep() -> None:
    document = (PROOFS / "certified" / "kite.toml").read_bytes()
    for text in (b"[" * 10**5, b'{"a":' * 10**5 + b"1" + b"}" * 10**5):
        outcome = check_bytes(document, text, toml=True)
        assert (outcome.malformed, outcome.code) == (True, "certificate.unreadable")
        with pytest.raises(NotRead):
            read_any(text, source="deep", toml=False)


TRIANGLE = (
    'format = "creaseproof-pattern/1"\npoints.a = [%s, 0]\npoints.b = [10, 0]\npoints.c = [0, '
    '10]\nsheet.outline = ["a", "b", "c"]\n'
)
NUMBERS = {  # and the verdict, None where the document is malformed
    "a million digits": ("1" * 10**6, None),
    "a million decimals": ("0." + "1" * 10**6, None),
    "an exponent of nine digits": ("1e999999999", None),
    "roots in roots": ('"' + "sqrt(2+" * 45 + "3" + ")" * 45 + '"', "undecided"),
    "ten roots": ('"' + "+".join(f"sqrt({p})" for p in (2, 3, 5, 7, 11, 13, 17, 19, 23, 29)) + '"', "undecided"),
    "an angle of degree 498": ('"cos(pi/997)"', "undecided"),
    "a number of half a million digits": ('"' + "*".join(["1e1000"] * 500) + '"', "undecided"),
}


@pytest.mark.parametrize("name", NUMBERS)
def test_numbers_of_a_document(name: str, tmp_path: Path) -> None:
    text, verdict = NUMBERS[name]
    path = tmp_path / "triangle.toml"
    path.write_text(TRIANGLE % text)
    assert check_bytes(path.read_bytes(), b"{}", toml=True).code in (
        "document.number",
        "document.unreadable",
        "certificate.format",
    )
    if verdict is None:
        with pytest.raises(NotRead):
            verify.certify(path)
    else:
        assert verify.certify(path).verdict == verdict


HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80">'
DRAWINGS = {
    "entities in entities": '<!DOCTYPE a [<!ENTITY a "1">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
    + f']>{HEAD}<rect width="&j;" height="1"/></svg>',
    "copies of copies": HEAD
    + '<rect id="u0" width="4" height="4"/>'
    + "".join(f'<g id="u{i + 1}">{f"""<use href="#u{i}"/>""" * 10}</g>' for i in range(9))
    + "</svg>",
    "copies in a circle": HEAD + '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></svg>',
    "groups nested deep": HEAD + "<g>" * 10**5 + "</g>" * 10**5 + "</svg>",
    "a million digits": HEAD + f'<rect x="{"1" * 10**6}" width="4" height="4"/></svg>',
    "an exponent of nine digits": HEAD + '<rect x="1e999999999" width="4" height="4"/></svg>',
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_hostile_drawings(name: str, tmp_path: Path) -> None:
    path = tmp_path / "drawing.svg"
    path.write_text(DRAWINGS[name])
    with pytest.raises(NotRead) as error:
        target_from_svg(path)
    told(error.value)


@pytest.mark.parametrize("target", TARGETS)
def test_what_was_kept_from_fuzzing(target: str) -> None:
    """Every input that once reached new code (`benchmarks/fuzz.py`) gets an honest answer."""
    inputs = kept(target)
    assert len(inputs) >= 40
    for data in inputs:
        TARGETS[target](data)
