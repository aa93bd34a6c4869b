"""Playing a set: the shot large, one question, and after the call what was true."""

import math
import time
from dataclasses import replace
from functools import partial
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.reactive import reactive
from textual.timer import Timer
from textual.widgets import Static

from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.answers import Answers
from trainer.app.widgets.options import Options
from trainer.app.widgets.picture import Picture
from trainer.drills import DRILLS, Choice, Drill, Mark, Question, Shown, detail, headline, words
from trainer.drills.rolling import Rolling, rolling
from trainer.drills.why import PARTS
from trainer.game.played import Played
from trainer.game.primer import PAGES, Primer, way_of_trial
from trainer.learner.report import IN_A_ROW
from trainer.pictures.inset import draw_inset, inset_view
from trainer.pictures.plan import Placed, PlanHelp, PlanResult, draw_plan, spot_at
from trainer.pictures.spots import Spot
from trainer.pictures.views import Look, draw_view, place_at
from trainer.records import RecordsError
from trainer.shots.shot import Shot

DIGITS = tuple("123456789")
NEAR = 2  # cells: a click this near to a candidate is meant for it
TURN = math.radians(7.0)  # a look to the side
STEP = 1.25  # a step back or up, as a factor
DRAG_ACROSS, DRAG_DOWN = 6.0, 3.0  # cells of a drag for one look
OTHER_KEYS = ("escape", "question_mark", "f1", "ctrl+p", "ctrl+q", "ctrl+c", "v")  # they say otherwise
FRAMES, SLOW = 30, 0.3  # frames a second of the film; its pace when it is shown again
GLIDE_S = 0.18  # how long a look around takes to get there
LEGENDS = ("   solid: the pot   dashed: {}", "   dashed: {}")  # the first with room
LOOKING = ("turn_by", "back_by", "up_by")


LOOKS = (
    Binding("a,shift+left", "look('turn', -1)", "Look", key_display="adwsrf"),
    Binding("d,shift+right", "look('turn', 1)", "Look round to the right", show=False),
    Binding("w,shift+up", "look('back', -1)", "Step closer", show=False),
    Binding("s,shift+down", "look('back', 1)", "Step back", show=False),
    Binding("r,pageup", "look('up', 1)", "Stand up", show=False),
    Binding("f,pagedown", "look('up', -1)", "Get down", show=False),
    Binding("x", "look_straight", "Look straight again", show=False),
)
LOOK_KEYS = tuple(key for binding in LOOKS for key in binding.key.split(","))


class PlayScreen(TrainerScreen):
    """One set, question by question."""

    # How far the player has looked around, in looks: they glide to where a key sends them.
    turn_by: reactive[float] = reactive(0.0)
    back_by: reactive[float] = reactive(0.0)
    up_by: reactive[float] = reactive(0.0)

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "call(1)", "Call", key_display="1-9"),
        *[Binding(d, f"call({d})", "Call", show=False, key_display="1-9") for d in DIGITS[1:]],
        Binding("left,h", "consider(-1)", "Consider", key_display="← →"),
        Binding("right,l", "consider(1)", "Consider", show=False, key_display="← →"),
        Binding("1", "jump(1)", "Jump", key_display="1-9"),
        *[Binding(d, f"jump({d})", "Jump", show=False, key_display="1-9") for d in DIGITS[1:]],
        Binding("down", "turn(0, -1)", "Coarse", key_display="↓↑"),
        Binding("up", "turn(0, 1)", "Coarse", show=False, key_display="↓↑"),
        Binding("left,h", "turn(1, -1)", "Fine", key_display="←→"),
        Binding("right,l", "turn(1, 1)", "Fine", show=False, key_display="←→"),
        Binding("comma", "turn(2, -1)", "Hair", key_display=",."),
        Binding("full_stop", "turn(2, 1)", "Hair", show=False, key_display=",."),
        Binding("enter", "call_considered", "Call", show=False),
        Binding("v", "next_view", "View"),
        *LOOKS,
        Binding("y", "why", "Why?"),
        Binding("z", "replay", "Replay slowly"),
        Binding("space", "go_on", "Go on", key_display="any key"),
        Binding("escape", "home", "Home", key_display="esc"),
    ]

    def __init__(self, played: Played) -> None:
        super().__init__()
        self.played = played
        self.mark: Mark | None = None
        self.considered: Choice | None = None
        self.trial: Question | None = None  # of a primer's page: a line to slide before the call
        self.view = played.level.views[0]
        self.film: Rolling | None = None  # the call as it rolls; over: None
        self.explained = 0  # steps of the mark's construction that are shown; 0: the mark itself
        self._began, self._pace = 0.0, 1.0
        self._frames: Timer | None = None
        self._asked = time.monotonic()

    def body(self) -> ComposeResult:
        """Title, pictures, question."""
        with Horizontal(id="top"):
            yield Static(id="title")
            yield Static(id="run")
        yield Static(id="says")
        with Horizontal(id="pictures"):
            yield Picture(id="shot")
            with Vertical(id="side"):
                yield Picture(id="aim")
                yield Picture(id="table")
            yield Options(id="options")
        yield Static(id="ask")
        yield Answers(id="answers")
        yield Static(id="told")

    def on_mount(self) -> None:
        """Ask the first question."""
        self.ask()

    @property
    def question(self) -> Question:
        """The question asked, or, after the call, the one that was."""
        if self.mark is not None:
            return self.mark.question
        return self.trial or self.played.question()

    @property
    def shot(self) -> Shot:
        """The shot as it lies, where the player lays it as that is considered."""
        if self.mark is None and self.considered is not None:
            return self.drill.settled(self.question, self.considered).shot
        return self.question.shot

    @property
    def drill(self) -> Drill:
        """The drill that asks it."""
        return DRILLS[self.question.drill]

    @property
    def shown(self) -> Shown:
        """What is laid over the pictures."""
        shown = self.drill.shown(self.question, self.considered)
        if self.trial is not None and self.considered is not None:
            return replace(shown, path=way_of_trial(self.trial, self.considered))
        return shown

    def help_text(self) -> str:
        """The drill's own three sentences."""
        return self.drill.help

    # Asking

    def ask(self) -> None:
        """Show the present question."""
        self.mark, self.explained = None, 0
        primer = self.played if isinstance(self.played, Primer) else None
        self.trial = primer.trial() if primer is not None and primer.trying else None
        dial = self.question.dial
        self.considered = None if dial is None else dial.at(dial.start)
        self._stop_rolling()
        self._look_to(0.0, 0.0, 0.0, at_once=True)
        self._show()
        self._asked = time.monotonic()

    def action_call(self, number: int) -> None:
        """Call the answer with this number."""
        if number <= len(self.question.choices):
            self._call(self.question.choices[number - 1])

    def action_consider(self, step: int) -> None:
        """Move to the next answer and show what it would be; nothing is called yet."""
        choices = self.question.choices
        if self.considered is None:
            self.considered = choices[0 if step > 0 else -1]
        else:
            at = choices.index(self.considered) + step
            self.considered = choices[min(max(at, 0), len(choices) - 1)]
        self._show()

    def action_jump(self, number: int) -> None:
        """Set the number asked for to one of a few places."""
        dial = self.question.dial
        if dial is not None and number <= len(dial.jumps):
            self._set_to(dial.at(dial.jumps[number - 1]))

    def action_turn(self, which: int, steps: int) -> None:
        """Turn the number asked for by coarse, fine or hair's steps."""
        dial = self.question.dial
        if dial is not None and self.considered is not None:
            self._set_to(dial.at(self.considered.value + steps * dial.steps[which]))

    def _set_to(self, choice: Choice) -> None:
        self.considered = choice
        self._show()

    def action_call_considered(self) -> None:
        """Call the answer that is considered; where a line is only tried, go on to the call."""
        if self.trial is not None and isinstance(self.played, Primer):
            self.played.go_on()
            self.ask()
        elif self.considered is not None:
            self._call(self.considered)

    def _call(self, choice: Choice) -> None:
        seconds = time.monotonic() - self._asked
        try:
            self.mark = self.played.call(choice, seconds, self.view)
        except RecordsError as error:
            self.notify(f"This call could not be kept, so it doesn't count: {error}", severity="error")
            return
        self._roll(1.0)
        self._show()

    # Rolling

    def _roll(self, pace: float) -> None:
        """Let the balls roll as they were called; not at all where no motion is wanted."""
        if self.mark is None or self.app.animation_level == "none":
            return
        self.film, self._pace, self._began = rolling(self.mark), pace, time.monotonic()
        if self._frames is None:
            self._frames = self.set_interval(1 / FRAMES, self._next_frame)

    def _next_frame(self) -> None:
        if self.film is not None and self._film_time >= self.film.seconds:
            self._stop_rolling()
        self._show_shot()

    def _stop_rolling(self) -> None:
        self.film = None
        if self._frames is not None:
            self._frames.stop()
            self._frames = None

    @property
    def _film_time(self) -> float:
        return (time.monotonic() - self._began) * self._pace

    def action_replay(self) -> None:
        """See the call roll again, slowly."""
        self._roll(SLOW)

    def action_why(self) -> None:
        """The next step of the shot's construction; after the last the mark again."""
        if self.mark is None:
            return
        self._stop_rolling()
        self.explained = (self.explained + 1) % (len(self.drill.why(self.mark)) + 1)
        self._show()

    def action_go_on(self) -> None:
        """After a mark: the end of the film; then the next question, or the end of the set."""
        if self.mark is None:
            return
        if self.film is not None:
            self._stop_rolling()
            self._show_shot()
            return
        if self.played.done:
            self.trainer.show_summary(self.played)
        else:
            self.ask()

    # Looking

    def action_next_view(self) -> None:
        """Show the shot in the next view that the level gives."""
        views = self.played.level.views
        self.view = views[(views.index(self.view) + 1) % len(views)]
        self._show()

    def action_look(self, which: str, steps: int) -> None:
        """Turn, step or stand, a little."""
        if self.view == "plan":
            return
        wanted = {name: self._going.get(name, getattr(self, name)) for name in LOOKING}
        wanted[f"{which}_by"] += steps
        self._look_to(**wanted)

    def action_look_straight(self) -> None:
        """Back to the view's own place."""
        self._look_to(0.0, 0.0, 0.0)

    def _look_to(self, turn_by: float, back_by: float, up_by: float, at_once: bool = False) -> None:
        self._going = {"turn_by": turn_by, "back_by": back_by, "up_by": up_by}
        for name, value in self._going.items():
            if at_once or getattr(self, name) == value:
                setattr(self, name, value)
            else:
                self.animate(name, value, duration=GLIDE_S)

    @property
    def look(self) -> Look:
        """Where the player looks from."""
        return Look(self.turn_by * TURN, STEP**self.back_by, STEP**self.up_by)

    def _watch_turn_by(self) -> None:
        self._show_shot()

    def _watch_back_by(self) -> None:
        self._show_shot()

    def _watch_up_by(self) -> None:
        self._show_shot()

    @on(Picture.Rolled)
    def _picture_rolled(self, message: Picture.Rolled) -> None:
        if message.picture.id == "shot":
            self.action_look("back", message.steps)
        elif message.picture.id == "aim" and self.mark is None:
            self.action_turn(1, -message.steps)

    @on(Picture.Dragged)
    def _picture_dragged(self, message: Picture.Dragged) -> None:
        if message.picture.id == "shot" and self.view != "plan":
            turn = self.turn_by - message.across / DRAG_ACROSS
            self._look_to(turn, self.back_by, self.up_by + message.down / DRAG_DOWN, at_once=True)
        elif message.picture.id == "shot" and self.mark is None and self.question.dial is not None:
            self._point_at_table(message.x, message.y)
        elif message.picture.id == "aim" and self.mark is None and self.question.dial is not None:
            self._point_at(message.x)

    def action_home(self) -> None:
        """Leave the set; it goes on from here another time."""
        self.trainer.show_home()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Show only the keys that mean something now."""
        if self.too_small:
            return False
        if action in ("go_on", "why"):
            return self.mark is not None
        if action == "replay":
            return self.mark is not None and self.app.animation_level != "none"
        if action in ("call", "consider"):
            return self.mark is None and self.question.dial is None
        if action in ("jump", "turn"):
            return self.mark is None and self.question.dial is not None
        if action == "call_considered":
            return self.mark is None
        if action == "next_view":
            return len(self.played.level.views) > 1
        if action in ("look", "look_straight"):
            return self.view != "plan"
        return True

    def on_key(self, event: events.Key) -> None:
        """After a mark any key goes on, but for those that say otherwise."""
        if self.too_small or self.mark is None or event.key in self._own_keys:
            return
        event.stop()
        event.prevent_default()
        self.action_go_on()

    @property
    def _own_keys(self) -> tuple[str, ...]:
        """The keys that say something of their own after a mark."""
        replay = () if self.app.animation_level == "none" else ("z",)
        return (*OTHER_KEYS, "y", *replay, *(LOOK_KEYS if self.view != "plan" else ()))

    @on(Answers.Called)
    def _answer_clicked(self, message: Answers.Called) -> None:
        if self.question.dial is None:
            self.action_call(message.index + 1)
        else:
            self.action_call_considered()

    @on(Picture.Clicked)
    def _picture_clicked(self, message: Picture.Clicked) -> None:
        if self.mark is not None:
            self.action_go_on()
            return
        if message.picture.id == "aim":
            self._point_at(message.x)
        elif isinstance(message.picture, Options):
            option = message.picture.option_at(message.x, message.y)
            if option is not None:
                self.action_call(option + 1)
        elif message.picture.id == "shot" and self.question.places:
            self._call_place(message.picture, (message.x, message.y))
        elif message.picture.id == "shot":
            self._point_at_table(message.x, message.y)

    def _call_place(self, picture: Picture, cell: tuple[int, int]) -> None:
        """Call the place that a cell of the plan stands for, if it stands for one."""
        size, aspect = (picture.size.width, picture.size.height), self.trainer.cell_aspect
        place = spot_at(self.shot, self.question.truth.target, size, self._helps, cell, aspect)
        if place is not None:
            self._call(self.question.choices[place])

    def _point_at_table(self, column: int, row: int) -> None:
        """Take the answer that a place of the table stands for, if it stands for one."""
        picture = self.query_one("#shot", Picture)
        place = place_at(
            self.view,
            self.shot,
            self.question.truth.target,
            (picture.size.width, picture.size.height),
            (column, row),
            look=self.look,
            also=self.drill.in_view(self.question),
            cell_aspect=self.trainer.cell_aspect,
        )
        chosen = None if place is None else self.drill.pointed_on_table(self.question, place)
        if chosen is not None:
            self._set_to(chosen)

    def _point_at(self, column: int) -> None:
        """Take the answer that a column of the inset stands for, if it stands for one."""
        picture = self.query_one("#aim", Picture)
        view = inset_view(
            (picture.size.width, picture.size.height),
            reach=self._reach,
            candidates=self.shown.marks,
            cell_aspect=self.trainer.cell_aspect,
        )
        chosen = self.drill.pointed(self.question, view.offset(column), view.offset(NEAR) - view.offset(0))
        if chosen is None:
            return
        if self.question.dial is None:
            self._call(chosen)
        else:
            self._set_to(chosen)

    def on_click(self, event: events.Click) -> None:
        """After a mark a click anywhere goes on."""
        if self.mark is not None and event.widget is not None and event.widget.id in ("ask", "told", "title"):
            self.action_go_on()

    # Showing

    @property
    def _reach(self) -> float:
        return self.question.shot.table.reach

    def _show(self) -> None:
        """Bring every part of the screen up to date."""
        question, mark = self.question, self.mark
        number = self.played.number - (1 if mark else 0)
        stroke = question.shot.stroke
        title = Content.assemble(
            (self.played.level.title, "bold"),
            (f"   {'page' if isinstance(self.played, Primer) else 'shot'} ", "$quiet"),
            f"{number}",
            (f" of {self.played.of}", "$quiet"),
            (f"   {words.stroke(stroke)}" if stroke else "", "$quiet"),
        )
        self.query_one("#title", Static).update(title)
        self._show_page(number)
        self.query_one("#run", Static).update(run_dots(self.played.run))
        self._show_shot()
        self._show_side()
        ask, answers = self.query_one("#ask", Static), self.query_one("#answers", Answers)
        told = self.query_one("#told", Static)
        answers.display, told.display = mark is None, mark is not None
        if mark is None:
            hint = self.drill.hint(question, self.considered)
            ask.update(Content.assemble((question.prompt, "bold"), "  ", (hint, "$quiet")))
            if question.dial is None:
                answers.show(question.choices, self.drill.names_answers, self.considered)
            elif self.considered is not None:
                said = f"call {self.considered.name if self.drill.names_answers else 'it'}"
                if self.trial is not None:
                    said = "seen it: on to the call"
                answers.show([replace(self.considered, key="enter", name=said)], True, None)
        else:
            tone = "$success" if mark.right else "$secondary"
            sign = "✓ " if mark.right else "✗ "
            said = sign + headline(mark)
            room = self.size.width - 2 - len(said)  # with the row's padding
            legends = [text.format(self.drill.played) for text in LEGENDS]
            legend = next((text for text in legends if len(text) <= room), "")
            ask.update(Content.assemble((said, f"bold {tone}"), (legend, "$quiet")))
            told.update(self._step_words(mark) if self.explained else detail(mark))
        self.refresh_bindings()

    def _step_words(self, mark: Mark) -> Content:
        """The step of the construction that is shown."""
        steps = self.drill.why(mark)
        where = f"{self.explained} of {len(steps)}  "
        return Content.assemble((where, "$quiet"), steps[self.explained - 1].says)

    def _show_page(self, number: int) -> None:
        """What a primer's page says, above its picture."""
        page = self.query_one("#says", Static)
        page.display = isinstance(self.played, Primer)
        if isinstance(self.played, Primer):
            told = PAGES[number - 1]
            page.update(Content.assemble((f"{told.title}. ", "bold $secondary"), told.says))

    def _show_side(self) -> None:
        """Beside the shot: the others it is compared with, or the inset and the whole table."""
        question = self.question
        side, options = self.query_one("#side"), self.query_one("#options", Options)
        side.display, options.display = not question.options, bool(question.options)
        if self.mark is not None and question.options:
            options.tell(self.mark)
        elif question.options:
            options.ask(question, self.considered, self.played.level.line_to_pocket)
        else:
            self.query_one("#aim", Picture).show(self._draw_aim())
            target, located = question.truth.target, self._located
            whole = partial(draw_plan, self.shot, target, whole=True, helps=located)
            self.query_one("#table", Picture).show(whole)

    def _show_shot(self) -> None:
        self.query_one("#shot", Picture).show(self._draw_shot())

    @property
    def _helps(self) -> PlanHelp:
        """What is laid over the shot: what the player considers, or besides the call what was right."""
        if self.mark is not None:
            return PlanHelp(spots=self._spots, region=self.drill.shown_after(self.mark).region)
        shown = self.shown
        return PlanHelp(
            way=self._line_to_pocket,
            aim=shown.line,
            path=shown.path,
            spots=self._spots,
            region=shown.region,
            cue_ball=shown.cue_ball,
        )

    @property
    def _located(self) -> PlanHelp:
        """The same where the whole table shows where the shot is."""
        return PlanHelp(spots=self._spots, cue_ball=self.mark is not None or self.shown.cue_ball)

    @property
    def _spots(self) -> tuple[Spot, ...]:
        """The places to choose from; after the call they say which was right and which was called."""
        question, mark = self.question, self.mark
        found = []
        for i, (choice, place) in enumerate(zip(question.choices, question.places, strict=False)):
            after = "right" if i == question.best else "called" if mark and mark.choice == choice else "quiet"
            before = "considered" if choice == self.considered else "open"
            found.append(Spot(place, choice.key, after if mark else before))
        return tuple(found)

    def _draw_shot(self) -> partial:  # type: ignore[type-arg]
        question, mark = self.question, self.mark
        shot, target = self.shot, question.truth.target
        also, look = self.drill.in_view(question), self.look
        draw = partial(draw_view, self.view, shot, target, look=look, also=also, helps=self._helps)
        if mark is None:
            return draw
        if self.film is not None:
            moment = self.film.at(self._film_time)
            return partial(draw, placed=Placed(moment.cue_ball, moment.object_ball))
        true = self.drill.true_way(question)
        result = PlanResult(
            touching=true[-1],
            over=true[1:-1],
            called_over=mark.run.before[1:-1],
            called_touching=mark.touching,
            called_past=None if mark.touching else mark.run.before[-1],
            called_way=[mark.met.at] if mark.met else [],
        )
        if self.explained:
            result = replace(result, parts=self.drill.why(mark)[self.explained - 1].parts)
        return partial(draw, result=result)

    @property
    def _line_to_pocket(self) -> bool:
        played = self.played
        return played.page.line_to_pocket if isinstance(played, Primer) else played.level.line_to_pocket

    def _draw_aim(self) -> partial:  # type: ignore[type-arg]
        question, mark = self.question, self.mark
        balls = question.shot.table.balls
        shown = self.shown
        parts: tuple[str, ...] = PARTS
        if mark is not None and self.explained:
            parts = self.drill.why(mark)[self.explained - 1].parts
        return partial(
            draw_inset,
            reach=self._reach,
            cue_ratio=balls.cue_radius / balls.object_radius,
            candidates=shown.marks,
            labels=[c.key for c in question.choices] if shown.marks else (),
            selected=shown.selected if mark is None else None,
            ghost=shown.ghost if mark is None else None,
            edge=shown.edge if mark is None else question.truth.offset if parts[-1] == "offset" else None,
            called=mark.offset if mark and "call" in parts else None,
            true=self.drill.true_offset(question) if mark and "fullness" in parts else None,
        )


def run_dots(run: int) -> Content:
    """The run of right calls as dots: five in a row settles a kind of shot."""
    full = min(run, IN_A_ROW)
    return Content.assemble(
        ("in a row ", "$quiet"),
        ("●" * full, "$secondary"),
        ("○" * (IN_A_ROW - full), "$quiet"),
        (f" {run}" if run > IN_A_ROW else "", "$secondary"),
    )
