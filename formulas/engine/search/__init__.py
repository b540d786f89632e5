"""Search: every mix, the frontier, and the few mixes worth showing."""
