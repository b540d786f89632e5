"""The skin allergy alert test: its rules, its state, and the gate to colour."""
