"""Photos: cleaned pictures and where their files are kept."""
