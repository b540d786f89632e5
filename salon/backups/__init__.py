"""Copies of a salon: taken while it is in use, put back, compared, moved."""
