"""Playing a set: the shot large, one question, and after the call what was true."""

import time
from dataclasses import replace
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import ActiveBinding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from trainer.app.keys import bound, said
from trainer.app.scene import Scene, first_scene, mark_detail, mark_headline, question_line
from trainer.app.screens.base import TrainerScreen
from trainer.app.widgets.board import LOOK_NAMES, LOOKS, Board
from trainer.app.widgets.picture import Picture, ScenePicture
from trainer.app.widgets.play import Answers, Options, Side, Top, jumps_words
from trainer.drills import Choice, Mark, Question
from trainer.drills.same import SameQuestion
from trainer.history import TrainerError
from trainer.history.errors import Outdated
from trainer.play.first_look import LEVEL as FIRST
from trainer.play.pair import HELP
from trainer.play.primer import Primer
from trainer.play.set_in_play import SetInPlay
from trainer.settings.keys import ACTIONS, ANSWERS, Where
from trainer.shots.describe import command_of

COPY = "ctrl+c"
GO_ON = "go_on"
WHY = "why(1)"
# After a mark these say something of their own; any other key goes on.
OTHERS = tuple(action.name for action in ACTIONS if Where.MARK in action.where and action.name != GO_ON)
TAKEN_BACK = "Taken back: your last call counts for nothing."
SLOW = 0.3  # the film's pace when it is shown again


class PlayScreen(TrainerScreen):
    """One set, question by question."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *[bound(name, f"call({i})", "Call", show=i == 1) for i, name in enumerate(ANSWERS, 1)],
        bound("less", "consider(-1)", "Consider"),
        bound("more", "consider(1)", "Consider", show=False),
        *[bound(name, f"jump({i})", "Place", show=i == 1) for i, name in enumerate(ANSWERS, 1)],
        bound("much_less", "turn(0, -1)", "Coarse"),
        bound("much_more", "turn(0, 1)", "Coarse", show=False),
        bound("less", "turn(1, -1)", "Fine"),
        bound("more", "turn(1, 1)", "Fine", show=False),
        bound("hair_less", "turn(2, -1)", "Finest"),
        bound("hair_more", "turn(2, 1)", "Finest", show=False),
        bound("call", "call_considered", "Call"),
        bound("call", "call_set", "Call", show=False),
        bound("next_view", "next_view", "View"),
        *LOOKS,
        bound("why", WHY, "Why?"),
        bound("why_before", "why(-1)", "Back"),
        bound("replay", "replay", "Replay"),
        bound("copy_shot", "copy_shot"),
        bound("take_back", "undo", "Undo"),
        bound("go_on", "go_on", "Go on"),
        bound("leave_set", "home", "Home"),
    ]

    def __init__(self, played: SetInPlay) -> None:
        super().__init__()
        self.played = played
        self.scene = first_scene(played, self._view)
        self._note = ""
        self._moved = False  # whether the number asked for was set by the player
        self._explained = False  # whether why was asked: a step back too many doesn't go on then

    def body(self) -> ComposeResult:
        """Title, pictures, question."""
        yield Top(id="top")
        yield Static(id="says")
        with Horizontal(id="pictures"):
            yield Board(id="shot")
            yield Side(id="side")
            yield Options(id="options")
        yield Static(id="ask")
        with Vertical(id="under"):
            yield Answers(id="answers")
            yield Static(id="note")
            yield Static(id="told")

    def on_mount(self) -> None:
        """Ask the first question."""
        self.ask()

    @property
    def _view(self) -> str:
        """The view that the present question is first shown in: the player's choice, where it has it."""
        chosen, views = self.trainer.view, self.played.views
        return chosen if chosen in views else views[0]

    @property
    def question(self) -> Question:
        """The question asked, or, after the call, the one that was."""
        return self.scene.question

    @property
    def mark(self) -> Mark | None:
        """The mark of the call, once it is made."""
        return self.scene.mark

    @property
    def board(self) -> Board:
        """The large picture."""
        return self.query_one(Board)

    def help_text(self) -> str:
        """The drill's own three sentences; where shots are called twice, what for."""
        return self.scene.drill.help + (f" {HELP}" if self.scene.look else "")

    def said(self) -> str:
        """What stands there of the shot."""
        return self.scene.said

    # Asking

    def ask(self, note: str = "") -> None:
        """Show the present question; a note stands below it until an answer is considered."""
        self._note, self._moved, self._explained = note, False, False
        self.board.look_straight(at_once=True)
        self._show(first_scene(self.played, self._view))
        self._asked = time.monotonic()

    def action_call(self, number: int) -> None:
        """Call the answer with this number."""
        self._call(self.question.choices[number - 1])

    def action_consider(self, step: int) -> None:
        """Move to the next answer and show what it would be; nothing is called yet."""
        choices, considered = self.question.choices, self.scene.considered
        at = (-1 if step > 0 else len(choices)) if considered is None else choices.index(considered)
        self._consider(choices[min(max(at + step, 0), len(choices) - 1)])

    def action_jump(self, number: int) -> None:
        """Set the number asked for to one of a few places."""
        dial = self.question.dial
        if dial is not None:
            self._consider(dial.at(dial.jumps[number - 1]))

    def action_turn(self, which: int, steps: int) -> None:
        """Turn the number asked for by coarse, fine or hair's steps."""
        dial, considered = self.question.dial, self.scene.considered
        if dial is not None and considered is not None:
            self._consider(dial.at(considered.value + steps * dial.steps[which]))

    def _consider(self, choice: Choice) -> None:
        self._note, self._moved = "", True
        self._show(self.scene.considering(choice))

    def action_call_considered(self) -> None:
        """Call the answer that is considered."""
        if self.scene.considered is not None:
            self._call(self.scene.considered)

    def action_call_set(self) -> None:
        """Call the number that is set; where a line is only tried, go on to the call."""
        if self.scene.trial and isinstance(self.played, Primer):
            self.played.go_on()
            self.ask()
        elif self._is_set and self.scene.considered is not None:
            self._call(self.scene.considered)

    @property
    def _is_set(self) -> bool:
        """Whether enter calls: a number begins anywhere, and a key too many after a mark is no call."""
        return self.scene.trial or self._moved or self.scene.chosen is not None

    def _call(self, choice: Choice) -> None:
        seconds = time.monotonic() - self._asked
        try:
            mark = self.played.call(choice, seconds, self.scene.view)
        except Outdated as error:
            self.notify(str(error), severity="error", markup=False)
            return
        except TrainerError as error:
            self.notify(
                f"This call could not be kept, so it doesn't count: {error}", severity="error", markup=False
            )
            return
        if self.played.chosen is not None:  # it is asked for again, and nothing is told before
            self.ask()
            return
        if self._moves:
            self.board.roll(mark)
        self._show(self.scene.marked(mark, self.played.pair))

    # After the call

    @property
    def _moves(self) -> bool:
        """Whether motion is wanted."""
        return self.app.animation_level != "none"

    def action_replay(self) -> None:
        """See the call roll again, slowly."""
        if self.mark is not None:
            self.board.roll(self.mark, SLOW)

    def action_copy_shot(self) -> None:
        """Put the command that works this shot out into the clipboard, to pass it on."""
        command = command_of(self.scene.shot)
        self.copy(command, command)

    def action_undo(self) -> None:
        """Take the call back and go on: it counts for nothing, and its question isn't asked again."""
        try:
            self.played.undo()
        except TrainerError as error:
            self.notify(
                f"This call could not be taken back, so it counts: {error}", severity="error", markup=False
            )
            return
        self.board.stop()
        if self.played.done:
            self.trainer.show_summary(self.played)
            self.notify(TAKEN_BACK)
        else:
            self.ask(TAKEN_BACK)

    def action_why(self, steps: int) -> None:
        """The next step of the shot's construction, or the one before; beyond them the mark again."""
        self.board.stop()
        self._explained = True
        self._show(self.scene.explained_further(steps))

    def action_go_on(self) -> None:
        """After a mark: the end of the film; then the next question, or the end of the set."""
        if self.mark is None:
            return
        if self.board.film is not None:
            self.board.stop()
        elif self.played.done:
            self.trainer.show_summary(self.played)
        else:
            self.ask()

    # Looking

    def action_next_view(self) -> None:
        """Show the shot in the next view that the level gives; it stays chosen, in other sets, too."""
        views = self.played.views
        chosen = views[(views.index(self.scene.view) + 1) % len(views)]
        self.trainer.view = chosen
        self._show(self.scene.seen(chosen))

    def action_look(self, which: str, steps: int) -> None:
        """Turn, step or stand, a little."""
        self.board.look(which, steps)

    def action_look_straight(self) -> None:
        """Back to the view's own place."""
        self.board.look_straight()

    # Keys and clicks

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Show only the keys that mean something now."""
        scene = self.scene
        if self.blind or (action in ("call", "jump") and parameters[0] not in range(1, scene.numbers + 1)):
            return False
        asked, dial = scene.mark is None, scene.question.dial is not None
        means = {
            "why": not asked if parameters == (1,) else scene.step is not None,
            "go_on": not asked,
            "undo": not asked or scene.chosen is not None,
            "replay": not asked and self._moves,
            **dict.fromkeys(("call", "consider"), asked and not dial),
            "call_considered": asked and not dial and scene.considered is not None,
            **dict.fromkeys(("jump", "turn"), asked and dial),
            "call_set": asked and dial and self._is_set,
            "next_view": len(self.played.views) > 1,
            **dict.fromkeys(("look", "look_straight"), scene.view != "plan"),
        }
        return means.get(action, True)

    @property
    def active_bindings(self) -> dict[str, ActiveBinding]:
        """What the keys do now; the one that asks why goes on explaining."""
        found = super().active_bindings
        scene = self.scene
        if scene.step is not None:
            word = "Next" if scene.explained < len(scene.steps) else "Close"
            for key, active in found.items():
                if active.binding.action == WHY:
                    found[key] = active._replace(binding=replace(active.binding, description=word))
        return found

    def on_key(self, event: events.Key) -> None:
        """After a mark any key goes on, but for those that say otherwise; before it one may mean nothing."""
        own = self.mark is not None and event.key in self._own_keys
        if self.too_small or own or self.came_before(event):
            return
        if self.mark is None:
            if event.key not in self.active_bindings:
                self._note = self._instead(event.key)
                self._show_question()
            return
        event.stop()
        event.prevent_default()
        self.action_go_on()

    def _instead(self, key: str) -> str:
        """What is said to a key that does nothing."""
        if key not in self.keys.of["call"]:
            return f"{said(key)} does nothing here."
        if self.question.dial is not None:
            return "Move it first."
        return f"A number calls it; {self.keys.together('less')} show them first, then {said(key)} calls."

    @property
    def _own_keys(self) -> tuple[str, ...]:
        """The keys that say something of their own after a mark."""
        silent = (
            *(() if self._moves else ("replay",)),
            *(LOOK_NAMES if self.scene.view == "plan" else ()),
            *(() if self._explained else ("why_before",)),
        )
        return (COPY, *(key for name in OTHERS if name not in silent for key in self.keys.of[name]))

    @on(Answers.Called)
    def _answer_clicked(self, message: Answers.Called) -> None:
        if self.mark is not None:
            return
        if self.question.dial is None:
            self.action_call(message.index + 1)
        else:
            self.action_call_set()

    @on(ScenePicture.Pointed)
    def _pointed(self, message: ScenePicture.Pointed) -> None:
        """An answer is called at once; a number is set, so that a slip can be mended."""
        if self.mark is not None or message.question is not self.question:
            return
        if self.question.dial is None:
            self._call(message.choice)
        else:
            self._consider(message.choice)

    @on(Picture.Rolled, "#aim")
    def _inset_rolled(self, message: Picture.Rolled) -> None:
        if self.mark is None:
            self.action_turn(1, -message.steps)

    @on(Picture.Clicked)
    def _picture_clicked(self) -> None:
        self.action_go_on()

    def on_click(self, event: events.Click) -> None:
        """After a mark a click anywhere goes on."""
        if event.widget is not None and event.widget.id in ("ask", "told", "title"):
            self.action_go_on()

    # Showing

    def _show(self, scene: Scene) -> None:
        """Show this scene from now on, in every part of the screen."""
        style = self.trainer.game.style  # it may have been changed since
        self.shows(scene.question, scene.mark)
        self.scene = scene = scene if scene.style == style else replace(scene, style=style)
        self._show_top()
        self.board.show_scene(scene)
        side, options = self.query_one(Side), self.query_one(Options)
        options.display = isinstance(scene.question, SameQuestion)
        side.display = not options.display and (scene.inset or scene.whole_table)
        (options if options.display else side).show_scene(scene)
        for part in ("#answers", "#note", "#told"):
            self.query_one(part).display = (part == "#told") == (scene.mark is not None)
        if scene.mark is None:
            self._show_question()
        else:
            self._show_mark(scene.mark)
        self.refresh_bindings()

    def _show_top(self) -> None:
        """Where in the set it is, and in the primer what the page says."""
        self.query_one(Top).tell(self.played, self.played.number - (1 if self.mark else 0), self.scene)
        says, (title, text) = self.query_one("#says", Static), self.scene.says
        says.display = bool(text)
        says.update(Content.assemble((f"{title}. ", "bold $head"), text))

    def _show_question(self) -> None:
        scene, answers = self.scene, self.query_one(Answers)
        question, drill, considered = scene.question, scene.drill, scene.considered
        self.query_one("#ask", Static).update(question_line(scene, self.size.width - 2))
        self.query_one("#note", Static).update(self._note)
        call, *keys = (self.keys.first(name) for name in ("call", *ANSWERS))
        if question.dial is None:
            answers.show(question.choices, drill.names_answers, considered, keys)
        elif considered is not None:
            name, places = considered.name * drill.names_answers, jumps_words(question.dial, keys)
            answers.show_dial(scene, considered, call, name, places, moved=self._moved)

    def _show_mark(self, mark: Mark) -> None:
        room, coloured = self.size.width - 2, bool(self.trainer.colours)  # with the row's padding
        is_first = self.played.level is FIRST and len(self.played.attempts) == 1
        self.query_one("#ask", Static).update(mark_headline(self.scene, mark, room, coloured=coloured))
        self.query_one("#told", Static).update(mark_detail(self.scene, mark, is_first=is_first))
