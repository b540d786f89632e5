"""Histories: what was promised and seen across visits, costs, results of a line."""
