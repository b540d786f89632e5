"""How much pages cost at size: `make bench-pages`."""
