"""A copy of the database that PostgreSQL keeps up to date, for pages that only look back.

Owners' figures, long lists and exports are read from it where `DATABASE_REPLICA_URL` names one.
Whatever decides or writes reads the database itself, and so does a page that is about to be
drawn for somebody whose last write the copy does not have yet.
"""

from salon.replica.reading import from_replica, pieces_from_replica, reads_replica
from salon.replica.router import on_primary

__all__ = ["from_replica", "on_primary", "pieces_from_replica", "reads_replica"]
