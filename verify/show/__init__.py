"""What people look at: pictures of patterns, folded sheets, cuts and pieces, and the report."""
