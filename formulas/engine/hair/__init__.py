"""Hair: the level chart, and how a colour is read as warmth and depth."""
