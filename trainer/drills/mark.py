"""What a mark is, and how a call runs."""

from dataclasses import dataclass

from trainer.drills.question import Choice, Question
from trainer.geometry.meetings import Meeting
from trainer.learner.call import Call
from trainer.shots.shot import Point, Shot


@dataclass(frozen=True)
class Run:
    """How the balls run when a call is played, up to just after contact.

    ``before`` are the points of the cue ball's way: from where it lies, over a cushion if it is played
    by one, to the touching position; ``aim`` is its unit direction as it comes to the object ball (or
    passes it), ``way`` the object ball's. ``touching`` and ``way`` are None where the cue ball misses, and
    ``before`` ends where it passes, or, ``stopped``, where it meets a ball that isn't meant.
    """

    before: tuple[Point, ...]
    aim: Point
    touching: Point | None
    way: Point | None
    stopped: bool = False


@dataclass(frozen=True)
class Mark:
    """A call and what is true of it.

    ``question`` is what it was asked in the end: where the player places the cue ball, the shot that
    this makes. ``offset`` is the signed offset that the call plays (ball widths); ``error`` called less
    true fullness in ball widths, + thick, - thin; ``right`` whether it was the answer to give;
    ``potted`` whether what is to be brought about comes about when the call is played exactly: the ball
    drops, or, where the cue ball is sent somewhere, it gets there; ``miss_mm`` how far from the pocket's
    target the object ball's way passes (all the way there, if it isn't hit at all), or the cue ball's from
    the middle of the place. ``met`` is what the object ball meets, None where the cue ball misses, and
    ``drops`` whether it drops into the shot's pocket. ``played`` is the shot that was played: that of the
    question, but where another ball of it was called. ``told`` is what the learner gets of it; when and how
    it was asked is for the set to add.
    """

    question: Question
    choice: Choice
    offset: float
    error: float
    right: bool
    potted: bool
    miss_mm: float
    run: Run
    met: Meeting | None
    drops: bool
    played: Shot
    told: Call

    @property
    def aim(self) -> Point:
        """Unit direction of the cue ball as it comes to the object ball."""
        return self.run.aim

    @property
    def touching(self) -> Point | None:
        """The cue ball's centre at contact; None where it misses."""
        return self.run.touching

    @property
    def way(self) -> Point | None:
        """Unit direction of the object ball; None where the cue ball misses."""
        return self.run.way
