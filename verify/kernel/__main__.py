"""The command: python3 -S -m verify.kernel DOCUMENT CERTIFICATE [--json]."""

from __future__ import annotations

import json
import sys

from .check import Outcome, check_files

ACCEPTED, REJECTED, MALFORMED, INTERNAL = 0, 1, 2, 70
USAGE = "usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE [--json]"


def status(outcome: Outcome) -> int:
    if outcome.accepted:
        return ACCEPTED
    if outcome.code == "internal":
        return INTERNAL
    return MALFORMED if outcome.malformed else REJECTED


def as_text(outcome: Outcome) -> str:
    digest = f"statement {outcome.statement_sha256}"
    if not outcome.accepted:
        word = "malformed" if outcome.malformed else "rejected"
        return f"{word}: {outcome.code}: {outcome.reason}\n{digest if outcome.statement_sha256 else ''}".rstrip()
    if outcome.proves == "refuted":
        meaning = {
            "closure": "no fold map exists",
            "maekawa": "no layer order exists around a vertex",
            "order": "no layer order exists",
            "apart": "no such cut frees the target",
            "stray": "the only line through the target meets more than the target",
        }[outcome.kind or ""]
        return f"accepted: refuted ({outcome.kind}): {meaning}\n{digest}"
    snips = outcome.facts.get("snips")
    cut = "" if snips is None else f"; {'one straight cut frees' if snips == 1 else f'{snips} snips free'} exactly the target"
    return f"accepted: certified: folds flat{cut}\n{digest}"


def as_json(outcome: Outcome) -> str:
    return json.dumps({
        "accepted": outcome.accepted,
        "malformed": outcome.malformed,
        "proves": outcome.proves,
        "kind": outcome.kind,
        "statement_sha256": outcome.statement_sha256,
        "claims": list(outcome.claims),
        "code": outcome.code,
        "reason": outcome.reason,
        "facts": outcome.facts,
    })


def main(arguments: list[str]) -> int:
    paths = [word for word in arguments if word != "--json"]
    if len(paths) != 2 or len(arguments) > 3:
        print(USAGE, file=sys.stderr)
        return MALFORMED
    outcome = check_files(paths[0], paths[1])
    print(as_json(outcome) if "--json" in arguments else as_text(outcome))
    return status(outcome)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
