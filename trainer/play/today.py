"""What is worth doing today, and why, for as many minutes as the player has.

First a set that was left; then what mends the cause of most misses; then a question that tells causes apart;
then what is seen thick or thin for no known cause and wasn't practised today; then what was seen true and
should come back; then the path of levels. All of it is a small dose: 40 trials a day for eight days taught as
much as 120, 360 or 1,080, were kept for two weeks at least, and carried over further, in a study of seeing
which way dots move (open at PubMed Central as PMC8054621).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from statistics import median

from trainer.drills.throw import Throw
from trainer.drills.words import capital, counted, kind_name
from trainer.history.attempt import Attempt
from trainer.history.store import History
from trainer.learner.causes import LOCAL, THROW
from trainer.learner.diagnosis import SURE
from trainer.learner.spacing import Practised, look_is_due
from trainer.learner.verdicts import TRUE, KindVerdict, due, kind_verdicts, weak
from trainer.levels.level import CHAPTERS, USUAL, Level, about
from trainer.play import first_look, measure, mixed, placement, primer, warmup
from trainer.play.answered import CENTRE, RULED_OUT, THROWS, VIEWS, size_of
from trainer.play.calls import learns_from
from trainer.play.causes_in_words import COURSES, HEALED
from trainer.play.diagnosis import Found
from trainer.play.game import Game, Standing

DOSE = 40  # calls a day
MINUTES = (2, 3, 5, 8, 10, 15, 20, 30)  # to choose from
USUAL_MINUTES = 5
MOST_MINUTES = 60
REMEMBERED = "minutes"  # the setting
STALE = 2  # days after which a set that was left no longer comes first
# So many calls at most of what tells the centre, throw and the views, and after how many they are asked for.
CENTRE_CALLS, CENTRE_FROM = 30, 30
THROW_CALLS, THROW_FROM = 36, 50
VIEW_CALLS, VIEW_FROM = 24, 200
FIRST_MEASURE = "A first measure, to see later what practice brings"
MEASURE_FROM = 30  # calls from which the weekly measure is offered
QUESTIONS = {
    CENTRE: "Does your line of aim go to one side?",
    THROWS: "Do you allow for throw?",
    VIEWS: "Do you see the same standing and down?",
}
STEPS = 2  # of what mends a cause, in a day
SEES_WELL = 8  # right of the first look's ten
NEW = 60  # calls: who has made more isn't new any more
FEWEST = 5  # shots: fewer aren't worth beginning
PACE = 12.0  # seconds from call to call, until the player's pace is known
PAGE = 40.0  # seconds that a page of the primer takes
# Seconds: a longer gap is a break. Then: gaps that tell the pace; calls looked at.
LONGEST, KNOWN, OF_LATE = 60.0, 20, 200
# A kind of shot is practised with the one of these played last: they ask for the fine difference, not a name.
DRILLS = ("aim", "slide", "judge")
WORDS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)


@dataclass(frozen=True)
class Part:
    """A few shots of a level, and why they are worth playing.

    ``says`` is the reason, without its full stop: ``3/8 to the right: not practised for nine days``.
    ``begun``: its set is under way, and the shots are those left.
    """

    level: Level
    shots: int
    says: str
    begun: bool = False

    @property
    def line(self) -> str:
        """``3/8 to the right: not practised for nine days; 12 shots``."""
        if not self.shots:
            return self.says
        if self.level is placement.LEVEL and not self.begun:
            return f"{self.says}; {placement.SHOTS} shots at most"
        if self.begun:
            return f"{self.says}, {self.shots} to go"
        return f"{self.says}; {counted(self.shots, 'page' if self.level.name in primer.PAGES_OF else 'shot')}"


@dataclass(frozen=True)
class Plan:
    """What to play, the first part first, and how many calls there were today.

    ``minutes`` is about how long all of it takes. ``cut``: the player has time for more than a day's dose.
    """

    parts: tuple[Part, ...]
    calls: int
    minutes: int
    cut: bool = False

    @property
    def takes(self) -> str:
        """How long all of it takes; if it was cut, why."""
        said = f"About {counted(self.minutes, 'minute')}"
        if self.cut and not self.enough:
            return f"{said}: then today's {DOSE} calls are made, and more adds little."
        return f"{said}."

    @property
    def enough(self) -> str:
        """Says that today's calls are enough; '' if they aren't."""
        if self.calls < DOSE:
            return ""
        return f"{self.calls} calls today are enough to learn from: more adds little."


def minutes_of(history: History) -> int:
    """How many minutes the player said to have, last time."""
    said = history.get_setting(REMEMBERED) or ""
    found = int(said) if said.isdecimal() and len(said) <= 2 else 0
    return found if 1 <= found <= MOST_MINUTES else USUAL_MINUTES


def other_minutes(history: History, step: int) -> int:
    """Remember one of ``MINUTES`` more (1) or less (-1) than now; the minutes then.

    Raises
    ------
    TrainerError
        If it can't be written.
    """
    now = minutes_of(history)
    more = [n for n in MINUTES if (n > now if step > 0 else n < now)]
    if not more:
        return now
    wanted = more[0] if step > 0 else more[-1]
    history.put_setting(REMEMBERED, str(wanted))
    return wanted


def plan(game: Game, minutes: int = USUAL_MINUTES) -> Plan:
    """What is worth doing now.

    Parameters
    ----------
    game : Game
    minutes : int
        As many as the player has. There is always one part; more come while the time and the day's dose last.
    """
    today = game.history.today
    calls = game.history.count(today)
    pace = pace_of(game.attempts)
    wanted = max(round(minutes * 60 / pace), FEWEST)
    left = min(wanted, max(DOSE - calls, 0))
    standing = game.standing()
    parts = _left(game, standing)
    left -= sum(part.shots for part in parts)
    for part in _worth_doing(game, parts, left, practising=calls < DOSE):
        if parts and left < FEWEST:
            break
        parts.append(_shortened(part, max(left, FEWEST)))
        left -= parts[-1].shots
    seconds = (
        PAGE if part.level.name in primer.PAGES_OF else pace for part in parts for _ in range(part.shots)
    )
    about = max(round(sum(seconds) / 60), 1)
    return Plan(tuple(parts), calls, about, cut=wanted > max(DOSE - calls, 0))


def _left(game: Game, standing: Standing) -> list[Part]:
    """The set that was left, if one was."""
    if not standing.under_way:
        return []
    ago = date.fromisoformat(game.history.today) - date.fromisoformat(standing.day)
    if ago.days > STALE:
        return []
    level, shots = standing.level, max(standing.of - standing.done, 0)
    if level is warmup.LEVEL:  # it has a key of its own, and a match may be over
        return []
    what = "page" if level.name in primer.PAGES_OF else "shot"
    says = f"{level.title}: go on at {what} {standing.done + 1} of {standing.of}"
    return [Part(level, shots, says, begun=True)]


def _shortened(part: Part, most: int) -> Part:
    """The part with at most so many shots, if it is about a kind of shot; a level keeps its length."""
    if part.level.about is None or part.shots <= most:
        return part
    return replace(part, level=replace(part.level, shots=most), shots=most)


def _worth_doing(game: Game, parts: Sequence[Part], left: int, *, practising: bool) -> list[Part]:
    """What is worth beginning besides these parts, in its order, the next level last.

    ``left``: for how many shots there is time. Not ``practising``: no kind of shot by itself.
    """
    if not game.history.has_calls():
        return [Part(first_look.LEVEL, first_look.SHOTS, "A first look at how you see angles")]
    found = _to_begin_with(game)
    measured = list[Part]()  # where there is time for half of it at least
    if left >= measure.SHOTS // 2 and game.model.calls >= MEASURE_FROM and measure.is_due(game.history):
        measured.append(Part(measure.LEVEL, measure.SHOTS, "This week's measure"))
        if not game.history.count_of_level(measure.LEVEL.name):
            measured[0] = replace(measured[0], says=FIRST_MEASURE)
    found += _to_practise(game, measured) if practising else measured
    level = game.next_level()
    if all(part.level != level for part in parts):
        says = f"Next level: {level.title}"
        if not level.passed:
            says = f"{level.title}: every cut, chosen by what you see wrong"
        found.append(Part(level, level.shots, says))
    if len(mixed.met(game.shelf, game.history)) >= mixed.FEWEST:
        end = _to_play(game, mixed.LEVEL, "To end the day, every drill that you have met")
        left_today = DOSE - game.history.count(game.history.today)
        found = end + found if 0 < left_today <= mixed.SHOTS else found + end
    return found


def _to_practise(game: Game, measured: list[Part]) -> list[Part]:
    """What to mend, ask and practise, in its order; the week's measure comes after what is to be mended."""
    today = date.fromisoformat(game.history.today).toordinal()
    tally = game.skill().tally
    rows = kind_verdicts(game.belief, tally)
    known = [(row, tally.kinds[row.kind].practice(today)) for row in rows]
    diagnosis, question, found = game.diagnosis, _question(game), list[Part]()
    # A first measure comes before much is mended, to show later what practice has brought.
    early, late = (measured, []) if measured and measured[0].says == FIRST_MEASURE else ([], measured)
    if diagnosis.worst is not None and diagnosis.worst.cause != LOCAL:
        steps, begun = _course(game, diagnosis.worst), _played_today(game, diagnosis.worst.course) > 0
        # Once the cure is known, a question that was never asked comes before it: else days pass without it.
        known_cure = game.history.count_of_level(diagnosis.worst.cure.name) > 0
        begun |= known_cure and not any(game.history.count_of_level(one.level.name) for one in question)
        first, then = ([], steps) if begun else (steps[:1], steps[1:])
        found, question, early = first + question + early + then, [], []
        # What the cause explains is mended by its cure; the rest of what is seen wrong is practised.
        rest = {kind for each in diagnosis.causes for kind in each.kinds}
        known = [(row, when) for row, when in known if row.verdict == TRUE or row.kind in rest]
    practised = [part for row, when in weak(known) for part in _weak_part(game, row, when)]
    if looks := _looks_again(game):
        practised += looks
    elif not _looked_back(game, rows):
        practised += [part for row, when in due(known) for part in _due_part(game, row, when)][:1]
    # Where there is nothing to mend, a question comes before all else.
    rest_of_it = early + practised + question if diagnosis.worst else question + early + practised
    return found + late + rest_of_it


def _to_begin_with(game: Game) -> list[Part]:
    """What comes after the first look: for who sees well the place on the path, else why shots go thick."""
    if game.history.count() > NEW:
        return _to_skip(game)
    looks = game.history.sets_of_level(first_look.NAME)
    if not looks:
        return []
    stage, right = first_look.stage_after(looks[-1]), sum(looks[-1])
    if stage == len(first_look.STAGES) - 1 and right >= SEES_WELL:
        found = Part(placement.LEVEL, placement.USUAL, "Find your place: skip what you master")
    else:
        found = Part(primer.SPACE, 1, "Why shots go thick: slide a line until it pots")
    if any(game.history.count_of_level(name) for name in (found.level.name, primer.NAME)):
        return []
    return [found]


def _to_skip(game: Game) -> list[Part]:
    """The place on the path, once nothing is seen wrong, for who hasn't come far on it and never found it."""
    begins = tuple(CHAPTERS)[: len(CHAPTERS) // 2]
    if game.next_level().chapter not in begins or game.history.count_of_level(placement.NAME):
        return []
    if game.diagnosis.worst:
        return []
    why = "What you saw wrong is mended" if game.skill().looks.healed else "Nothing stands out"
    return [Part(placement.LEVEL, placement.USUAL, f"{why}: find your place, and skip what you master")]


def _course(game: Game, worst: Found) -> list[Part]:
    """The next steps of what mends the cause: those that were played least, in their order."""
    sets = {level.name: game.history.sets_of_level(level.name) for level in worst.course}
    steps = sorted(worst.course, key=lambda level: len(sets[level.name]))
    # The cure again, until half of a set of it is right: the steps after it are harder.
    last = (sets[worst.cure.name] or [[True]])[-1]
    if 2 * sum(last) < len(last):
        steps.sort(key=lambda level: level is not worst.cure)
    found = list[Part]()
    for level in steps:
        aim = worst.aim if level is worst.cure else "The next step"
        found += _to_play(game, level, f"{aim}: {level.title}")
    return found[: max(STEPS - _played_today(game, worst.course), 0)]


def _played_today(game: Game, levels: Sequence[Level]) -> int:
    """How many of these levels were played today."""
    names = {a.level for a in game.attempts if a.local_day == game.history.today}
    return len(names & {level.name for level in levels})


def _looks_again(game: Game) -> list[Part]:
    """Whether what has healed holds: the last step of its course, 1, 3, 7, 14 and 28 days after."""
    today = date.fromisoformat(game.history.today).toordinal()
    for cause, healed in game.skill().looks.healed.items():
        name = cause.split()[0]
        level = game.level(COURSES[name][-1])
        days = [date.fromisoformat(day).toordinal() for day in game.history.days_of_level(level.name)]
        since = healed.day
        ago, looked = today - since, max((day - since for day in days if day > since), default=0)
        if days and days[0] <= since and look_is_due(ago, looked):
            return _to_play(game, level, f"Does it hold? {HEALED[name]}, healed {_ago(ago)}: {level.title}")
    return []


def _ago(days: int) -> str:
    return "yesterday" if days == 1 else f"{_days(days)} ago"


def _looked_back(game: Game, rows: Sequence[KindVerdict]) -> bool:
    """Whether a kind that is seen true has come back today: more would leave no time for what is new."""
    true = {about(row.kind, game.shelf.tables).name for row in rows if row.verdict == TRUE}
    return any(a.level in true and a.local_day == game.history.today for a in game.attempts)


def _question(game: Game) -> list[Part]:
    """What would tell causes apart that so far can't be: one question a day, and why it is asked.

    Of several it is the one that was asked least.
    """
    levels = [game.level(name) for name in QUESTIONS]
    if _played_today(game, levels):
        return []
    calls, centre, throw = game.model.calls, len(game.model.sighted), game.skill(Throw.skill).tally.calls
    views = game.history.count_of_level(levels[2].name)
    open_ = (
        calls >= CENTRE_FROM and centre < CENTRE_CALLS,
        calls >= THROW_FROM and not _is_known(game, THROW, throw),
        calls >= VIEW_FROM and views < VIEW_CALLS,
    )
    asked = zip((centre, throw, views), levels, QUESTIONS.values(), open_, strict=True)
    found = [(count, level, question) for count, level, question, is_open in asked if is_open]
    if not found:
        return []
    _, level, question = min(found, key=lambda one: one[0])
    return _to_play(game, level, f"{question} {level.title} tells")


def _is_known(game: Game, cause: str, calls: int) -> bool:
    """Whether so many calls of the drill that tells a cause have told whether it is there, or can't."""
    if not 0 < calls < THROW_CALLS:
        return calls > 0
    found = size_of(cause, game.model)
    return found is not None and (found.chance > SURE or found.chance < RULED_OUT)


def _to_play(game: Game, level: Level, says: str) -> list[Part]:
    """A level that is worth playing once a day, unless it was played today."""
    today = game.history.today
    if any(a.level == level.name and a.local_day == today for a in game.attempts):
        return []
    return [Part(level, level.shots, says)]


def _weak_part(game: Game, row: KindVerdict, when: Practised | None) -> list[Part]:
    level = _about(game, row)
    says = f"You see {kind_name(row.kind)} {game.style.one_over(row.bias)} ball {row.verdict}"
    if when is not None and when.days > 1:
        says += f", no set about it for {_days(when.days)}"
    return _to_play(game, level, says)


def _due_part(game: Game, row: KindVerdict, when: Practised) -> list[Part]:
    says = f"{capital(kind_name(row.kind))}: not practised for {_days(when.days)}"
    return _to_play(game, _about(game, row), says)


def _about(game: Game, row: KindVerdict) -> Level:
    mine = (a.drill for a in reversed(game.attempts) if a.drill in DRILLS and learns_from(a.level))
    drill = next(mine, USUAL)
    return about(row.kind, game.shelf.tables, drill)


def _days(count: int) -> str:
    return f"{WORDS[count]} days" if count < len(WORDS) else f"{count} days"


def pace_of(attempts: Sequence[Attempt]) -> float:
    """Seconds from call to call within a set, the median of recent ones."""
    gaps = [
        (after.epoch_ms - before.epoch_ms) / 1000.0
        for before, after in pairwise(attempts[-OF_LATE:])
        if after.set_id == before.set_id
    ]
    gaps = [gap for gap in gaps if 0.0 < gap <= LONGEST]
    return median(gaps) if len(gaps) >= KNOWN else PACE
