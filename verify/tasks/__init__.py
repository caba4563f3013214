"""What a person asks for: each module carries one task from the document to the answer."""
