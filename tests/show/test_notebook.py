"""What shows itself in a notebook, and the tutorial run from its first cell to its last."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import nbformat
import pytest
from nbclient import NotebookClient

import verify
from verify.show import notebook

PROOFS = Path(__file__).resolve().parent.parent.parent / "proofs"


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


def test_the_tutorial() -> None:
    book = nbformat.read(PROOFS / "tutorial.ipynb", as_version=4)
    NotebookClient(book, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(PROOFS)}}).execute()
    pictures = [
        o for cell in book.cells if cell.cell_type == "code" for o in cell.outputs if "text/html" in o.get("data", {})
    ]
    assert len(pictures) >= 4
