"""A figure's straight skeleton, and creases square to its sides, exactly."""
