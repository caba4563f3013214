"""What the scissors do: the cut line, its preimage, snips, layers and pieces."""
