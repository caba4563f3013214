"""Coverage-guided fuzzing of a reader or the kernel, for a stated time (needs `pip install atheris`, on Linux).

    python benchmarks/fuzz.py document|recipe|kernel|svg [--seconds 60] [--corpus FOLDER]

Starts from the inputs kept in `tests/adversary/seeds` and adds what finds new code to the corpus folder (default: a
folder that is thrown away). Whatever is no honest answer (an exception that is not `Malformed`, the code `internal`)
ends the run with the input written to the present folder. `tests/adversary/test_fuzz.py` runs all that is kept.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("target", choices=["document", "recipe", "kernel", "svg"])
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--corpus", type=Path)
    arguments = parser.parse_args()
    import atheris

    with atheris.instrument_imports(include=["verify"]):
        from tests.adversary.targets import TARGETS, kept

    target = TARGETS[arguments.target]
    folder = arguments.corpus or Path(tempfile.mkdtemp())
    folder.mkdir(parents=True, exist_ok=True)
    start = Path(tempfile.mkdtemp())
    for i, data in enumerate(kept(arguments.target)):
        (start / str(i)).write_bytes(data)
    flags = [f"-max_total_time={arguments.seconds}", "-timeout=20", "-rss_limit_mb=2048", "-max_len=4096"]
    atheris.Setup([sys.argv[0], *flags, str(folder), str(start)], target)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
