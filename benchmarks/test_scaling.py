"""Speed against the same pipeline in float64, from a 4×4 to a 20×20 Miura, and in number fields.

    python -m pytest -p benchmark --dist=no benchmarks/test_scaling.py -q

Look at medians; the machine may be busy. `growth.py` takes both sides in turn.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from benchmarks import measure, yardstick
from tests.families import miura
from verify.certificate.audit import audit
from verify.pattern.document import Document
from verify.pattern.recipe import load_any
from verify.tasks.certify import certify

CERTIFIED = Path(__file__).resolve().parent.parent / "proofs" / "certified"
SIZES = (4, 8, 12, 16, 20)
FIELDS = ("star", "letter-l", "letter-t")

miuras = pytest.mark.parametrize("size", SIZES)
fields = pytest.mark.parametrize("name", FIELDS)


def shipped(name: str) -> Document:
    return load_any(CERTIFIED / f"{name}.toml")


def evidence(document: Document) -> bytes:
    return json.dumps(certify(document).certificate).encode()


@miuras
def test_geometry_exact(benchmark: Any, size: int) -> None:
    benchmark.group = f"Miura {size}×{size}: document to conditions"
    found = benchmark(measure.exact_conditions, miura(size, size))
    benchmark.extra_info.update(measure.size(found))


@miuras
def test_geometry_float64(benchmark: Any, size: int) -> None:
    benchmark.group = f"Miura {size}×{size}: document to conditions"
    document = miura(size, size)
    found = benchmark(yardstick.conditions, document)
    assert measure.size(found) == measure.size(measure.exact_conditions(document))


@miuras
def test_whole_exact(benchmark: Any, size: int) -> None:
    """All of certify: the findings at every vertex, the order, the certificate and the kernel's check of it."""
    benchmark.group = f"Miura {size}×{size}: whole"
    result = benchmark.pedantic(certify, (miura(size, size),), rounds=3)
    assert result.verdict == "certified"


@miuras
def test_whole_float64(benchmark: Any, size: int) -> None:
    """Geometry in float64 and the same search for an order; nothing is proved."""
    benchmark.group = f"Miura {size}×{size}: whole"
    document = miura(size, size)
    found = benchmark.pedantic(lambda: yardstick.find_order(yardstick.conditions(document)), rounds=3)
    assert isinstance(found, yardstick.LayerOrder)


@miuras
def test_audit(benchmark: Any, size: int) -> None:
    benchmark.group = "audit"
    document = miura(size, size)
    assert benchmark.pedantic(audit, (document, evidence(document)), rounds=5).accepted


@fields
def test_field_geometry_exact(benchmark: Any, name: str) -> None:
    benchmark.group = f"{name}: document to conditions"
    benchmark(measure.exact_conditions, shipped(name))


@fields
def test_field_geometry_float64(benchmark: Any, name: str) -> None:
    benchmark.group = f"{name}: document to conditions"
    document = shipped(name)
    found = benchmark(yardstick.conditions, document)
    assert measure.size(found) == measure.size(measure.exact_conditions(document))


@fields
def test_field_certify(benchmark: Any, name: str) -> None:
    benchmark.group = "fields: certify"
    assert benchmark(certify, shipped(name)).verdict == "certified"


@fields
def test_field_audit(benchmark: Any, name: str) -> None:
    benchmark.group = "fields: audit"
    document = shipped(name)
    assert benchmark(audit, document, evidence(document)).accepted
