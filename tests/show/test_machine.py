"""Files for machines, read back with general-purpose libraries (ezdxf, svgelements): lengths, places and layers."""

from __future__ import annotations

import io
from math import dist
from pathlib import Path

import ezdxf
import pytest
import shapely
import svgelements

import verify
from tests.cli.command import run
from tests.corpus import certified
from tests.places import PROOFS
from verify.show.machine import LAYERS, NotCertified, machine_dxf, machine_lines, machine_svg

NAMES = [
    "alphabet/S.toml",
    "certified/kite.toml",
    "certified/ring.toml",
    "recipes/window-three-folds.toml",
    "certified/panel-round-hole.toml",
]


def edges_by_layer(result: verify.Result) -> dict[str, list[tuple[tuple[float, float], tuple[float, float]]]]:
    """From the subdivision, edge by edge, without joining."""
    s, unit = result.subdivision, {"mm": 1.0, "cm": 10.0}[result.document.unit]
    assert s is not None
    found: dict[str, list[tuple[tuple[float, float], tuple[float, float]]]] = {layer: [] for layer in LAYERS}
    for number, e in enumerate(s.edges):
        a, b = (tuple(float(c) * unit for c in s.vertices[v]) for v in e.ends)
        kind = result.order.assignment(number) if e.kind == "either" and result.order else e.kind
        layers = {"border": ["cut"], "mountain": ["score mountain"], "valley": ["score valley"]}.get(kind, [])
        for layer in (*layers, *(["target"] if e.target else [])):
            found[layer].append((a, b))  # type: ignore[arg-type]
    return found


@pytest.mark.parametrize("name", NAMES)
def test_dxf(name: str) -> None:
    result = certified(PROOFS / name)
    drawing = ezdxf.read(io.StringIO(machine_dxf(result)))  # type: ignore[attr-defined]
    assert drawing.units == 4  # millimetres, in the DXF reference's $INSUNITS
    expected = edges_by_layer(result)
    for layer in LAYERS:
        lines = [
            ((e.dxf.start.x, e.dxf.start.y), (e.dxf.end.x, e.dxf.end.y))
            for e in drawing.modelspace()
            if e.dxf.layer == layer
        ]
        assert sum(dist(a, b) for a, b in lines) == pytest.approx(sum(dist(a, b) for a, b in expected[layer]), abs=1e-6)
        one, other = (shapely.MultiLineString(x) for x in (lines, expected[layer]))
        assert one.hausdorff_distance(other) < 1e-6 if lines else not expected[layer]
    assert {e.dxf.layer for e in drawing.modelspace()} <= set(LAYERS)


@pytest.mark.parametrize("name", NAMES)
def test_svg(name: str) -> None:
    """One user unit is one millimetre: 96 px to the inch of 25.4 mm (CSS), so lengths in px scale back."""
    result = certified(PROOFS / name)
    svg = svgelements.SVG.parse(io.StringIO(machine_svg(result)))
    mm = 25.4 / 96
    expected = edges_by_layer(result)
    corners = [p for line in expected["cut"] for p in line]
    # with a margin of 5 mm all round, which was chosen; y runs down
    left, right = min(x for x, _ in corners) - 5, max(x for x, _ in corners) + 5
    bottom, top = min(y for _, y in corners) - 5, max(y for _, y in corners) + 5
    assert (svg.width * mm, svg.height * mm) == pytest.approx((right - left, top - bottom), abs=1e-3)
    for layer in LAYERS:
        (group,) = svg.select(lambda e, layer=layer: e.values.get("id") == layer.replace(" ", "-"))
        lines = [svgelements.Path(line) for line in group if isinstance(line, svgelements.SimpleLine)]
        drawn = [[(left + p.x * mm, top - p.y * mm) for p in (line.point(0), line.point(1))] for line in lines]
        assert sum(dist(a, b) for a, b in drawn) == pytest.approx(sum(dist(a, b) for a, b in expected[layer]), rel=1e-6)
        one, other = (shapely.MultiLineString(x) for x in (drawn, expected[layer]))
        assert one.hausdorff_distance(other) < 1e-3 if drawn else not expected[layer]


def test_straight_lines_are_whole() -> None:
    lines = machine_lines(certified(PROOFS / "certified" / "window-three-folds.toml"))
    assert len(lines["cut"]) == 4
    assert all(len(lines[layer]) <= 8 for layer in LAYERS)


def test_svg_of_a_pattern_without_a_target_is_read_again(tmp_path: Path) -> None:
    """Every layer is in the drawing, so the same rules fit each; one for a layer that is not there does not."""
    assert run("export", PROOFS / "certified" / "map-3x3.toml", "-o", tmp_path / "cut.svg").exit_code == 0
    kinds = ["cut:border", "score-mountain:mountain", "score-valley:valley", "target:target"]
    rules = [word for kind in kinds for word in ("--line", f"layer={kind}")]
    assert run("import", tmp_path / "cut.svg", "-o", tmp_path / "again.toml", *rules).exit_code == 0
    again = verify.load(tmp_path / "again.toml")
    assert not again.loops
    assert (verify.certify(again).verdict, verify.certify(again).claims) == ("certified", ("folds-flat",))
    missed = run("import", tmp_path / "cut.svg", "-o", tmp_path / "no.toml", *rules, "--line", "layer=goal:target")
    assert missed.exit_code == 2
    assert "found no line that it fits" in missed.output


@pytest.mark.parametrize("name", ["certified/ring.toml", "certified/kite.toml"])
def test_svg_is_read_again_with_its_outlines(name: str, tmp_path: Path) -> None:
    """Outlines come back as outlines, not as single lines, so it is known which piece is the figure."""
    before = verify.load(PROOFS / name)
    assert run("export", PROOFS / name, "-o", tmp_path / "cut.svg").exit_code == 0
    layers = {"cut": "border", "score-mountain": "mountain", "score-valley": "valley", "target": "target"}
    rules = [word for layer, kind in layers.items() for word in ("--line", f"layer={layer}:{kind}")]
    done = run("import", tmp_path / "cut.svg", "-o", tmp_path / "again.toml", *rules)
    assert done.exit_code == 0, done.output
    assert "nothing says which piece" not in done.output
    again = verify.load(tmp_path / "again.toml")
    assert (sorted(map(len, again.loops)), again.paths) == (sorted(map(len, before.loops)), ())


def test_only_what_is_certified(tmp_path: Path) -> None:
    with pytest.raises(NotCertified, match="found a pattern that is refuted; expected a certified one"):
        machine_lines(certified(PROOFS / "refuted" / "trapped-panel.toml"))
    done = run("export", PROOFS / "refuted" / "trapped-panel.toml", "-o", tmp_path / "x.svg")
    assert (done.exit_code, (tmp_path / "x.svg").exists()) == (1, False)
    for name, status in (("x.png", 2), ("x.svg", 0), ("x.dxf", 0)):
        assert run("export", PROOFS / "certified" / "kite.toml", "-o", tmp_path / name).exit_code == status
