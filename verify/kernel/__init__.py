"""The trusted checker: decides whether a certificate proves what a document states.

It imports the standard library only, never searches, never rounds, and starts
from "not proved". SPECIFICATION.md beside this file says what it accepts.
"""
