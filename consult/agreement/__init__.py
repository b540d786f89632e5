"""The agreement: what is shown, chosen, signed, and how far a mix may differ from it."""
