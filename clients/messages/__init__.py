"""Messages: reminders, calendar feeds, and how to stop them."""
