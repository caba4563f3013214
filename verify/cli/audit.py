"""`audit`: what the kernel says of a certificate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from verify.certificate.audit import audit_files, in_words
from verify.cli.frame import json_option, main, seconds_for, tell
from verify.kernel.check import Outcome
from verify.pattern.recipe import load_any
from verify.pattern.source import Malformed

if TYPE_CHECKING:
    from verify.certificate.second import Answer


@main.command()
@click.argument("document", type=click.Path())
@click.argument("certificate", type=click.Path())
@seconds_for("Stop the kernel after this time, undecided (left out: as long as its own bound of work allows).")
@click.option("--second", "twice", is_flag=True, help="Also ask the second checker, extracted from a proof.")
@json_option
def audit(document: str, certificate: str, seconds: float | None, twice: bool) -> str | int:
    """Let the kernel check CERTIFICATE against DOCUMENT.

    Exit status: 0 accepted, 1 rejected, 2 malformed, 3 undecided (--seconds ran out), 70 internal error.
    With --second, 1 also if the second checker rejects what the kernel accepts, and 3 if it could not answer: it is not
    built, does not cover documents of this kind, or its time was up.
    """
    outcome = audit_files(document, certificate, seconds)
    if not outcome.accepted:
        outcome = replace(outcome, reason=in_words(outcome, document, certificate))
    word = _word(outcome)
    answer = second_opinion(outcome, document, certificate) if twice else None
    keys = _keys(outcome, word) | ({} if answer is None else {"second": answer._asdict()})
    tell(keys, _lines(outcome, word, answer))
    if not outcome.accepted:
        return 1 if word == "rejected" else word
    if answer is None or answer.verdict in ("certified", "refuted"):
        return 0
    # a check that was asked for and did not come about is no pass
    return 1 if answer.verdict == "rejected" else "undecided"


_CALLED = {"folds": "fold edges", "layers": "layers at the cut"}


def _lines(outcome: Outcome, word: str, answer: Answer | None) -> Iterator[str]:
    if outcome.accepted:
        how = f" ({outcome.kind})" if outcome.kind else ""
        yield f"accepted: {outcome.proves}{how}: {', '.join(outcome.claims)}"
        yield f"  statement {outcome.statement_sha256}"
        if outcome.facts:
            counts = ", ".join(f"{_CALLED.get(k, k)} {v:,}" for k, v in outcome.facts.items())
            yield f"  counted in convex faces, into which the drawn lines divide the panels: {counts}"
    else:
        yield f"{word}: {outcome.reason}"
    if answer is not None:
        yield f"second checker: {answer.verdict}: {', '.join(answer.claims) or answer.reason}"


def _word(outcome: Outcome) -> str:
    """What the kernel proved, or the word for why it proved nothing."""
    if outcome.accepted:
        return str(outcome.proves)
    if outcome.malformed:
        return "malformed"
    return {"internal": "internal", "seconds": "undecided"}.get(outcome.code, "rejected")


def _keys(outcome: Outcome, word: str) -> dict[str, Any]:
    finding = {"check": "audit", "kind": outcome.code, "level": "fails", "message": outcome.reason, "where": []}
    return {
        "verdict": word,
        "accepted": outcome.accepted,
        "proves": outcome.proves,
        "kind": outcome.kind,
        "statement_sha256": outcome.statement_sha256,
        "claims": list(outcome.claims),
        "findings": [] if outcome.accepted else [finding],
        "facts": outcome.facts,
    }


def second_opinion(outcome: Outcome, document: str, certificate: str) -> Answer:
    """What the second checker says of two files; of files that the kernel cannot read it is not asked."""
    from verify.certificate.second import Answer, second

    if outcome.malformed:
        return Answer("unsupported", reason="the kernel cannot read them")
    try:
        with open(certificate, "rb") as file:
            answer = second(load_any(document), file.read())
    except (Malformed, OSError, ValueError) as error:
        return Answer("unsupported", reason=f"cannot be read: {error}")
    if answer.verdict in ("certified", "refuted") and answer.statement_sha256 != outcome.statement_sha256:
        return answer._replace(verdict="rejected", reason="the two checkers read different statements")
    return answer
