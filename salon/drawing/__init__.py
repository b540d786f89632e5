"""Drawings as inline SVG: attributes only, deterministic, no Django models."""
