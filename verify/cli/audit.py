"""`audit`: what the kernel says of a certificate."""

from __future__ import annotations

import json
from typing import Any

import click

from verify.certificate.audit import audit_files
from verify.cli.frame import INTERNAL_ERROR, end, json_option, main, seconds_for
from verify.kernel.check import Outcome

EXIT = {"rejected": 1, "malformed": 2, "undecided": 3, "internal": INTERNAL_ERROR}


@main.command()
@click.argument("document", type=click.Path())
@click.argument("certificate", type=click.Path())
@seconds_for("End the kernel after this time, undecided (left out: as long as its own bound of work allows).")
@json_option
def audit(document: str, certificate: str, seconds: float | None, as_json: bool) -> None:
    """Let the kernel check CERTIFICATE against DOCUMENT.

    Exit status: 0 accepted, 1 rejected, 2 malformed, 3 undecided (--seconds were over), 70 internal error.
    """
    outcome = audit_files(document, certificate, seconds)
    word = _word(outcome)
    if as_json:
        click.echo(json.dumps(_keys(outcome, word)))
    elif outcome.accepted:
        how = f" ({outcome.kind})" if outcome.kind else ""
        click.echo(f"accepted: {outcome.proves}{how}: {', '.join(outcome.claims)}")
        click.echo(f"  statement {outcome.statement_sha256}")
        if outcome.facts:
            click.echo("  " + ", ".join(f"{k} {v}" for k, v in outcome.facts.items()))
    else:
        click.echo(f"{word}: {outcome.code}: {outcome.reason}")
    end(0 if outcome.accepted else EXIT[word])


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
