"""The bench: suggested mixes, comparison, weighing, and check times."""
