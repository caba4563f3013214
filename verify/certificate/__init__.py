"""Claims and their evidence: certificates, findings, and the way from a document to a verdict."""
