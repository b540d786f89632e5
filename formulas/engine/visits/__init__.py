"""Visits: several zones, the next visit, and learning from results."""
