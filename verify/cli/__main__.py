"""`python -m verify.cli`: the same as `creaseproof`."""

from verify.cli import main

main()
