"""A drawing's coordinates: directions and equations chosen in floats, solved exactly; figures made regular."""
