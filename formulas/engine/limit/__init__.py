"""The limit: the lightest colour that any deposit can leave at each warmth."""
