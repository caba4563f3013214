"""Which creases to fold: sets of perpendiculars, and why some have no layer order."""
