"""The invented salon that `make demo` fills: people, places and product lines are made up."""
