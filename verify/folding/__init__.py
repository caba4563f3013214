"""What the paper does: vertex conditions, fold map, overlaps, crossing conditions, layer order."""
