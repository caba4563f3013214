"""Where a target may lie: as drawn, or moved a little so that it takes fewer creases."""
