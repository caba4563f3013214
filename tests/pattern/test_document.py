"""Documents: round trips, the digest that the kernel works out by itself, and text that is no document."""

from __future__ import annotations

import json
from contextlib import nullcontext
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import verify
from tests.families import miura, vertex
from tests.places import PROOFS
from tests.profiles import examples
from verify.kernel.reading import Rejected
from verify.kernel.statement import read_document
from verify.pattern.document import KINDS, UNITS, Crease, Document, perhaps
from verify.pattern.families import stamps, strip
from verify.pattern.recipe import load_any, read_any
from verify.pattern.source import Malformed, line_of
from verify.pattern.write import to_toml

NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=6)
NUMBERS = st.one_of(
    st.integers(-(10**40), 10**40).map(str),
    st.fractions(max_denominator=99).map(str),
    st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-999, max_value=999).map(lambda d: f"{d:f}"),
    st.sampled_from(["sqrt(2)", "cos(pi/5)", "1/3+sqrt(5)/4", "-0", "007", "1e-30", "2E+3", "-(1+2)*3", "tan(3*pi/8)"]),
)


@st.composite
def documents(draw: st.DrawFn) -> Document:
    """Any document of the right form; its geometry need not make sense."""
    names = draw(st.lists(NAMES, min_size=3, max_size=8, unique=True))
    name = st.sampled_from(names)
    loop = st.lists(name, min_size=3, max_size=5).map(tuple)
    path = st.lists(name, min_size=2, max_size=4).map(tuple)
    loops, paths = draw(st.lists(loop, max_size=2)), draw(st.lists(path, max_size=2))
    return Document(
        points={n: (draw(NUMBERS), draw(NUMBERS)) for n in names},
        outline=draw(loop),
        holes=tuple(draw(st.lists(loop, max_size=2))),
        creases=tuple(draw(st.lists(st.builds(Crease, name, name, st.sampled_from(KINDS)), max_size=4))),
        loops=tuple(loops),
        paths=tuple(paths),
        snips=draw(st.integers(1, 9)) if loops or paths else None,
        title=draw(st.text(st.characters(exclude_categories=["Cs"]), max_size=10)),
        unit=draw(st.sampled_from(UNITS)),
    )


@examples(200)
@given(documents())
def test_round_trips(document: Document) -> None:
    text = to_toml(document)
    for again in (
        read_any(text, toml=True),
        read_any(json.dumps(document.keys()), toml=False),
        read_any(json.dumps(document.keys(), ensure_ascii=False)),
        read_any(document.keys()),
    ):
        assert again == document
        assert again.statement_sha256 == document.statement_sha256
        assert again.statement() == document.statement()


@examples(200)
@given(documents())
def test_the_kernel_reads_the_same_statement(document: Document) -> None:
    for content, toml in (
        (to_toml(document).encode(), True),
        (json.dumps(document.keys()).encode(), False),
        (json.dumps(document.keys(), ensure_ascii=False, indent=2).encode(), False),
    ):
        statement = read_document(content, toml)
        assert statement.digest == document.statement_sha256
        assert statement.claims == document.claims
        assert statement.target_lines() == document.target_lines()


@examples(100)
@given(documents(), st.data())
def test_the_digest_tells_documents_apart(document: Document, data: st.DataObject) -> None:
    keys = json.loads(json.dumps(document.keys()))
    change = data.draw(st.sampled_from(["point", "unit", "outline", "crease", "title", "snips"]))
    if change == "point":
        name = data.draw(st.sampled_from(sorted(keys["points"])))
        keys["points"][name][0] = f"{document.points[name][0]}+1"
    elif change == "unit":
        keys["unit"] = next(u for u in UNITS if u != keys["unit"])
    elif change == "outline":
        keys["sheet"]["outline"].append(keys["sheet"]["outline"][0])
    elif change == "crease":
        keys["creases"].append([*keys["sheet"]["outline"][:2], "flat"])
    elif change == "snips" and document.has_target:
        keys["cut"]["snips"] += 1
    else:
        keys["title"] = "another title"
        assert read_any(keys).statement_sha256 == document.statement_sha256  # a title states nothing
        return
    assert read_any(keys).statement_sha256 != document.statement_sha256


@examples(300)
@given(
    st.one_of(st.binary(max_size=80), st.text(max_size=80).map(lambda s: s.encode("utf-8", "surrogatepass"))),
    st.sampled_from([True, False, None]),
)
def test_garbage_is_malformed(content: bytes, toml: bool | None) -> None:
    with pytest.raises(Malformed):
        read_any(content, toml=toml)


JSON_LIKE = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=True)
    | st.text(max_size=4)
    | st.sampled_from(["a", "b", "creaseproof-pattern/1", "mountain"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                [
                    "format",
                    "points",
                    "sheet",
                    "outline",
                    "holes",
                    "creases",
                    "target",
                    "cut",
                    "a",
                    "b",
                    "loops",
                    "snips",
                ]
            ),
            inner,
            max_size=5,
        )
    ),
    max_leaves=20,
)


@examples(300)
@given(JSON_LIKE, st.sampled_from([None, "points", "sheet", "creases", "target", "cut", "title", "unit"]))
def test_wrong_shapes_are_malformed(value: Any, key: str | None) -> None:
    """Either a document or Malformed; and what is read, the kernel reads as the same."""
    keys = value if key is None else strip([1, 2]).keys() | {key: value}
    text = json.dumps(keys)
    try:
        document = read_any(text, toml=False)
    except Malformed:
        return
    assert read_document(text.encode(), False).digest == document.statement_sha256


@examples(300)
@given(
    st.sampled_from([strip([1, 2, 1]), stamps(2, 2), vertex([(1, 0), (0, 1), (-1, 0), (0, "-sqrt(2)")])]),
    st.booleans(),
    st.data(),
)
def test_one_character_changed(document: Document, toml: bool, data: st.DataObject) -> None:
    """A mutated text is malformed, or a document that gets a verdict; never an internal error."""
    text = to_toml(document) if toml else json.dumps(document.keys())
    at = data.draw(st.integers(0, len(text) - 1))
    new = data.draw(st.sampled_from([*'"[]{}=,.#-+*/()0159abpes\n', ""]))
    mutated = text[:at] + new + text[at + data.draw(st.integers(0, 1)) :]
    try:
        result = verify.certify(read_any(mutated, toml=toml))
    except Malformed:
        return
    assert result.verdict in ("certified", "refuted")


def edge(number: str, name: str, verdict: str) -> Any:
    return pytest.param(number, verdict, id=name)


@pytest.mark.parametrize(
    ("number", "verdict"),
    [
        edge("1 2", "blank in a literal", "malformed"),
        edge("1 . 5", "blanks round a point", "malformed"),
        edge("s qrt(2)", "blank in a name", "malformed"),
        edge("1\r", "carriage return", "malformed"),
        edge("1" + " " * 4000, "many blanks", "malformed"),
        edge("*".join(["1e1000"] * 30), "large product", "undecided"),
        edge("/".join(["1", *["1e1000"] * 12]), "small quotient", "undecided"),
        edge("sqrt(" * 50 + "2" + ")" * 50, "root of a root of a root", "undecided"),
        edge("1e1000", "large literal", "certified"),
        edge("9" * 1000, "long literal", "certified"),
        edge("cos(pi/1000)", "small angle", "undecided"),
        edge("1+" * 1999 + "1", "long sum", "certified"),
        edge("-" * 3999 + "1", "many signs", "certified"),
        edge("(" * 50 + "1" + ")" * 50, "many parentheses", "certified"),
        edge("tan(pi/7)*tan(2*pi/7)*tan(3*pi/7)", "product of tangents", "certified"),
        edge("1/(1+sqrt(2))/(sqrt(3)-sqrt(2))", "quotients of roots", "certified"),
    ],
)
def test_numbers_on_the_edge(number: str, verdict: str) -> None:
    """Malformed, undecided past a limit, or certified: never an internal error."""
    keys = strip([1, 2]).keys()
    keys["points"]["z"] = [number, 0]
    if verdict == "malformed":
        with pytest.raises(Malformed) as caught:
            verify.certify(read_any(json.dumps(keys)))
        assert caught.value.place == "points.z"
        return
    result = verify.certify(read_any(json.dumps(keys)))
    assert result.verdict == verdict
    assert [f.kind for f in result.findings if f.check == "limit"] == ["limit-reached"] * (verdict == "undecided")


@pytest.mark.parametrize("size", ["1e300", "1e400", "9" * 1000, "1e-300", "1e-400", "1e-900"])
def test_coordinates_of_any_size(size: str) -> None:
    assert verify.certify(vertex([(size, 0), (0, size), (f"-{size}", 0), (0, f"-{size}")])).verdict == "certified"


@pytest.mark.parametrize("size", ["1e300", "1e100", "1e-300", "1e-400", "1e-900"])
def test_a_hair_at_any_size(size: str) -> None:
    assert (
        verify.certify(vertex([(size, 0), (0, size), (f"-{size}", 0), (f"{size}*1e-30", f"-{size}")])).verdict
        == "refuted"
    )


@pytest.mark.parametrize("size", ["1e300", "1e400", "1e900"])
def test_one_corner_far_beyond_all_others(size: str) -> None:
    """Beside it all others are one place in floats; a triangle that no crease brings onto one line is refuted."""
    points = {"a": ("0", "0"), "b": ("100", "0"), "c": ("100", size), "d": ("0", "100")}
    points |= {"p": ("10", "10"), "q": ("20", "10"), "r": ("10", "20")}
    document = Document(points, ("a", "b", "c", "d"), loops=(("p", "q", "r"),), snips=1)
    assert verify.certify(document).verdict == "refuted"


@pytest.mark.parametrize("scale", ["1e-400", "1e-320", "1e-200", "1e-20", "1e150", "1e400"])
@pytest.mark.parametrize(
    ("file", "verdict"),
    [
        ("certified/ring.toml", "certified"),
        ("certified/kite.toml", "certified"),
        ("refuted/trapped-panel.toml", "refuted"),
        ("recipes/house.toml", "certified"),
    ],
)
def test_verdicts_at_any_size(file: str, verdict: str, scale: str) -> None:
    """Paper has no size of its own: what folds and is cut does so at every scale, within floats (10^-308 to 10^308 by
    IEEE 754) or not.
    """
    document = load_any(PROOFS / file)
    points = {name: (f"({x})*{scale}", f"({y})*{scale}") for name, (x, y) in document.points.items()}
    result = verify.certify(replace(document, points=points))
    assert result.verdict == verdict
    if verdict == "certified" and document.noun == "pattern":
        assert verify.steps(result).pattern is result
        with nullcontext() if scale != "1e400" else pytest.raises(verify.LimitReached):
            verify.export(result)


def test_many_decimals_in_one_line_of_toml() -> None:
    points = ",".join(f"p{i}=[0.5,0.5]" for i in range(2600))
    head = f'format="creaseproof-pattern/1"\npoints={{{points},a=[0,0],b=[1,0],c=[1,1]}}\n'
    text = head + 'sheet={outline=["a","b","c"]}\n'
    assert verify.certify(read_any(text, toml=True)).verdict == "certified"


def test_half_a_surrogate_pair_in_a_text() -> None:
    with pytest.raises(Malformed):
        read_any("\ud800")


def test_upper_case_suffix(tmp_path: Path) -> None:
    """A file X.TOML is TOML for the reader, and its certificate is accepted through the interface."""
    path = tmp_path / "X.TOML"
    path.write_text(to_toml(strip([1, 1])))
    result = verify.certify(path)
    assert result.verdict == "certified"
    assert verify.audit(path, result.certificate or {}).accepted


def test_upper_case_suffix_in_the_command(tmp_path: Path) -> None:
    from verify.kernel.check import check_files

    path, proof = tmp_path / "X.TOML", tmp_path / "proof.json"
    path.write_text(to_toml(strip([1, 1])))
    proof.write_text(json.dumps(verify.certify(path).certificate))
    assert check_files(path, proof).accepted


def test_a_dict_is_no_document_and_is_told_what_reads_it() -> None:
    with pytest.raises(TypeError, match=r"found a dict; expected a document .*verify\.read reads a dict"):
        verify.certify({"format": "creaseproof-pattern/1"})  # type: ignore[arg-type]


@pytest.mark.parametrize("content", ["", "\n \n", "\ufeff"])
def test_an_empty_file_is_told_as_such(content: str, tmp_path: Path) -> None:
    (tmp_path / "empty.json").write_text(content, encoding="utf-8")
    with pytest.raises(Malformed, match=r"\(line \d\): found nothing; expected a JSON document$"):
        verify.load(tmp_path / "empty.json")


@pytest.mark.parametrize("content", [[], None, Path("kite.toml")])
def test_what_is_no_content_is_told_what_is_read(content: object) -> None:
    with pytest.raises(TypeError, match=r"found a .*; expected text, bytes or a mapping with a document's keys"):
        verify.read(content)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "document",
    [
        strip([1, 2, 3], "MVM"[:2]),
        stamps(3, 2),
        miura(3, 3),
        miura(2, 2, slant=Fraction(1, 3)),
        vertex([("sqrt(2)", 0), (0, 1), (-1, 0), (0, -1)]),
    ],
)
@pytest.mark.parametrize("suffix", ["toml", "TOML", "json", "txt"])
def test_files(document: Document, suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"x.{suffix}"
    verify.write(document, path)
    again = load_any(path)
    assert again == document
    assert again.source == str(path)
    assert again.raw == path.read_bytes()
    assert again.is_toml == (suffix.lower() == "toml")
    assert verify.certify(again).verdict == verify.certify(document).verdict


def test_the_corpus_reads_the_same_in_the_kernel(proofs: Path) -> None:
    ran = 0
    for path in [*(proofs / "certified").iterdir(), *(proofs / "refuted").iterdir()]:
        if path.suffix in (".toml", ".json"):
            document = load_any(path)
            assert read_document(path.read_bytes(), path.suffix == ".toml").digest == document.statement_sha256
            assert read_any(to_toml(document), toml=True).statement_sha256 == document.statement_sha256
            ran += 1
    assert ran >= 39


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("5o", 'an operator between "5" and "o", or a digit 0 for the letter'),
        ("2 sqrt(2)", 'an operator between "2" and "sqrt"'),
        ("5 mm", 'a number alone: the document has one unit for all, such as unit = "mm"'),
    ],
)
def test_two_numbers_side_by_side_are_told_as_they_were_written(text: str, expected: str) -> None:
    keys = strip([1, 2], "M").keys()
    name = next(iter(keys["points"]))
    with pytest.raises(Malformed) as error:
        read_any(keys | {"points": keys["points"] | {name: [0, text]}})
    assert (error.value.place, error.value.found) == (f"points.{name}", f'y = "{text}"')
    assert error.value.expected == expected


def test_lines_of_keys() -> None:
    text = to_toml(stamps(2, 2))
    rows = text.splitlines()
    for place, start in (
        ("points.p11", "p11 = "),
        ("sheet.outline", "outline = "),
        ("creases[0]", '    ["p01"'),
        ("format", "format = "),
    ):
        line = line_of(text, place)
        assert line is not None
        assert rows[line - 1].startswith(start)
    assert line_of(text, "cut.snips") is None


def test_lines_of_keys_in_inline_tables() -> None:
    """Each table on a line of its own, as README has it; a point may be called as a key is."""
    rows = [
        "points = { loops = [0, 0], outline = [1, 0], c = [0, 1] }",
        'sheet = { outline = ["loops", "outline", "c"] }',
        'target = { loops = [["c", "loops", "outline"]],',
        '  figure = ["c"] }',
    ]
    places = {"points.c": 1, "sheet.outline": 2, "target.loops[0]": 3, "target.loops": 3, "target.figure": 4}
    assert {place: line_of("\n".join(rows), place) for place in places} == places


def test_what_was_perhaps_meant() -> None:
    """Two letters the other way round are one slip of the hand (Damerau 1964, from memory)."""
    assert perhaps("es", ["sw", "se", "ne"]) == ' (perhaps "se")'
    assert perhaps("sq", ["sw", "se"]) != ""
    assert perhaps("x", ["sw", "se"]) == perhaps(3, ["sw"]) == ""


def test_rejections_of_the_kernel_have_a_place() -> None:
    """For every way in which the reader refuses a shape, the kernel refuses it too."""
    keys = strip([1, 2], "M").keys()
    wrong: list[dict[str, Any]] = [
        keys | {"format": "creaseproof-pattern/2"},
        keys | {"extra": 1},
        keys | {"unit": "km"},
        keys | {"title": 3},
        keys | {"points": {}} | {"sheet": {"outline": ["a", "b", "c"]}},
        keys | {"points": keys["points"] | {"b0": [0]}},
        keys | {"points": keys["points"] | {"b0": [True, 0]}},
        keys | {"points": keys["points"] | {"": [0, 0]}},
        keys | {"sheet": {"outline": ["b0", "b2"]}},
        keys | {"sheet": keys["sheet"] | {"holes": [["b0"]]}},
        keys | {"creases": [["b1", "t1"]]},
        keys | {"creases": [["b1", "t1", "fold"]]},
        keys | {"creases": [["b1", "zz", "flat"]]},
        keys | {"target": {}},
        keys | {"target": {"loops": [["b0", "b1"]]}},
        keys | {"cut": {"snips": 1}},
        keys | {"target": {"paths": [["b1", "t1"]]}, "cut": {"snips": 0}},
        keys | {"target": {"paths": [["b1", "t1"]]}, "cut": {"snips": True}},
        {k: v for k, v in keys.items() if k != "sheet"},
    ]
    for value in wrong:
        text = json.dumps(value)
        with pytest.raises(Malformed):
            read_any(text)
        with pytest.raises(Rejected):
            read_document(text.encode(), False)


@pytest.mark.parametrize("corners", [300, pytest.param(2400, marks=pytest.mark.long)])
def test_an_outline_of_many_corners(corners: int) -> None:
    """A comb, not folded."""
    half = corners // 2
    points = {"z0": [0, -1], "z1": [half - 1, -1]} | {f"c{i}": [i, i % 2] for i in range(half)}
    text = json.dumps(
        {
            "format": "creaseproof-pattern/1",
            "points": points,
            "sheet": {"outline": ["z0", "z1", *(f"c{i}" for i in reversed(range(half)))]},
        }
    )
    assert verify.certify(read_any(text)).verdict == "certified"


@pytest.mark.parametrize("text", ["1 2", "12 ", "\t12", "1 +\n2"])
def test_a_number_with_blanks_in_a_document_made_in_memory_is_malformed_at_once(text: str) -> None:
    """The reader of files takes blanks out where they are allowed; the kernel would read another text than was
    meant.
    """
    points = {"a": ("0", "0"), "b": ("12", "0"), "c": ("0", "12")}
    assert Document(points=points, outline=("a", "b", "c")).points == points
    with pytest.raises(Malformed, match=r"points\.b: found .*; expected a number written without blanks"):
        Document(points=points | {"b": (text, "0")}, outline=("a", "b", "c"))
