"""What the screen shows of a question: as it is asked, as an answer is considered, or with its mark."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from textual.content import Content

from trainer.drills import DRILLS, Choice, Drill, Mark, Question, Shown, detail, headline, words
from trainer.drills.leave import places_to_choose
from trainer.drills.pick import balls_to_choose
from trainer.drills.words import PARTS, Step, capital, small
from trainer.pictures.marks import Cue, Label, Line, Meaning, Region, Spot, balls_of, call_marks, truth_marks
from trainer.pictures.marks import Mark as Drawn
from trainer.pictures.plan import Plan
from trainer.pictures.projection import Projection, Viewport
from trainer.pictures.views import STRAIGHT, Look, projection_of
from trainer.play.pair import LOOKS, Pair
from trainer.play.primer import Primer, told_of_trial, way_of_trial, where_they_touch
from trainer.play.routine import Routine
from trainer.play.set_in_play import SetInPlay
from trainer.shots.shot import Point, Shot
from trainer.shots.style import USUAL, Style

MARKED = ("way", "touching", "aim")  # what is shown of a mark's construction while it isn't explained


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
    ``spot`` is a place (mm) of the object ball that is marked before the call: the one to touch.
    ``says`` is a heading and a text about it, above the pictures: in the primer what the page says.
    ``style`` is how lengths and parts of a ball are written. ``look`` is how a shot is looked at that is
    called twice, ``chosen`` what was called standing and not marked yet, ``pair`` both marks.
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
    spot: Point | None = None
    says: tuple[str, str] = ("", "")
    style: Style = USUAL
    look: str = ""
    chosen: Choice | None = None
    pair: Pair | None = None

    # What becomes of it

    def seen(self, view: str) -> "Scene":
        """The same in another view."""
        return replace(self, view=view)

    def considering(self, choice: Choice) -> "Scene":
        """With another answer considered."""
        return replace(self, considered=choice)

    def marked(self, mark: Mark, pair: Pair | None = None) -> "Scene":
        """After the call: the question is the one that was marked; with both marks if it was called twice."""
        posed = self.question.shot if balls_to_choose(self.question) else None
        return replace(self, question=mark.question, mark=mark, posed=posed, pair=pair)

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
        if self.mark is None and self.considered is not None and not balls_to_choose(self.question):
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

    @cached_property
    def shown_first(self) -> Shown:
        """What the drill lays over the pictures of what was called standing, while it is called again."""
        if self.chosen is None or self.mark is not None or self.drill.played != Drill.played:
            return Shown()
        return self.drill.shown(self.question, self.chosen)

    @property
    def first(self) -> Mark | None:
        """The mark of what was called standing, where both are told and the calls are shown."""
        told = self.pair is not None and "call" in self.parts and self.drill.played == Drill.played
        return self.pair.standing if self.pair is not None and told else None

    @property
    def said(self) -> str:
        """All that the screen says of the shot."""
        question, mark, stroke = self.question, self.mark, self.question.shot.stroke
        found = [*self.says, question.prompt, self.drill.hint(question, self.considered)]
        found += [words.stroke(stroke)] if stroke else []
        found += [headline(mark, self.style), detail(mark, self.style)] if mark else []
        return " ".join([*found, self.step.says if self.step else ""])

    # What pictures show of it

    def projection(self, viewport: Viewport, look: Look = STRAIGHT) -> Projection:
        """How the large picture shows the shot."""
        shot, target, places = self.shot, self.target, places_to_choose(self.question)
        return projection_of(self.view, shot, target, viewport, look=look, also=self.in_view, places=places)

    def from_above(self, viewport: Viewport, turns: int = 0) -> Projection:
        """How the small picture shows the whole table, turned by quarters to the left."""
        return Plan(self.shot, self.target, viewport, whole=True, turned=turns)

    @cached_property
    def marks(self) -> tuple[Drawn, ...]:
        """What the large picture shows: balls, what helps or is considered, what is true and was called."""
        laid = (*self._first, *self._helps, *self._truth, *self._call)
        return (*self._regions, *laid, *self._spots, *self._balls, *self._labels)

    @cached_property
    def located(self) -> tuple[Drawn, ...]:
        """What the whole table shows: where the shot is. It is too small for numbers."""
        shown = self.shown
        return (*_region(shown), *self._spots, *self._balls)

    def rolling(self, cue_ball: Point, object_ball: Point | None) -> tuple[Drawn, ...]:
        """What the large picture shows while the called ball rolls: the two are here, or it has dropped."""
        assert self.mark is not None
        played, dropped = self.mark.played, object_ball is None
        shot = replace(played, cue_ball=cue_ball, object_ball=object_ball or played.object_ball)
        balls = balls_of(shot, object_ball=not dropped, chosen_from=balls_to_choose(self.question))
        return (*self._regions, *self._spots, *balls)

    @property
    def _regions(self) -> list[Drawn]:
        return _region(self.shown if self.mark is None else self.after)

    @property
    def _helps(self) -> list[Drawn]:
        """Before the call the line to the pocket, if the level shows it, and what is considered."""
        if self.mark is not None:
            return []
        shown, shot, found = self.shown, self.shot, list[Drawn]()
        if self.way and self.target is not None:
            found.append(Line((shot.object_ball, self.target), Meaning.HELP))
        if shown.line is not None:
            ahead = shot.abreast(shown.line)
            found.append(Line((shot.cue_ball, ahead), Meaning.CONSIDERED))
            found += [Cue(shot.cue_ball, ahead)] * (self.view == "down")  # as a player has it there
        return [*found, Line(shown.path, Meaning.CONSIDERED)]

    @property
    def _first(self) -> list[Drawn]:
        """What was called standing: as it was considered, and with the mark the cue ball's way."""
        if self.first is not None:
            return [Line(self.first.run.before, Meaning.FIRST)]
        shot, shown = self.question.shot, self.shown_first
        line = () if shown.line is None else (shot.cue_ball, shot.abreast(shown.line))
        return [Line(line, Meaning.FIRST), Line(shown.path, Meaning.FIRST)]

    @property
    def _truth(self) -> list[Drawn]:
        """After the call, the parts of its construction that are shown."""
        if self.mark is None:
            return []
        shot, way = self.question.shot, self.drill.true_way(self.question)
        truth = truth_marks(shot, self.target, way, self.after.true_after)
        shown = MARKED if self.step is None else self.parts
        return [mark for part, mark in truth.items() if part in shown]

    @property
    def _call(self) -> list[Drawn]:
        """After the call, what was called."""
        mark = self.mark
        if mark is None or "call" not in self.parts:
            return []
        sent = [mark.played.object_ball, mark.met.at] if mark.met and self.target else []
        return call_marks([sent, mark.run.before, self.after.called_after], mark.touching)

    @property
    def _balls(self) -> list[Drawn]:
        on_table = self.mark is not None or self.shown.cue_ball
        return balls_of(self.shot, cue_ball=on_table, chosen_from=balls_to_choose(self.question))

    @property
    def _spots(self) -> list[Drawn]:
        """The places to choose from; the right one in front of the others, once it is known."""
        ordered = sorted(self._places, key=lambda chosen: chosen[2] is Meaning.POT)
        return [Spot(place, meaning) for _, place, meaning in ordered]

    @property
    def _labels(self) -> list[Drawn]:
        """The numbers of the places and of the balls to choose from."""
        balls = self._chosen_from(balls_to_choose(self.question), Meaning.BALL)
        spoken_of = [] if self.spot is None or self.mark else [("x", self.spot, Meaning.POT)]
        return [Label(place, key, meaning) for key, place, meaning in (*self._places, *balls, *spoken_of)]

    @cached_property
    def _places(self) -> list[tuple[str, Point, Meaning]]:
        else_said = Meaning.REST if self.mark else Meaning.CHOICE
        return self._chosen_from(places_to_choose(self.question), else_said)

    def _chosen_from(self, places: Sequence[Point], else_said: Meaning) -> list[tuple[str, Point, Meaning]]:
        """The choices' keys, their places, and what is said of each; ``else_said`` of the rest."""
        question, found = self.question, []
        for i, (choice, place) in enumerate(zip(question.choices, places, strict=False)):
            meaning = else_said
            if self.mark is None:
                meaning = Meaning.CONSIDERED if choice == self.considered else meaning
            elif i == question.best:
                meaning = Meaning.POT
            elif choice == self.mark.choice:
                meaning = Meaning.CALL
            found.append((choice.key, place, meaning))
        return found


def _region(shown: Shown) -> list[Drawn]:
    """The part of the cloth that a drill speaks of, or asks for."""
    return [Region(shown.region, Meaning.ASKED if shown.asked else Meaning.HELP)]


def first_scene(played: SetInPlay, view: str) -> Scene:
    """The present question of a set as it is asked."""
    trial, way, contact, says = False, played.level_now.line_to_pocket, False, ("", "")
    if isinstance(played, Primer):
        page = played.page
        trial, way, contact = played.trying, page.line_to_pocket, page.contact
        says = page.title, page.says if trial else page.then
    question = played.trial() if isinstance(played, Primer) and trial else played.question()
    dial, chosen = question.dial, played.chosen
    considered = chosen if dial is None else dial.at(dial.start)
    level = played.level_now
    return Scene(
        question,
        view,
        way=way,
        trial=trial,
        considered=considered,
        inset=level.inset and not balls_to_choose(question),
        whole_table=level.whole_table,
        says=says,
        spot=where_they_touch(question) if contact else None,
        style=played.game.style,
        look=played.view if isinstance(played, Routine) else "",
        chosen=chosen,
    )


# What is said of a question


def question_line(scene: Scene, room: int) -> Content:
    """What is asked, and a few words beside it; where a shot is called twice, what is to be done now."""
    question, considered, chosen = scene.question, scene.considered, scene.chosen
    if scene.look:
        does, then = LOOKS[scene.look]
        if chosen is not None:
            name = chosen.name if question.dial is not None or scene.drill.names_answers else chosen.key
            return Content.assemble((does, "bold"), "  ", (then.format(chosen=name), "$quiet"))
        asks = f"{capital(scene.look)}: {small(question.prompt)}"
        if len(asks) > room:  # the line above says standing, too
            asks = question.prompt
        fits = len(asks) + 2 + len(then) <= room
        return Content.assemble((asks, "bold"), (f"  {then}" if fits else "", "$quiet"))
    hint = scene.drill.hint(question, considered)
    if scene.trial and considered is not None:
        hint = told_of_trial(question, considered, scene.style)
    return Content.assemble((question.prompt, "bold"), "  ", (hint, "$quiet"))


# What is said of a mark

# What the lines are, with colours and without; the first of each with room.
LEGENDS = {
    True: ("   white: {true}   blue: {played}", "   blue: {played}"),
    False: ("   solid: {true}   dashed: {played}", "   dashed: {played}"),
}
# Told with the first mark of all.
FULLNESS = (
    "Fullness: how much of the object ball the cue ball covers. "
    "Thick: fuller than the pot needs; thin: less full. Jaw: a cushion's end at a pocket."
)


def mark_headline(scene: Scene, mark: Mark, room: int, *, coloured: bool) -> Content:
    """The mark in one row of ``room`` columns."""
    what = headline(mark, scene.style) if scene.pair is None else scene.pair.headline(scene.style)
    said = ("✓ " if mark.right else "✗ ") + what
    played = scene.drill.played if scene.first is None else "down, faint: standing"
    legends = [text.format(true=scene.drill.true, played=played) for text in LEGENDS[coloured]]
    shown = legends if "call" in scene.parts else ()
    legend = next((text for text in shown if len(text) <= room - len(said)), "")
    return Content.assemble((said, f"bold {'$good' if mark.right else '$head'}"), (legend, "$quiet"))


def mark_detail(scene: Scene, mark: Mark, *, is_first: bool) -> Content:
    """What came of it, or a step of its construction; with the first mark, what fullness is."""
    if scene.step is not None:
        where = f"{scene.explained} of {len(scene.steps)}  "
        return Content.assemble((where, "$quiet"), scene.step.says)
    if scene.pair is not None:
        return Content.assemble((f"{scene.pair.lesson} ", "bold"), detail(mark, scene.style))
    return Content(FULLNESS if is_first else detail(mark, scene.style))
