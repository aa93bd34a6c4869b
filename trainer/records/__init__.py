"""Records: the history on disk, streaks, export and import.

An attempt is on disk when ``Records.append`` returns. Its local day is settled when it is made and
never worked out again, so no time zone, clock or setting changes a past day.
"""

from trainer.records.errors import RecordsError

__all__ = ["RecordsError"]
