"""Patterns that are proposed, never proved: exact patterns near rounded drawings."""
