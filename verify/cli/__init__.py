"""The command `creaseproof`: each module holds the commands of one kind, and is imported only when one is wanted.

`commands.txt` has the list.
"""

import atexit
import gc
import os
import re
import sys
from pathlib import Path

# numpy's matrices are small here: threads would only wait for each other, for twice the time if a core is busy
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
gc.set_threshold(100_000)  # cycles are looked for after so many more new objects: seldom, for a command ends soon
atexit.register(gc.freeze)  # nor are they looked for when it ends

try:
    from verify.cli.frame import main
except KeyboardInterrupt:  # while it loads, which takes longest
    print("stopped", file=sys.stderr)
    sys.exit(130)

__all__ = ["MODULES", "SAYS", "main"]

_ENTRY = re.compile(r"^([a-z]+) +(\w+) +(.*(?:\n .*)*)", re.M)  # a command, its module, what it says of itself
_LIST = _ENTRY.findall(Path(__file__).with_name("commands.txt").read_text(encoding="utf-8"))
MODULES = {name: module for name, module, _ in _LIST}
SAYS = {name: " ".join(words.split()) for name, _, words in _LIST}
main.modules.update({command: f"verify.cli.{module}" for command, module in MODULES.items()})
main.says.update(SAYS)
