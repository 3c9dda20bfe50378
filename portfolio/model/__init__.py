"""The nouns: frozen values that every room may take and give. No input, no output, no rules of a room."""
