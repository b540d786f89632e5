"""Paper: what the printed pages say, and their PDF."""
