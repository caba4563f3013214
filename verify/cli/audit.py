"""`audit`: what the kernel says of a certificate."""

from __future__ import annotations

import json

import click

from verify.cli.frame import end, json_option, main
from verify.kernel.check import check_files


@main.command()
@click.argument("document", type=click.Path())
@click.argument("certificate", type=click.Path())
@json_option
def audit(document: str, certificate: str, as_json: bool) -> None:
    """Let the kernel check CERTIFICATE against DOCUMENT. Exit status: 0 accepted, 1 rejected, 2 malformed."""
    outcome = check_files(document, certificate)
    code = 0 if outcome.accepted else 2 if outcome.malformed else 1
    if as_json:
        click.echo(
            json.dumps(
                {
                    "verdict": outcome.proves if outcome.accepted else "malformed" if outcome.malformed else "rejected",
                    "accepted": outcome.accepted,
                    "proves": outcome.proves,
                    "kind": outcome.kind,
                    "statement_sha256": outcome.statement_sha256,
                    "claims": list(outcome.claims),
                    "findings": []
                    if outcome.accepted
                    else [
                        {
                            "check": "audit",
                            "kind": outcome.code,
                            "level": "fails",
                            "message": outcome.reason,
                            "where": [],
                        }
                    ],
                    "facts": outcome.facts,
                }
            )
        )
    elif outcome.accepted:
        how = f" ({outcome.kind})" if outcome.kind else ""
        click.echo(f"accepted: {outcome.proves}{how}: {', '.join(outcome.claims)}")
        click.echo(f"  statement {outcome.statement_sha256}")
        if outcome.facts:
            click.echo("  " + ", ".join(f"{k} {v}" for k, v in outcome.facts.items()))
    else:
        click.echo(f"{'malformed' if outcome.malformed else 'rejected'}: {outcome.code}: {outcome.reason}")
    end(code)
