"""Toner: lines, shades and pigments, and what a mix deposits on a zone."""
