"""Two states of a collection of documents: what is no longer certified, and what else changed.

For whoever maintains a program that writes patterns: `compare` certifies the documents of both states afresh and
matches them by name. *Worse* is, for a document that was certified:

- it is no longer certified, whatever it is instead (undecided too);
- it is gone;
- it is certified for less: a claim has been dropped, or more snips are allowed.

All else is told and is not worse: other numbers of creases, panels or layers, another sheet or target, a new document
that fails, a document that was not certified before and is gone or fails in another way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from verify.pattern.document import Document
from verify.pattern.limits import Limits, Progress, silent
from verify.pattern.recipe import read_any
from verify.pattern.source import JOURNAL, Malformed, content_of, documents_in, printable
from verify.tasks.certify import Verdict, certify, facts
from verify.words.findings import Finding, Level, answer
from verify.words.hands_findings import warned

Standing = Literal["worse", "changed", "unchanged", "new", "gone"]
STANDINGS: tuple[Standing, ...] = ("worse", "gone", "changed", "new", "unchanged")

_COUNTS = {
    "creases": "drawn creases",
    "steps": "steps",
    "folds": "fold edges",
    "panels": "panels",
    "faces": "faces between all lines",
    "layers_at_cut": "layers at the cut",
    "snips_allowed": "snips allowed",
    "snips_needed": "snips needed",
}
_PARTS = {
    "format": "the format",
    "unit": "the unit",
    "sheet": "the sheet",
    "creases": "the creases",
    "steps": "the steps",
    "target": "the target",
    "cut": "the cut",
}


@dataclass(frozen=True)
class Snapshot:
    """One document in one state. `why`: its first finding that fails, the limit that was reached, or the fault of a
    malformed one; else empty. `parts`: its statement, with places for points' names, unless it is malformed.
    """

    document: str
    verdict: Verdict
    statement_sha256: str | None
    claims: tuple[str, ...]
    counts: Mapping[str, int]
    why: str
    parts: Mapping[str, Any]
    warnings: tuple[str, ...] = ()

    def keys(self) -> dict[str, Any]:
        return {
            "document": self.document,
            "verdict": self.verdict,
            "statement_sha256": self.statement_sha256,
            "claims": list(self.claims),
            "facts": dict(self.counts),
            "why": self.why,
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True)
class Pair:
    """A document in both states; None where it is not there."""

    name: str
    baseline: Snapshot | None
    candidate: Snapshot | None

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What became of the document: at level `fails` if it is worse, `holds` if nothing changed, else `advice`."""
        return tuple(self._findings())

    def _findings(self) -> Iterator[Finding]:
        before, after = self.baseline, self.candidate
        if before is not None and after is not None:
            yield from self._changes(before, after)
        elif before is not None:
            level: Level = "fails" if before.verdict == "certified" else "advice"
            yield self._finding("gone", level, f"gone; was {before.verdict}", verdict=before.verdict)
        elif after is not None:
            because = f": {after.why}" if after.why else ""
            yield self._finding("new", "advice", f"new, {after.verdict}{because}", verdict=after.verdict)

    def _finding(self, kind: str, level: Level, message: str, **value: Any) -> Finding:
        return Finding("compare", kind, level, message, (self.name,), value)

    def _change(self, kind: str, message: str, old: Any, new: Any, level: Level = "advice", **more: Any) -> Finding:
        return self._finding(kind, level, message, **more, baseline=old, candidate=new)

    def _changes(self, before: Snapshot, after: Snapshot) -> Iterator[Finding]:
        """What changed of a document that is there in both states; or that nothing did."""
        changes = [*self._of_verdict(before, after)]
        if "malformed" not in (before.verdict, after.verdict):
            changes += self._of_statement(before, after)
        yield from changes
        if not changes:
            digest = after.statement_sha256
            same = f", the same statement {digest[:12]}…" if digest is not None else ""
            value = {"verdict": after.verdict, "statement_sha256": digest}
            yield self._finding("unchanged", "holds", f"{after.verdict} as before{same}", **value)

    def _of_verdict(self, before: Snapshot, after: Snapshot) -> Iterator[Finding]:
        was, now = before.verdict == "certified", after.verdict == "certified"
        if before.verdict != after.verdict:
            kind = "no-longer-certified" if was else "newly-certified" if now else "verdict"
            message = f"was {before.verdict}, now {after.verdict}" + (f": {after.why}" if after.why else "")
            digest = before.statement_sha256
            if digest is not None and digest == after.statement_sha256:
                message += f" (the same statement {digest[:12]}…, so it is the search that ended otherwise)"
            yield self._change(kind, message, before.verdict, after.verdict, "fails" if was else "advice")
        elif before.why != after.why:
            message = f"{after.verdict} as before, for another reason: {after.why}"
            yield self._change("reason", message, before.why, after.why)
        if was and now:
            for claim in (c for c in before.claims if c not in after.claims):
                yield self._finding("claim-dropped", "fails", f"no longer claims {claim}", claim=claim)
            old, new = (side.counts.get("snips_allowed") for side in (before, after))
            if old is not None and new is not None and new > old:
                yield self._change("more-snips", f"allows more snips: {old} → {new}", old, new, "fails")

    def _of_statement(self, before: Snapshot, after: Snapshot) -> Iterator[Finding]:
        """Another statement, other numbers, other warnings."""
        digests = before.statement_sha256, after.statement_sha256
        if digests[0] != digests[1]:
            differ = [key for key in _PARTS if before.parts.get(key) != after.parts.get(key)]
            what = ", ".join(_PARTS[key] for key in differ) or "only the points (names, or points that nothing uses)"
            yield self._change("statement", f"another statement: {what} changed", *digests, parts=differ)
        numbers = {key: (before.counts.get(key), after.counts.get(key)) for key in _COUNTS}
        numbers = {key: (old, new) for key, (old, new) in numbers.items() if old != new}
        if numbers:
            shown = {key: ["–" if n is None else str(n) for n in pair] for key, pair in numbers.items()}
            message = ", ".join(f"{_COUNTS[key]} {old} → {new}" for key, (old, new) in shown.items())
            value = {key: {"baseline": old, "candidate": new} for key, (old, new) in numbers.items()}
            yield self._finding("counts", "advice", message, **value)
        if before.warnings != after.warnings:
            message = f"warnings: {warned(before.warnings) or 'none'} → {warned(after.warnings) or 'none'}"
            yield self._change("warnings", message, list(before.warnings), list(after.warnings))

    @property
    def standing(self) -> Standing:
        if any(f.level == "fails" for f in self.findings):
            return "worse"
        if self.baseline is None:
            return "new"
        if self.candidate is None:
            return "gone"
        return "unchanged" if all(f.level == "holds" for f in self.findings) else "changed"

    def keys(self) -> dict[str, Any]:
        sides = (self.baseline, self.candidate)
        before, after = (side.keys() if side is not None else None for side in sides)
        return {"document": self.name, "standing": self.standing, "baseline": before, "candidate": after}


@dataclass(frozen=True)
class Comparison:
    """All documents of both states, by name."""

    pairs: tuple[Pair, ...]

    @property
    def is_worse(self) -> bool:
        return any(pair.standing == "worse" for pair in self.pairs)

    def numbers(self) -> dict[Standing, int]:
        """How many documents stand how."""
        standings = [pair.standing for pair in self.pairs]
        return {standing: standings.count(standing) for standing in STANDINGS}

    def keys(self) -> dict[str, Any]:
        """The comparison as `--json` prints it."""
        return answer(
            "worse" if self.is_worse else "not-worse",
            findings=[{"document": p.name, **f.keys()} for p in self.pairs for f in p.findings],
            facts=self.numbers(),
            documents=[pair.keys() for pair in self.pairs],
        )


def compare(
    baseline: str | Path, candidate: str | Path, limits: Limits = Limits(), progress: Progress | None = None
) -> Comparison:
    """Certify two folders of documents (or two single documents, whatever their names) and compare them.

    A folder's documents are its files `*.toml` and `*.json`, in folders below too, matched by their path in the folder;
    certificates (`*.certificate.json`), what a sweep wrote and hidden files are passed over. A file that cannot be
    understood counts as a document with the verdict `malformed`. Files with the same bytes are certified once.

    Raises `Malformed` if there is nothing to compare: a path that is not there, a folder beside a file, no document in
    a folder, or no document of the baseline that can be understood. What is said of each document is as good as its
    verdict; that two patterns free the same figure is not compared beyond what is written.
    """
    names = _matched(Path(baseline), Path(candidate))
    pairs = []
    known: dict[tuple[bytes, bool], Snapshot] = {}
    for number, (name, paths) in enumerate(names.items(), start=1):
        say = _labelled(progress or silent, f"{name} ({number} of {len(names)})")
        pairs.append(Pair(name, *(None if path is None else _side(path, limits, say, known) for path in paths)))
    before = [pair.baseline for pair in pairs if pair.baseline is not None]
    if all(side.verdict == "malformed" for side in before):
        found = f"no document that can be understood ({before[0].document}: {before[0].why})"
        raise Malformed(str(baseline), "", found, "at least one")
    return Comparison(tuple(pairs))


def _labelled(progress: Progress, label: str) -> Progress:
    progress(label)
    return lambda message: progress(f"{label}: {message}")


def _matched(baseline: Path, candidate: Path) -> dict[str, tuple[Path | None, Path | None]]:
    """The documents by name, with their paths on both sides."""
    for path, other in ((baseline, candidate), (candidate, baseline)):
        if not path.exists():
            raise Malformed(str(path), "", "nothing of that name", "a folder of documents, or a document")
        if not path.is_dir() and other.is_dir():
            raise Malformed(str(path), "", f"a file, while {other} is a folder", "two folders or two files")
    if not baseline.is_dir():
        return {candidate.name: (baseline, candidate)}
    before, after = _documents(baseline), _documents(candidate)
    return {name: (before.get(name), after.get(name)) for name in sorted(before.keys() | after.keys())}


def _documents(folder: Path) -> dict[str, Path]:
    found = {path.relative_to(folder).as_posix(): path for path in documents_in(folder)}
    if not found and (folder / JOURNAL).exists():
        raise Malformed(str(folder), "", "what a sweep wrote", "the folder of documents that was swept")
    if not found:
        raise Malformed(str(folder), "", "no document", "files named *.toml or *.json")
    return found


def _side(path: Path, limits: Limits, say: Progress, known: dict[tuple[bytes, bool], Snapshot]) -> Snapshot:
    """A document in one state; what is `known` of files with the same bytes is not found again."""
    try:
        content = content_of(path)
        if content not in known:
            known[content] = _certified(read_any(content[0], source=str(path), toml=content[1]), limits, say)
    except Malformed as error:
        fault = str(error).removeprefix(f"{printable(error.source)}: ")
        return Snapshot(str(path), "malformed", None, (), {}, fault, {})
    return replace(known[content], document=str(path))


def _certified(document: Document, limits: Limits, say: Progress) -> Snapshot:
    result = certify(document, limits, say)
    allowed = {} if document.snips is None else {"snips_allowed": document.snips}
    counts = document.size | allowed | {key: value for key, value in facts(result).items() if value is not None}
    why = result.reasons[0].message if result.verdict != "certified" and result.reasons else ""
    return Snapshot(
        document.source,
        result.verdict,
        result.statement_sha256,
        result.claims,
        {key: counts[key] for key in _COUNTS if key in counts},
        why,
        _placed(document),
        tuple(dict.fromkeys(f.kind for f in result.warnings)),
    )


def _placed(document: Document) -> dict[str, Any]:
    """The statement's parts with each point's name replaced by its coordinates as written."""
    statement = document.statement()
    points = statement.pop("points")

    def placed(value: Any) -> Any:
        if isinstance(value, str):
            return tuple(points[value]) if value in points else value
        if isinstance(value, Mapping):
            return {key: placed(item) for key, item in value.items()}
        return [placed(item) for item in value] if isinstance(value, list | tuple) else value

    return {key: placed(value) for key, value in statement.items()}
