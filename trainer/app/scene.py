"""What the screen shows of a question: as it is asked, as an answer is considered, or with its mark."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from trainer.drills import DRILLS, Choice, Drill, Mark, Question, Shown
from trainer.drills.leave import places_of
from trainer.drills.pick import balls_of
from trainer.drills.why import PARTS, Step
from trainer.pictures.plan import PlanHelp, PlanResult
from trainer.pictures.spots import Spot
from trainer.play.played import Played
from trainer.play.primer import Primer, way_of_trial
from trainer.shots.shot import Point, Shot
from trainer.shots.style import USUAL, Style


@dataclass(frozen=True)
class Scene:
    """A question as it stands between the trainer and the player, and all that pictures show of it.

    It never changes: whatever a player does makes another one. So what follows from it is worked out once,
    however many pictures and frames are drawn of it.

    ``view`` is that of the large picture. ``way``: with the line to the pocket before the call. ``trial``: a
    line is only tried, to see where the ball goes. ``considered`` is the answer that is considered, ``mark``
    the call's; ``explained`` is how many steps of the mark's construction are shown, 0: the mark itself.
    ``inset`` and ``whole_table``: with these small pictures beside the large one.
    ``posed`` is the shot that is shown, where that isn't the question's own: a call doesn't turn the picture.
    ``style`` is how lengths and parts of a ball are written.
    """

    question: Question
    view: str
    way: bool = False
    trial: bool = False
    considered: Choice | None = None
    mark: Mark | None = None
    explained: int = 0
    inset: bool = True
    whole_table: bool = True
    posed: Shot | None = None
    style: Style = USUAL

    # What becomes of it

    def seen(self, view: str) -> "Scene":
        """The same in another view."""
        return replace(self, view=view)

    def considering(self, choice: Choice) -> "Scene":
        """With another answer considered."""
        return replace(self, considered=choice)

    def marked(self, mark: Mark) -> "Scene":
        """After the call: the question is the one that was marked."""
        posed = self.question.shot if balls_of(self.question) else None
        return replace(self, question=mark.question, mark=mark, posed=posed)

    def explained_further(self, steps: int = 1) -> "Scene":
        """With the next step of the construction; after the last, and before the first, the mark again."""
        return replace(self, explained=(self.explained + steps) % (len(self.steps) + 1))

    # What follows from it

    @property
    def drill(self) -> Drill:
        """The drill that asks it."""
        return DRILLS[self.question.drill]

    @property
    def numbers(self) -> int:
        """How many answers, or jumps of the number to be set, have a number as their key."""
        dial = self.question.dial
        return len(self.question.choices if dial is None else dial.jumps)

    @cached_property
    def shot(self) -> Shot:
        """The shot as it lies, where the player lays it as that is considered."""
        if self.mark is None and self.considered is not None and not balls_of(self.question):
            return self.drill.settled(self.question, self.considered).shot
        return self.posed or self.question.shot

    @property
    def target(self) -> Point | None:
        """Where the object ball is to cross the pocket's mouth, mm; None where no pocket is called."""
        return self.question.target

    @cached_property
    def in_view(self) -> tuple[Point, ...]:
        """Places (mm) that the large picture must show besides the shot."""
        return self.drill.in_view(self.question)

    @cached_property
    def shown(self) -> Shown:
        """What the drill lays over the pictures of the question."""
        shown = self.drill.shown(self.question, self.considered)
        if self.trial and self.considered is not None:
            return replace(shown, path=way_of_trial(self.question, self.considered))
        return shown

    @cached_property
    def after(self) -> Shown:
        """What the drill lays over them besides, after the call."""
        return Shown() if self.mark is None else self.drill.shown_after(self.mark)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The mark's construction; none before the call."""
        return () if self.mark is None else self.drill.why(self.mark, self.style)

    @property
    def step(self) -> Step | None:
        """The step of the construction that is shown."""
        return self.steps[self.explained - 1] if self.explained else None

    @property
    def parts(self) -> tuple[str, ...]:
        """What is on the pictures of the construction: all of it, but while it is explained."""
        return PARTS if self.step is None else self.step.parts

    # What is laid over the shot

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """The places to choose from; after the call they say which was right and which was called."""
        return self._numbered(places_of(self.question), "quiet" if self.mark else "open")

    @cached_property
    def numbered(self) -> tuple[Spot, ...]:
        """The object balls to choose from, in the same way."""
        return self._numbered(balls_of(self.question), "ball")

    def _numbered(self, places: Sequence[Point], else_tone: str) -> tuple[Spot, ...]:
        """The choices' numbers at their places; ``else_tone`` is that of those that nothing is said of."""
        question, found = self.question, []
        for i, (choice, place) in enumerate(zip(question.choices, places, strict=False)):
            tone = else_tone
            if self.mark is None:
                tone = "considered" if choice == self.considered else tone
            elif i == question.best:
                tone = "right"
            elif choice == self.mark.choice:
                tone = "called"
            found.append(Spot(place, choice.key, tone))
        return tuple(found)

    @cached_property
    def helps(self) -> PlanHelp:
        """What the player considers, or besides the call what was right."""
        if self.mark is not None:
            after = self.after
            return PlanHelp(spots=self.spots, region=after.region, asked=after.asked, numbered=self.numbered)
        shown = self.shown
        return PlanHelp(
            way=self.way,
            aim=shown.line,
            path=shown.path,
            spots=self.spots,
            region=shown.region,
            asked=shown.asked,
            cue_ball=shown.cue_ball,
            numbered=self.numbered,
        )

    @property
    def located(self) -> PlanHelp:
        """The same where the whole table shows where the shot is."""
        shown = self.shown
        return PlanHelp(
            spots=self.spots,
            region=shown.region,
            asked=shown.asked,
            cue_ball=self.mark is not None or shown.cue_ball,
            numbered=self.numbered,
        )

    @property
    def rolled(self) -> Shot:
        """After the call, the shot with the balls that lie still while the called one rolls."""
        return self.shot if self.mark is None else replace(self.shot, others=self.mark.played.others)

    @cached_property
    def result(self) -> PlanResult | None:
        """After the call: what pots, and what was called."""
        mark = self.mark
        if mark is None:
            return None
        true = self.drill.true_way(self.question)
        result = PlanResult(
            touching=true[-1],
            over=true[1:-1],
            called_over=mark.run.before[1:-1],
            called_touching=mark.touching,
            called_past=None if mark.touching else mark.run.before[-1],
            called_way=[mark.met.at] if mark.met and self.target else [],
            true_after=self.after.true_after,
            called_after=self.after.called_after,
            ball=self.question.shot.object_ball,
            called_ball=mark.played.object_ball,
        )
        return result if self.step is None else replace(result, parts=self.parts)


def first_scene(played: Played, view: str) -> Scene:
    """The present question of a set as it is asked."""
    trial, way = False, played.level.line_to_pocket
    if isinstance(played, Primer):
        trial, way = played.trying, played.page.line_to_pocket
    question = played.trial() if isinstance(played, Primer) and trial else played.question()
    dial = question.dial
    considered = None if dial is None else dial.at(dial.start)
    level = played.level
    return Scene(
        question,
        view,
        way=way,
        trial=trial,
        considered=considered,
        inset=level.inset and not balls_of(question),
        whole_table=level.whole_table,
        style=played.game.style,
    )
