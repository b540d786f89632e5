"""The queue's lanes: a long run holds no mail up."""

QUICK = "default"  # seconds: mails, what is due by the clock every few minutes
LONG = "long"  # minutes: imports, papers in bulk, backups
LANES = (QUICK, LONG)
