"""Looking for counterexamples: strategies that draw patterns, properties of them, mutated certificates, and the hunt itself."""
