"""What is told without search, against all layer orders counted one by one."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from tests.families import miura
from tests.profiles import examples
from verify.folding.bundles import Bundles
from verify.folding.count import layer_orders
from verify.folding.crossing import Conditions, crossing_conditions
from verify.folding.foldmap import fold_map
from verify.folding.overlaps import Overlaps
from verify.folding.saturation import Contradiction, Saturation, piles
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import draw
from verify.pattern.families import strip
from verify.tasks.certify import certify


def conditions_of(document: Document) -> Conditions:
    return crossing_conditions(Overlaps(fold_map(subdivide(draw(document)))))


@examples(60)
@given(st.lists(st.integers(1, 3), min_size=3, max_size=7), st.data())
def test_what_is_told_holds_in_every_layer_order(lengths: list[int], data: st.DataObject) -> None:
    word = data.draw(st.text("MVE", min_size=len(lengths) - 1, max_size=len(lengths) - 1))
    conditions = conditions_of(strip(lengths, word))
    bundles = Bundles(len(conditions.pairs), conditions.equal)
    orders = [order.above.first_above for order in layer_orders(conditions)]
    if bundles.conflict is not None:
        assert not orders
        return
    try:
        told = Saturation(conditions, bundles)
    except Contradiction:
        assert not orders
        return
    values = told.of(bundles.of_pairs)
    for holds in orders:
        assert ((values == 0) | ((values > 0) == holds)).all()


def test_a_miura_is_told_completely() -> None:
    conditions = conditions_of(miura(17, 17))
    told = Saturation(conditions, Bundles(len(conditions.pairs), conditions.equal))
    assert len(piles(conditions.overlaps)) == 1
    assert told.open == 0
    assert not len(told.even)
    # from 10,000 bundles on this is how the order is found, and the kernel accepts it
    assert len(told.values) > 10_000
    assert certify(miura(17, 17)).verdict == "certified"


def test_piles_have_a_common_point() -> None:
    overlaps = conditions_of(strip([3, 1] * 6)).overlaps
    for faces in piles(overlaps):
        places = overlaps.fold_map.images
        spans = [sorted(places[v].x for v in overlaps.subdivision.faces[f]) for f in faces.tolist()]
        assert max(low for low, *_ in spans) < min(span[-1] for span in spans)
        assert len(np.unique(faces)) == len(faces)
