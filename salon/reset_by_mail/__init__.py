"""A new password by a signed link in a mail, for who forgot theirs."""
