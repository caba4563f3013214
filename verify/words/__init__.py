"""Words that several rooms say: each sentence stands once."""
