"""Documents as bytes: their names, their marks, and keys that a reader should not be made to keep."""

from __future__ import annotations

from pathlib import Path

import pytest

import verify
from tests.places import PROOFS
from verify.certificate.audit import audit, audit_files
from verify.pattern.recipe import load_any, read_any
from verify.pattern.source import Malformed
from verify.pattern.write import write

KITE = PROOFS / "certified" / "kite.toml"
PROOF = PROOFS / "certificates" / "kite.certificate.json"
MARK = b"\xef\xbb\xbf"


@pytest.mark.parametrize("name", [".toml", ".TOML", "x.Toml"])
def test_what_is_toml_by_its_name(name: str, tmp_path: Path) -> None:
    """For the one who reads, for the kernel, and for what is written."""
    path = tmp_path / name
    path.write_bytes(KITE.read_bytes())
    assert load_any(path) == load_any(KITE)
    assert audit(path, PROOF).accepted
    assert audit_files(str(path), str(PROOF)).accepted
    write(load_any(KITE), path)
    assert path.read_bytes().startswith(b"format = ")


@pytest.mark.parametrize("name", ["toml", "x.toml.json", "x.tom"])
def test_what_is_not(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(KITE.read_bytes())
    with pytest.raises(Malformed):
        load_any(path)
    assert audit_files(str(path), str(PROOF)).code == "document.unreadable"


@pytest.mark.parametrize("name", ["kite.toml", "kite.json", "house.toml"])
def test_a_byte_order_mark(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    if name == "kite.json":
        write(load_any(KITE), path)
    else:
        path.write_bytes((KITE if name == "kite.toml" else PROOFS / "recipes" / name).read_bytes())
    plain = load_any(path)
    path.write_bytes(MARK + path.read_bytes())
    marked = load_any(path)
    assert marked == plain
    assert marked.statement_sha256 == plain.statement_sha256
    result = verify.certify(marked)
    assert result.verdict == "certified"
    if name != "house.toml":
        assert read_any(path.read_bytes()) == plain  # by its first character, which is not the mark
        assert read_any(path.read_bytes(), toml=name.endswith(".toml")) == plain


@pytest.mark.parametrize(
    ("text", "line"),
    [("\n\na.b.c.d.e = 1", 3), ('a = """\n\n"""\n[x."y.z".c.d.e]', 4), (".".join("a" * 300_000) + " = 1", 1)],
)
def test_a_key_of_many_parts(text: str, line: int) -> None:
    """600 kB of one key took 3 GB."""
    with pytest.raises(Malformed) as fault:
        read_any(text, toml=True)
    assert "more than 4 parts" in str(fault.value)
    assert fault.value.line == line


def test_dots_that_are_no_parts_of_a_key() -> None:
    text = KITE.read_text().replace("title  = ", "title = ", 1)
    title = next(row for row in text.splitlines() if row.startswith("title"))
    document = read_any(text.replace(title, 'title = "www.a.b.c.d.e.f" # ..........'), toml=True)
    assert document.title == "www.a.b.c.d.e.f"


def test_many_tables_with_dotted_names() -> None:
    with pytest.raises(Malformed, match="10,001 tables"):
        read_any("".join(f"[a.b{i}]\n" for i in range(10_001)), toml=True)
