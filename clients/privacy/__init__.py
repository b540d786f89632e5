"""What a client may ask for: to be forgotten, to be left alone; and what goes with time."""
