"""History: the history on disk, streaks, export and import.

An attempt is on disk when ``History.append`` returns. Its local day is settled when it is made and
never worked out again, so no time zone, clock or setting changes a past day.
"""

from trainer.history.errors import TrainerError

__all__ = ["TrainerError"]
