"""The command: python3 -S -m verify.kernel DOCUMENT CERTIFICATE. Prints what was found, as JSON."""

import json
import sys
from dataclasses import asdict

from .check import check_files


def main(arguments: list[str]) -> int:
    if len(arguments) != 2:
        print("usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE", file=sys.stderr)
        return 2
    outcome = check_files(*arguments)
    print(json.dumps(asdict(outcome), indent=2))
    return 0 if outcome.accepted else 2 if outcome.malformed else 70 if outcome.code == "internal" else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
