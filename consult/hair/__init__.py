"""Hair: the tests on it, what forbids colour, and the toner still in it."""
