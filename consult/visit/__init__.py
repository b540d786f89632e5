"""The facts of one visit: read from its records, asked by pages, services and papers."""
