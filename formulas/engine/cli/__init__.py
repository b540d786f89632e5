"""Command line and benchmark of the engine."""
