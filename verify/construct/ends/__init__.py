"""A figure moved a little so that perpendiculars end in nodes of its skeleton."""
