"""From a document to a verdict: every check, one certificate, and the kernel's word on it."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from verify.certificate import cut_findings as say_cut
from verify.certificate import findings as say
from verify.certificate.audit import audit
from verify.certificate.evidence import Evidence, Json
from verify.certificate.findings import Finding
from verify.cutting.cut import Cut, cut
from verify.cutting.pieces import Piece, pieces
from verify.folding.closure import Walk, walk_round_hole, walk_round_vertex
from verify.folding.conflict import Conflict, explain_conflict
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import FoldMap, Reflections, fold_map
from verify.folding.order import LayerOrder, NoOrder, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.vertex import VertexReport, vertex_reports
from verify.pattern.document import Document, load
from verify.pattern.drawing import draw
from verify.pattern.limits import LimitReached, Limits
from verify.pattern.subdivision import Subdivision, subdivide

Verdict = Literal["certified", "refuted", "malformed", "undecided", "unsupported"]
Progress = Callable[[str], None]


class KernelRefused(RuntimeError):
    """The kernel did not accept a certificate that this package wrote: a bug here, never a verdict."""


@dataclass(frozen=True)
class Result:
    """The verdict on one document.

    `certified` and `refuted` were accepted by the kernel on `certificate`; `undecided` says that a declared limit came first
    (see the findings) and nothing about the paper. `findings` holds everything that was checked. The parts that were
    reached (`subdivision`, `folded`, `order`, `cutting`, `parts`) are there for pictures and further questions.
    """

    verdict: Verdict
    document: Document
    findings: tuple[Finding, ...]
    certificate: Json | None = None
    subdivision: Subdivision | None = field(default=None, repr=False)
    folded: FoldMap | None = field(default=None, repr=False)
    order: LayerOrder | None = field(default=None, repr=False)
    cutting: Cut | None = field(default=None, repr=False)
    parts: tuple[Piece, ...] = field(default=(), repr=False)

    @property
    def statement_sha256(self) -> str:
        return self.document.statement_sha256

    @property
    def claims(self) -> tuple[str, ...]:
        return self.document.claims

    @property
    def failures(self) -> tuple[Finding, ...]:
        """The findings that fail."""
        return tuple(f for f in self.findings if f.level == "fails")

    def keys(self) -> dict[str, Any]:
        """The result as `--json` prints it."""
        facts: dict[str, Any] = {}
        if self.subdivision is not None:
            facts["faces"] = len(self.subdivision.faces)
            facts["folds"] = sum(e.is_fold for e in self.subdivision.edges)
        if self.cutting is not None:
            facts["layers_at_cut"] = self.cutting.most_layers
            facts["snips_needed"] = self.cutting.needed
        return {
            "document": self.document.source,
            "title": self.document.title,
            "verdict": self.verdict,
            "statement_sha256": self.statement_sha256,
            "claims": list(self.claims),
            "findings": [f.keys() for f in self.findings],
            "facts": facts,
        }


def certify(document: Document | str | Path, limits: Limits = Limits(), progress: Progress | None = None) -> Result:
    """Check a pattern document (or the file of one) and prove the outcome.

    Raises `Malformed` if the document cannot be understood, `KernelRefused` for a bug of this package. A
    verdict `certified` or `refuted` has been accepted by the kernel, which read the document itself.
    """
    if not isinstance(document, Document):
        document = load(document)
    return _Certifier(document, limits, progress).run()


class _Certifier:
    def __init__(self, document: Document, limits: Limits, progress: Progress | None) -> None:
        self.document, self.limits, self.progress = document, limits, progress
        self.findings: list[Finding] = []
        self.limit: LimitReached | None = None

    def run(self) -> Result:
        try:
            s = subdivide(draw(self.document, self.limits), self.limits)
        except LimitReached as limit:
            self._limited(limit)
            return Result("undecided", self.document, tuple(self.findings))
        self._say(f"{len(s.faces):,} faces, {sum(e.is_fold for e in s.edges):,} folds")
        evidence = Evidence(s)
        reports = vertex_reports(s)
        for report in reports:
            self.findings += say.of_vertex(s, report)
        broken = self._closure(s, reports)
        parts = tuple(pieces(s)) if self.document.has_target else ()
        certificate: Json | None = None
        order: LayerOrder | None = None
        cutting: Cut | None = None
        folded = fold_map(s)
        if broken is not None:
            certificate = evidence.does_not_close(broken)
        else:
            if not folded.exists:
                raise RuntimeError("the folds close round every vertex and hole, and yet do not fit")
            overlaps = Overlaps(folded)
            if self.document.snips is not None:
                cutting = cut(overlaps, self.document.snips)
            unequal = next((r.vertex for r in reports if r.maekawa is False), None)
            if unequal is not None:
                certificate = evidence.maekawa(unequal)
            else:
                found = self._order(overlaps)
                if isinstance(found, LayerOrder):
                    order = found
                elif found is not None:
                    self.findings.append(say.of_conflict(found))
                    certificate = evidence.no_order(folded, found)
        if cutting is not None:
            self.findings += say_cut.of_cut(cutting)
            if not cutting.exact and certificate is None:
                certificate = evidence.cut_fails(folded, cutting)
        if parts:
            self.findings.append(say_cut.of_pieces(s, list(parts)))
        if cutting is not None:
            self.findings += say_cut.of_advice(cutting, list(parts))
        if order is not None and certificate is None:
            certificate = evidence.certified(folded, order, cutting)
        verdict: Verdict = "undecided"
        if certificate is not None:
            verdict = self._kernel(certificate)
        return Result(verdict, self.document, tuple(self.findings), certificate, s, folded, order, cutting, parts)

    def _closure(self, s: Subdivision, reports: list[VertexReport]) -> Walk | None:
        """The first closed walk that does not close, if there is one; findings for every hole."""
        reflections = Reflections(s)
        broken = next((walk_round_vertex(s, r.vertex) for r in reports if r.kawasaki is False), None)
        for number in range(len(self.document.holes)):
            walk = walk_round_hole(s, number)
            self.findings.append(say.of_hole(s, walk, reflections))
            if broken is None and not walk.closes(reflections):
                broken = walk
        return broken

    def _order(self, overlaps: Overlaps) -> LayerOrder | Conflict | None:
        try:
            found = find_order(crossing_conditions(overlaps), self.limits, self.progress)
        except LimitReached as limit:
            self._limited(limit)
            return None
        if isinstance(found, NoOrder):
            return explain_conflict(found, self.progress)
        pairs = len(found.conditions.pairs)
        circle = f", {len(found.exceptions)} of them in circles without a common point" if found.exceptions else ""
        message = f"a layer order exists: {pairs:,} overlapping pairs of panels{circle}"
        self.findings.append(Finding("layer-order", "layer-order", "holds", message, (), {"pairs": pairs}))
        return found

    def _kernel(self, certificate: Json) -> Verdict:
        self._say("the kernel checks the certificate")
        outcome = audit(self.document, json.dumps(certificate).encode())
        proves = str(certificate["proves"])
        if (
            not outcome.accepted
            or outcome.proves != proves
            or outcome.statement_sha256 != self.document.statement_sha256
        ):
            raise KernelRefused(
                f"{self.document.source}: the kernel did not accept a certificate for {proves!r}: {outcome.code}: {outcome.reason}"
            )
        return "certified" if proves == "certified" else "refuted"

    def _limited(self, limit: LimitReached) -> None:
        self.limit = limit
        value = {"limit": limit.limit, "allowed": limit.allowed}
        self.findings.append(
            Finding("limit", "limit-reached", "advice", f"{limit}; nothing is proved either way", (), value)
        )

    def _say(self, message: str) -> None:
        if self.progress:
            self.progress(message)
