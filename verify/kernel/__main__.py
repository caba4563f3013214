"""The command: python3 -S -m verify.kernel DOCUMENT CERTIFICATE [--json]."""

import json
import sys
from dataclasses import asdict

from .check import Outcome, check_files

MEANINGS = {
    "closure": "no fold map exists",
    "maekawa": "no layer order exists around a vertex",
    "order": "no layer order exists",
    "apart": "so few snips cannot free the target",
    "stray": "whatever frees the target cuts something else too",
    "step": "a step cannot be done as it is said",
    "off": "the cut misses a line of the target",
}


def as_text(outcome: Outcome) -> str:
    if outcome.accepted and outcome.kind:
        first = f"accepted: refuted ({outcome.kind}): {MEANINGS[outcome.kind]}"
    elif outcome.accepted:
        snips = outcome.facts.get("snips")
        cut = "one straight cut frees" if snips == 1 else f"{snips} snips free"
        first = "accepted: certified: folds flat" + (f"; {cut} exactly the target" if snips else "")
    else:
        first = f"{'malformed' if outcome.malformed else 'rejected'}: {outcome.code}: {outcome.reason}"
    return first + (f"\nstatement {outcome.statement_sha256}" if outcome.statement_sha256 else "")


def main(arguments: list[str]) -> int:
    paths = [word for word in arguments if word != "--json"]
    if len(paths) != 2 or len(arguments) > 3:
        print("usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE [--json]", file=sys.stderr)
        return 2
    outcome = check_files(paths[0], paths[1])
    print(json.dumps(asdict(outcome)) if "--json" in arguments else as_text(outcome))
    if outcome.code == "internal":
        return 70
    return 0 if outcome.accepted else 2 if outcome.malformed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
