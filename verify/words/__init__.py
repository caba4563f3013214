"""Words that several rooms share: each sentence stands once."""
