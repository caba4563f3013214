"""What shows itself in a notebook, and the tutorial run from its first cell to its last."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from typing import Any
from xml.etree import ElementTree

import pytest

import verify
from tests.places import PROOFS
from verify.show import notebook


@pytest.mark.parametrize("name", ["certified/kite.toml", "recipes/kite.toml", "refuted/trapped-panel.toml"])
def test_documents_and_results(name: str) -> None:
    document = verify.load(PROOFS / name)
    for shown in (document, verify.certify(document)):
        ElementTree.fromstring(shown._repr_svg_())  # type: ignore[union-attr]
        html = shown._repr_html_()  # type: ignore[union-attr]
        assert html.count("<svg") == 2
        assert verify.certify(document).verdict in html


def test_a_folded_state() -> None:
    folded = verify.fold(verify.load(PROOFS / "recipes" / "kite.toml"))  # type: ignore[arg-type]
    ElementTree.fromstring(folded._repr_svg_())  # type: ignore[attr-defined]
    assert "certified" in folded._repr_html_()  # type: ignore[attr-defined]


def test_titles_cannot_write_html() -> None:
    document = verify.read(
        {
            "format": "creaseproof-pattern/1",
            "title": "<script>alert(1)</script>",
            "points": {"a": [0, 0], "b": [4, 0], "c": [4, 4]},
            "sheet": {"outline": ["a", "b", "c"]},
        }
    )
    assert "<script>" not in notebook.result_html(verify.certify(document))


def test_outside_of_notebooks_no_picture_is_imported() -> None:
    code = "import sys, verify; verify.load; sys.exit(any(m.startswith('verify.show') for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0


def test_the_cells_of_the_tutorial(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each cell as a notebook runs it: its statements, then the value that it ends with is shown."""
    monkeypatch.chdir(PROOFS)
    names: dict[str, Any] = {}
    pictures = 0
    for cell in json.loads((PROOFS / "tutorial.ipynb").read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] != "code":
            continue
        statements = ast.parse("".join(cell["source"])).body
        last = statements.pop() if isinstance(statements[-1], ast.Expr) else None
        exec(compile(ast.Module(statements, []), "tutorial", "exec"), names)
        if last is not None:
            value = eval(compile(ast.Expression(last.value), "tutorial", "eval"), names)
            pictures += "<svg" in getattr(value, "_repr_html_", str)()
    assert pictures >= 4


def test_the_tutorial() -> None:
    """In a kernel of its own, as Jupyter runs it."""
    nbformat = pytest.importorskip("nbformat")
    nbclient = pytest.importorskip("nbclient")
    pytest.importorskip("ipykernel")
    book = nbformat.read(PROOFS / "tutorial.ipynb", as_version=4)
    resources = {"metadata": {"path": str(PROOFS)}}
    nbclient.NotebookClient(book, timeout=120, kernel_name="python3", resources=resources).execute()
    pictures = [
        o for cell in book.cells if cell.cell_type == "code" for o in cell.outputs if "text/html" in o.get("data", {})
    ]
    assert len(pictures) >= 4
