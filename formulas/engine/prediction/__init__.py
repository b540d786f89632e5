"""Prediction: what a mix gives on a zone, with a range, and why."""
