"""Drawings of the consultation: heads, and a client's results through time."""
