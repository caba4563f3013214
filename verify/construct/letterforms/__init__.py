"""Letterforms, our own designs: `plain` for crease patterns, `forms` for a few simple folds."""
