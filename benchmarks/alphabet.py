"""Constructs the alphabet of `proofs/alphabet` afresh and prints the table of its page.

    python benchmarks/alphabet.py            # compares with the stored documents, writes nothing
    python benchmarks/alphabet.py --write    # writes documents, certificates and (for all letters) the table

Construction is deterministic: without a change of the code the same documents come out.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.page import put_table
from verify.construct.letterforms.plain import LETTERS, letter_document
from verify.pattern.write import to_toml
from verify.tasks.construct import construct

PROOFS = Path(__file__).resolve().parent.parent / "proofs"
TRIES = 100


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--write", action="store_true", help="write proofs/alphabet and its certificates")
    parser.add_argument("letters", nargs="?", default="".join(LETTERS), help="only these")
    arguments = parser.parse_args()
    lines = ["| letter | faces | folds | simple folds | layers | seconds |\n|---|---|---|---|---|---|"]
    print(lines[0])
    different, total = [], 0.0
    for letter in arguments.letters:
        start = time.perf_counter()
        made = construct(letter_document(letter), tries=TRIES)
        seconds = time.perf_counter() - start
        total += seconds
        if made.result is None or made.proposal is None or made.result.subdivision is None:
            print(f"| {letter} | {made.verdict}: {made.reason} | | | | {seconds:.1f} |")
            different.append(letter)
            continue
        faces = len(made.result.subdivision.faces)
        simple = made.proposal.simple or "–"
        folds = f"{made.proposal.folds} | {simple} | {made.proposal.layers}"
        lines.append(f"| {letter} | {faces} | {folds} | {seconds:.1f} |")
        print(lines[-1], flush=True)
        path = PROOFS / "alphabet" / f"{letter}.toml"
        text = to_toml(made.proposal.document)
        if arguments.write:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
            certificate = PROOFS / "certificates" / "alphabet" / f"{letter}.certificate.json"
            certificate.parent.mkdir(exist_ok=True)
            certificate.write_text(json.dumps(made.result.certificate, separators=(",", ":")) + "\n", encoding="utf-8")
        elif not path.exists() or path.read_text(encoding="utf-8") != text:
            different.append(letter)
    if arguments.write and arguments.letters == "".join(LETTERS):
        put_table(PROOFS / "alphabet" / "README.md", "\n".join(lines))
    print(f"\n{len(arguments.letters)} letters in {total:.0f} s, {TRIES} sets of creases tried for each")
    if different:
        print(f"not as stored: {', '.join(different)}", file=sys.stderr)
    return 1 if different else 0


if __name__ == "__main__":
    sys.exit(main())
