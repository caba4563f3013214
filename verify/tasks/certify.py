"""From a document to a verdict: every check, one certificate, and the kernel's word on it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from verify.certificate.audit import audit
from verify.certificate.evidence import Evidence, Json
from verify.certificate.recipe_evidence import RecipeEvidence
from verify.cutting.cut import Cut, Layers, cut, cut_along, layers_along, most
from verify.cutting.hands import Hands, hands
from verify.cutting.pieces import Piece, pieces
from verify.errors import CreaseproofError
from verify.exact.effort import EffortSpent, bounded
from verify.folding.alignments import UnsupportedAlignment
from verify.folding.conflict import Conflict, explain_conflict
from verify.folding.crossing import crossing_conditions
from verify.folding.foldmap import FoldMap, Reflections, Walk, fold_map, walk_round_hole, walk_round_vertex
from verify.folding.order import NoOrder, find_order
from verify.folding.overlaps import Overlaps
from verify.folding.stack import LayerOrder, order_of_stack
from verify.folding.steps import Folded, NoCutLine, carry_out
from verify.folding.vertex import VertexReport, vertex_reports
from verify.pattern.arrangement import subdivide
from verify.pattern.document import Document
from verify.pattern.drawing import Drawing, draw
from verify.pattern.limits import LimitReached, Limits, Progress, silent
from verify.pattern.recipe import load_any
from verify.pattern.subdivision import Subdivision
from verify.tasks import rounding_notes as rounding
from verify.words import cut_findings as say_cut
from verify.words import findings as say
from verify.words import step_findings as say_steps
from verify.words.findings import Finding, finding
from verify.words.hands_findings import keys as hands_keys
from verify.words.hands_findings import of_hands

Verdict = Literal["certified", "refuted", "malformed", "undecided", "unsupported"]


class KernelRefused(CreaseproofError, RuntimeError):
    """The kernel did not accept a certificate that this package wrote: a bug here, never a verdict."""


@dataclass(frozen=True)
class Result:
    """The verdict on one document.

    `certified` and `refuted` were accepted by the kernel on `certificate`; `undecided` says that a declared limit came
    first (see the findings) and nothing about the paper. `findings` holds everything that was checked. The parts that
    were reached (`subdivision`, `fold_map`, `order`, `cutting`, `parts`, `hands`, and for a recipe `carried`) are
    there for pictures and further questions.
    """

    verdict: Verdict
    document: Document
    findings: tuple[Finding, ...]
    certificate: Json | None = None
    subdivision: Subdivision | None = field(default=None, repr=False)
    fold_map: FoldMap | None = field(default=None, repr=False)
    order: LayerOrder | None = field(default=None, repr=False)
    cutting: Cut | None = field(default=None, repr=False)
    parts: tuple[Piece, ...] = field(default=(), repr=False)
    carried: Folded | None = field(default=None, repr=False)
    hands: Hands | None = field(default=None, repr=False)

    @property
    def statement_sha256(self) -> str:
        return self.document.statement_sha256

    @property
    def claims(self) -> tuple[str, ...]:
        return self.document.claims

    @cached_property
    def layers(self) -> tuple[Layers, ...]:
        """The layers along the cut, or along the line of a recipe without a target; empty without a cut."""
        if self.cutting is not None:
            return self.cutting.layers
        if self.carried is None or self.carried.along is None or self.order is None:
            return ()
        return tuple(layers_along(self.order.overlaps, *self.carried.along))

    @property
    def layers_met(self) -> int:
        """The greatest of these numbers; 0 without a cut."""
        return most(self.layers)

    @property
    def frees_something(self) -> bool:
        """Whether the target, cut, makes more than one piece of the sheet; True where the pieces are not known."""
        return len(self.parts) != 1

    @property
    def is_carried_out(self) -> bool:
        """Whether this is a recipe, and each of its steps was done."""
        return self.carried is not None and self.carried.refused is None

    @property
    def failures(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.level == "fails")

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """Why it is not certified: the findings that fail, then the limits that were reached."""
        return (*self.failures, *(f for f in self.findings if f.check == "limit"))

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """The findings that warn of what hands or scissors cannot do; they have no part in the verdict."""
        return tuple(f for f in self.findings if f.level == "warning")

    @property
    def told(self) -> tuple[Finding, ...]:
        """The warnings, then advice and notes."""
        return (*self.warnings, *(f for f in self.findings if f.is_told))

    def with_hands(self) -> Result:
        """This result with what hands meet, and the findings on it; as it is without a layer order. How true creases
        must be is not said of a refuted one: true ones do not help.
        """
        if self.order is None:
            return self
        cut = self.cutting if self.verdict != "refuted" else None
        try:
            met = hands(self.order, self.layers_met, self.carried, cut)
        except (EffortSpent, OverflowError):  # numbers too long to be measured: no part of what was proved
            return self
        told = list(of_hands(met))
        warned = any(f.kind == "too-thick" for f in told)  # which says more than the advice on thick stacks
        kept = [f for f in self.findings if not (warned and f.kind == "thick")]
        return replace(self, hands=met, findings=(*kept, *told))

    def keys(self) -> dict[str, Any]:
        """The result as `--json` prints it."""
        return {
            "document": self.document.source,
            "title": self.document.title,
            "verdict": self.verdict,
            "statement_sha256": self.statement_sha256,
            "claims": list(self.claims),
            "findings": [f.keys() for f in self.findings],
            "facts": facts(self),
        }


Source = Result | Document | str | Path
"""What functions take that speak of a result: one, or what it would be of."""


def facts(result: Result) -> dict[str, Any]:
    """The numbers of a result, as `--json` has them under `facts`; what was not reached is left out.

    `faces` and `folds` (fold edges) after subdivision, and `panels`, the paper between the folds; `layers_at_cut` (the
    most that the scissors meet) and `snips_needed` (None: no number of snips cuts the target in this folding); `hands`,
    what hands meet, in the document's unit and rounded to doubles, and `warnings`, the kinds of the findings that warn
    of it. They are what the search found: the verdict alone is proved.
    """
    found: dict[str, Any] = {}
    if result.subdivision is not None:
        found["faces"] = len(result.subdivision.faces)
        found["panels"] = len(result.subdivision.panels)
        found["folds"] = sum(e.is_fold for e in result.subdivision.edges)
    if result.cutting is not None:
        found["layers_at_cut"] = result.cutting.most_layers
        found["snips_needed"] = result.cutting.needed
    if result.hands is not None:
        found["hands"] = hands_keys(result.hands)
        found["warnings"] = list(dict.fromkeys(f.kind for f in result.warnings))
    return found


def certify(document: Document | str | Path, limits: Limits = Limits(), progress: Progress | None = None) -> Result:
    """Check a pattern or recipe document (or the file of one) and prove the outcome.

    Raises `Malformed` if the document cannot be understood, `KernelRefused` for a bug of this package. A
    verdict `certified` or `refuted` has been accepted by the kernel, which read the document itself. What hands can do,
    what paper of some thickness does, and what similar patterns do, is not proved.
    """
    document = load_any(document)
    if document.steps:
        return _RecipeCertifier(document, limits, progress).run()
    return _PatternCertifier(document, limits, progress).run()


def certify_folded(
    document: Document, known: LayerOrder, limits: Limits = Limits(), progress: Progress | None = None
) -> Result:
    """As `certify`, of a pattern that folds as in a known order, found for the same creases in the same order, folded
    either way: how it folds is not worked out again.
    """
    certifier = _PatternCertifier(document, limits, progress)
    certifier.known = known
    return certifier.run()


def result_of(source: Source) -> Result:
    """A result as it is; of a document or the file of one, what `certify` gives."""
    return source if isinstance(source, Result) else certify(source)


def proved(document: Document, certificate: Json) -> Verdict:
    """The verdict that the kernel accepts a certificate for. Raises `KernelRefused` if it accepts none, and
    `LimitReached` if that takes more than it allows itself.
    """
    outcome = audit(document, certificate)
    if outcome.code == "limit":
        raise LimitReached("of the kernel (SPECIFICATION.md, §11)", "", outcome.reason)
    proves = str(certificate["proves"])
    if not outcome.accepted or outcome.proves != proves or outcome.statement_sha256 != document.statement_sha256:
        raise KernelRefused(
            f"{document.source}: the kernel did not accept a certificate for {proves!r}: "
            f"{outcome.code}: {outcome.reason}"
        )
    return "certified" if proves == "certified" else "refuted"


class _Certifier(ABC):
    """What both ways share: findings, limits, progress, and the kernel's word."""

    def __init__(self, source: Document, limits: Limits, progress: Progress | None) -> None:
        self.source = source
        self.limits, self.progress = limits, progress or silent
        self.findings: list[Finding] = []
        self.seeks_strays = True  # but not for a document that only this search made

    def run(self) -> Result:
        """The verdict; `undecided` where a limit comes first."""
        try:
            return self._run().with_hands()
        except LimitReached as limit:
            return self._undecided(limit)

    @abstractmethod
    def _run(self) -> Result: ...

    def _undecided(self, limit: LimitReached) -> Result:
        return Result("undecided", self.source, (*self.findings, say.of_limit(limit)))

    def _proved(self, certificate: Json) -> Verdict:
        self.progress("the kernel checks the certificate")
        return proved(self.source, certificate)

    def _pieces(self, s: Subdivision, cutting: Cut | None) -> tuple[Piece, ...]:
        """The pieces, with findings on them and advice on the cut."""
        parts = pieces(s) if self.source.has_target else []
        if parts:
            self.findings.append(say_cut.of_pieces(s, parts))
            self.findings += say_cut.of_target(s, parts)
        if cutting is not None:
            self.findings += say_cut.of_advice(cutting, parts)
            if cutting.exact and self.source.paths:  # which free nothing where they end close to another line
                self.findings += say_cut.of_loose_end(s.drawing)
        return tuple(parts)

    def _strays(self) -> list[Finding]:
        """The note on points that alone are off the grid."""

        def certifies(document: Document) -> bool:
            other = type(self)(document, self.limits, None)
            other.seeks_strays = False
            return other.run().verdict == "certified"

        note = rounding.of_strays(self.source, certifies) if self.seeks_strays else None
        return [] if note is None else [note]


class _PatternCertifier(_Certifier):
    known: LayerOrder | None = None  # of the same creases, if that is known

    def _run(self) -> Result:
        drawing = draw(self.source, self.limits)
        known = self.known = self._known_of(drawing)
        s = known.overlaps.subdivision if known else subdivide(drawing, self.limits)
        self.progress(f"{len(s.panels):,} panels, {sum(e.is_fold for e in s.edges):,} folds")
        evidence = Evidence(s)
        reports = vertex_reports(s)
        for report in reports:
            self.findings += say.of_vertex(s, report)
        broken = self._closure(s, reports)
        certificate: Json | None = None
        order: LayerOrder | None = None
        cutting: Cut | None = None
        folded = known.overlaps.fold_map if known else fold_map(s)
        if broken is not None:
            certificate = evidence.does_not_close(broken)
        else:
            if not folded.exists:
                raise RuntimeError("the folds close round every vertex and hole, and yet do not fit")
            overlaps = known.overlaps if known else Overlaps(folded)
            if self.source.snips is not None:
                cutting = cut(overlaps, self.source.snips)
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
        parts = self._pieces(s, cutting)
        if order is not None and certificate is None:
            certificate = evidence.certified(folded, order, cutting)
        if not self.source.creases and cutting is not None and not cutting.exact:
            self.findings.insert(0, finding("no-creases"))
        verdict: Verdict = "undecided"
        if certificate is not None:
            verdict = self._proved(certificate)
        strays = self._strays() if verdict == "refuted" else []
        self.findings += strays
        if self.source.creases and not strays:
            self.findings += rounding.of_pattern(s, reports, cutting)
            if folded.exists and order is None and not any(r.maekawa is False for r in reports):
                self.findings += rounding.of_angles(s, reports)
        return Result(verdict, self.source, tuple(self.findings), certificate, s, folded, order, cutting, parts)

    def _known_of(self, drawing: Drawing) -> LayerOrder | None:
        """The known order, of the pattern itself; None if it has numbers that lie in another field."""
        if self.known is None or self.known.overlaps.subdivision.drawing.field != drawing.field:
            return None
        overlaps = self.known.overlaps
        return replace(self.known, overlaps=overlaps.drawn_as(overlaps.subdivision.creased(drawing)))

    def _closure(self, s: Subdivision, reports: list[VertexReport]) -> Walk | None:
        """The first closed walk that does not close, if there is one; findings for every hole."""
        reflections = Reflections(s)
        broken = next((walk_round_vertex(s, r.vertex) for r in reports if r.kawasaki is False), None)
        for number in range(len(self.source.holes)):
            walk = walk_round_hole(s, number)
            self.findings.append(say.of_hole(s, walk, reflections))
            if broken is None and not walk.closes(reflections):
                broken = walk
        return broken

    def _order(self, overlaps: Overlaps) -> LayerOrder | Conflict | None:
        try:
            found = self.known or find_order(crossing_conditions(overlaps, self.limits), self.limits, self.progress)
        except LimitReached as limit:
            self.findings.append(say.of_limit(limit))
            return None
        if isinstance(found, NoOrder):
            return explain_conflict(found, self.progress)
        pairs = len(found.above)
        circle = f", {len(found.exceptions)} of them in cycles without a common point" if found.exceptions else ""
        s = overlaps.subdivision
        what = "panels" if len(s.panels) == len(s.faces) else "parts of panels"  # which the figure's lines divide
        self.findings.append(finding("layer-order", value={"pairs": pairs}, what=what, circle=circle))
        return found


class _RecipeCertifier(_Certifier):
    def run(self) -> Result:
        try:
            with bounded(self.limits.work, self.limits.seconds):
                return super().run()
        except EffortSpent as error:
            found = "the folded paper's exact numbers take longer than that"
            return self._undecided(LimitReached(error.limit, error.allowed, found))

    def _run(self) -> Result:
        try:
            folded = carry_out(self.source.as_recipe(), self.limits)
        except UnsupportedAlignment:
            self.findings.append(finding("unsupported"))
            return Result("unsupported", self.source, tuple(self.findings))
        except NoCutLine as error:
            found = f"no line to cut along: after the last step {say_steps.no_line_words(error.why)}"
            raise self.source.malformed(error.place, found, error.expected) from None
        self.findings += say_steps.of_steps(folded)
        fold_map, s = folded.fold_map, folded.fold_map.subdivision
        evidence = RecipeEvidence(folded, fold_map)
        if folded.refused is not None:
            refusal = evidence.step_refused(folded.refused)
            verdict = self._proved(refusal)
            return Result(verdict, self.source, tuple(self.findings), refusal, s, fold_map, carried=folded)
        self.progress(f"{len(s.panels):,} panels after {len(folded.done)} steps")
        overlaps = Overlaps(fold_map)
        cutting, certificate = self._cut(folded, fold_map, overlaps, evidence)
        parts = self._pieces(s, cutting)
        order = order_of_stack(overlaps, folded.stack)
        if certificate is None:
            certificate = evidence.certified(fold_map, None, cutting)
        verdict = self._proved(certificate)
        if cutting is not None and not cutting.exact:
            self.findings += self._strays() or rounding.of_recipe(cutting)
        return Result(
            verdict, self.source, tuple(self.findings), certificate, s, fold_map, order, cutting, parts, folded
        )

    def _cut(
        self, folded: Folded, fold_map: FoldMap, overlaps: Overlaps, evidence: RecipeEvidence
    ) -> tuple[Cut | None, Json | None]:
        """The cut, and its refutation if it is not exact."""
        if self.source.snips is None:
            return None, None
        if folded.along is not None and not any(e.is_cut for e in fold_map.subdivision.edges):
            found = "a cut, and a target that lies along the sheet's edge altogether"
            raise self.source.malformed("cut.along", found, "a target line inside the sheet, or no cut")
        if folded.along is None:
            cutting: Cut | None = cut(overlaps, self.source.snips)
        else:
            cutting = cut_along(overlaps, folded.along)
        if cutting is None:
            first = next(i for i, e in enumerate(fold_map.subdivision.edges) if e.is_cut)
            self.findings.append(finding("missed", says="nowhere"))
            return None, evidence.off_the_line(fold_map, first)
        self.findings += say_cut.of_cut(cutting)
        if cutting.exact:
            return cutting, None
        if folded.along is not None and cutting.missed:
            return cutting, evidence.off_the_line(fold_map, cutting.missed[0])
        return cutting, evidence.cut_fails(fold_map, cutting)
