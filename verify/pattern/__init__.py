"""What a person draws: documents, and the sheet subdivided into vertices, edges and faces."""
