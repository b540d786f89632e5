"""Everything that is kept about one client, to read and to take along (GDPR, 15 and 20)."""
