"""Files that take longer than a page may: the worker makes them, who asked fetches them.

An app enters its kinds of file in its `registration`. A short file is given at once; a longer
one becomes a row (`PreparedFile`) and a task of the queue, and lies encrypted where the photos
are until its day is over. Nothing half made has a name that a row carries: each turn writes
under a name of its own, and the row takes that name once all of it is stored.
"""
