"""The command: checks whether a certificate proves what a document states, or the contrary. Prints JSON.

usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE

The document is TOML if its name ends in .toml, any other is JSON. What is printed has `accepted`, `proves`
("certified" or "refuted") and what was counted; of a refusal `reason`, with the place, and `code`.
SPECIFICATION.md, beside the kernel, says what it accepts.

exit status: 0 accepted, 1 rejected, 2 malformed or not to be read, 70 a bug of the kernel
"""

import json
import sys
from dataclasses import asdict

from .check import check_files

USAGE = "usage: python3 -S -m verify.kernel DOCUMENT CERTIFICATE"


def main(arguments: list[str]) -> int:
    if arguments in (["--help"], ["-h"]):
        print(__doc__ or USAGE)
        return 0
    if len(arguments) != 2:
        print(USAGE, file=sys.stderr)
        return 2
    outcome = check_files(*arguments)
    print(json.dumps(asdict(outcome), indent=2))
    if outcome.accepted:
        return 0
    refused = 2 if outcome.malformed else 1
    return 70 if outcome.code == "internal" else refused


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
