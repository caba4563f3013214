"""Patterns that are proposed, never proved: for a target, or exact ones near a rounded drawing."""
