"""Looking for counterexamples: strategies that draw patterns, properties of them, mutated certificates, and the hunt
itself.
"""

import sys

from verify.room import Room

sys.modules[__name__].__class__ = Room  # called, the package is the command `hunt`
