"""Worker processes and the timetable of jobs."""

from django.db import models


class WorkerLease(models.Model):
    """A worker process: until when what it has taken is its own."""

    name = models.CharField(max_length=64, primary_key=True)
    started_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    until = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class TimetableEntry(models.Model):
    """A job of the timetable: when it is due, and what came of it the last time."""

    name = models.CharField(max_length=40, primary_key=True)
    due_at = models.DateTimeField()
    # The queue's number of its last run: a second one is not queued beside it.
    task = models.CharField(max_length=36, blank=True)
    ended_at = models.DateTimeField(null=True)
    fault = models.CharField(max_length=300, blank=True)  # of the last run; empty if none

    def __str__(self) -> str:
        return self.name
