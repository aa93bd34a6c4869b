"""What a set that asks something has answered: what tells causes apart, and whether what has healed holds."""

from trainer.drills import ANGLE
from trainer.drills.straight import Straight
from trainer.drills.throw import Throw
from trainer.drills.words import counted
from trainer.learner import causes
from trainer.learner.centre import FEWEST, CentreSeen, centre_seen
from trainer.learner.diagnosis import SURE, CauseSize, weighed
from trainer.play.causes_in_words import COURSES, SAYS, healed_words
from trainer.play.diagnosis import by_view
from trainer.play.player_model import PlayerModel
from trainer.shots.style import Style

CENTRE, THROWS, VIEWS = "straight-or-not", "throw-or-not", "standing-or-down"
RULED_OUT = 0.1  # the probability below which a cause isn't asked about any more


def answers(level: str, model: PlayerModel, style: Style) -> tuple[str, ...]:
    """What a set of the level of this name has answered, in some sentences; none where it asks nothing."""
    if level == CENTRE:
        return (sighting_words(centre_of(model), len(model.sighted), style),)
    if level == THROWS:
        return (_throw(model, style),)
    if level == VIEWS:
        return tuple(by_view(model, style)) or ("Not known yet: more calls in both views will tell.",)
    return tuple(
        healed_words(cause, healed, size_of(cause, model), style)
        for cause, healed in model.skill(ANGLE).looks.healed.items()
        if level == COURSES[cause.split()[0]][-1]
    )


def centre_of(model: PlayerModel) -> CentreSeen | None:
    """Where this player sees the centre of the object ball, if the calls can say."""
    offsets, ways = zip(*model.sighted, strict=True) if model.sighted else ((), ())
    return centre_seen(offsets, ways)


def sighting_words(seen: CentreSeen | None, calls: int, style: Style) -> str:
    """Whether the line of aim goes to one side, from so many calls of the drill *straight*; '' before any."""
    if seen is None and not calls:
        return ""
    if seen is None and calls < FEWEST:
        more = counted(FEWEST - calls, "more call")
        return f"Whether your line of aim goes to one side: {more} of {Straight.title} will tell."
    if seen is None:
        return (
            f"Your calls in {Straight.title} don't agree enough to tell whether your line goes to one side."
        )
    if seen.low <= 0 <= seen.high:
        within = style.one_over(max(-seen.low, seen.high))
        return f"Your line of aim goes to neither side: you see what is straight, within {within} ball."
    # Who takes for straight what needs a line to the left sends it too far right.
    needs, lies = ("right", "left") if seen.bias > 0 else ("left", "right")
    by, within = style.one_over(seen.bias), style.one_over((seen.high - seen.low) / 2)
    return (
        f"You take for straight what needs a line {by} ball to the {needs}: "
        f"your line of aim lies so far to the {lies}, sure within {within}."
    )


def _throw(model: PlayerModel, style: Style) -> str:
    calls = model.skill(Throw.skill).tally.calls
    found = size_of(causes.THROW, model)
    if found is None:
        return "Nothing of throw yet: the balls were hit too straight."
    if found.chance > SURE:
        what, does, why = SAYS[causes.THROW](found.mean, style, ())
        return f"{what} ({does}), {why}."
    if found.chance < RULED_OUT:
        return f"You allow for throw, as far as {counted(calls, 'call')} tell."
    return "Whether you allow for throw isn't known yet: another set will tell."


def size_of(cause: str, model: PlayerModel) -> CauseSize | None:
    """What is known of a cause's size; None where no call can tell of it."""
    return next((size for size in weighed(model.skill(ANGLE).belief).sizes if size.cause == cause), None)
