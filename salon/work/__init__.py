"""Work outside of requests: the queue's worker, what it does by the clock, its state.

Every task of the queue may run twice, and the second time changes nothing: a worker that is
killed leaves its task to another. What must not happen twice (a mail) is taken in a row of its
own before it is done.
"""
