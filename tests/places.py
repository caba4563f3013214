"""Where things are: the checkout, and the corpus in it."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PROOFS = ROOT / "proofs"
