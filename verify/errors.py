"""What this package raises."""


class CreaseproofError(Exception):
    """The base of every exception of this package that can reach who calls it."""
