"""What may be given to the program: every command, its options and what they mean."""

import argparse
from collections.abc import Callable, Sequence

from trainer import VERSION
from trainer.commands.console import complain
from trainer.commands.option_types import balls, bump, colours, days, number, point, size, whole, zone
from trainer.names import DRILLS, GLYPHS, VIEWS

TYPE_CHECKING = False  # without typing itself, whose import is felt
if TYPE_CHECKING:
    from typing import Any, NoReturn

ABOUT = "See the angle of a pot: find which angles you see wrong and which way, and practise those."
SPINS = ("stun", "roll")
PAPERS = ("a4", "letter")
SERVED = "address to serve at (this machine only); 0.0.0.0 lets others in, by this machine's address"
PUBLIC = "where visitors find it, as https://name:port; may be given more than once"
PLAIN = "with --lines: short sentences for a screen reader, not JSON"
SIGNED = ("--cue-ball", "--object-ball", "--bump")
NUMBER = tuple("0123456789.")  # what a number begins with
MOST_SEED = 2**63 - 1
WITHOUT_ASKING = "don't ask first"
USAGE = 2  # the exit code of arguments that can't be


class _Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line."""

    def error(self, message: str) -> "NoReturn":
        complain(f"{self.prog}: {message} (see {self.prog} --help)")
        raise SystemExit(USAGE)


class _Command(_Parser):
    """A command's parser, which is made when that command is asked for.

    Parameters
    ----------
    command : str
        Its name.
    options : callable
        Adds the options that are the command's own.
    **given
        What else a parser takes.
    """

    def __init__(self, *, command: str, options: "Callable[[_Command], None]", **given: "Any"):
        self._command, self._options, self._given = command, options, given

    def parse_known_args(self, args: "Any" = None, namespace: "Any" = None) -> "Any":
        if not self.is_made:
            super().__init__(**self._given)
            # Without a default of its own, what was given before the command stays.
            _add_shared(self, argparse.SUPPRESS)
            self.set_defaults(run=_command(self._command))
            self._options(self)
        return super().parse_known_args(args, namespace)

    @property
    def is_made(self) -> bool:
        """Whether it was asked for."""
        return hasattr(self, "prog")


def read(argv: Sequence[str]) -> argparse.Namespace:
    """What was asked for; ``run`` carries it out. SystemExit once help, the version or an error was said."""
    return _parser().parse_args(_joined(argv))


def _joined(argv: Sequence[str]) -> list[str]:
    """The arguments, with a value that begins with a minus tied to its option, so that it's read as one."""
    found: list[str] = []
    for arg in argv:
        if found and found[-1] in SIGNED and arg[:1] == "-" and arg[1:2] in NUMBER:
            found[-1] += f"={arg}"
        else:
            found.append(arg)
    return found


def _parser() -> _Parser:
    parser = _Parser(prog="trainer", description=ABOUT)
    _add_shared(parser, None)
    parser.add_argument("--version", action="version", version=VERSION)
    # What serve knows of a browser's cells; with pixels it shows pictures in them.
    parser.add_argument("--cell-shape", type=number(1.3, 3.2), metavar="SHAPE", help=argparse.SUPPRESS)
    parser.add_argument("--cell-pixels", type=size, metavar="SIZE", help=argparse.SUPPRESS)
    parser.set_defaults(run=_command("app"))
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Command)

    for name, (about, options) in COMMANDS.items():
        said = f"{about[:1].upper()}{about[1:]}."
        commands.add_parser(name, help=about, description=said, command=name, options=options)
    return parser


def _play(play: _Command) -> None:
    """The options of ``trainer play``."""
    play.add_argument("level", nargs="?", metavar="LEVEL", help="a level's name; none: free practice")
    play.add_argument("--lines", action="store_true", help="JSON lines on standard output, calls on input")
    play.add_argument("--plain", action="store_true", help=PLAIN)
    play.add_argument("--drill", choices=DRILLS, help="ask with this drill")
    play.add_argument("--shots", type=whole(1, 1000), metavar="N", help="shots in the set")
    play.add_argument("--seed", type=whole(0, MOST_SEED), metavar="N", help="the same seed, the same set")


def _today(today: _Command) -> None:
    """The options of ``trainer today``."""
    today.add_argument(
        "--minutes", type=whole(1, 60), metavar="N", help="the minutes you have (else as last time)"
    )
    today.add_argument("--json", action="store_true", help="one JSON object")


def _warmup(warmup: _Command) -> None:
    """The options of ``trainer warmup``."""
    warmup.add_argument("--shots", type=whole(1, 1000), metavar="N", help="so many shots instead")
    warmup.add_argument("--lines", action="store_true", help="over lines, as play does")
    warmup.add_argument("--plain", action="store_true", help=PLAIN)
    warmup.add_argument("--seed", type=whole(0, MOST_SEED), metavar="N", help="the same seed, the same set")


def _shot(shot: _Command) -> None:
    """The options of ``trainer shot``."""
    shot.add_argument("--seed", type=whole(0, MOST_SEED), metavar="N", help="the same seed, the same shot")
    shot.add_argument("--level", metavar="NAME", help="a shot of this level; none: free practice")
    shot.add_argument("--drill", choices=DRILLS, help="a shot of this drill")
    shot.add_argument("--table", metavar="NAME", help="the table, one that trainer tables lists")
    shot.add_argument("--cue-ball", type=point, metavar="X,Y", help="mm up the table, mm from the right")
    shot.add_argument("--object-ball", type=point, metavar="X,Y", help="the same for the object ball")
    shot.add_argument("--pocket", metavar="NAME", help="baulk-, middle- or top-, then left or right")
    shot.add_argument("--speed", type=number(0.05, 15), metavar="V", help="m/s at contact: counts throw")
    shot.add_argument("--spin", choices=SPINS, help="stun or natural roll (else roll), with --speed")
    shot.add_argument(
        "--side-spin", type=number(-1, 1), metavar="S", help="-1 to 1 of the most, + right-hand side"
    )
    shot.add_argument("--json", action="store_true", help="one JSON object")
    shot.add_argument("--view", choices=VIEWS, help="print the picture")
    shot.add_argument("--glyphs", choices=GLYPHS, help="what the picture is drawn with")
    shot.add_argument("--size", type=size, metavar="WxH", help="columns x rows of the picture")
    shot.add_argument(
        "--colours",
        type=colours,
        metavar="N",
        help="16777216 (true), 256, 16 or 0 (none); else what the terminal is known to show",
    )


def _levels(levels: _Command) -> None:
    """The options of ``trainer levels``."""
    levels.add_argument("--json", action="store_true", help="one JSON object")
    given = levels.add_mutually_exclusive_group()
    given.add_argument("--check", metavar="FILE", help="say every problem in a level file")
    given.add_argument("--add", metavar="FILE", help="check a level file and copy it to your own levels")
    levels.add_argument("--yes", action="store_true", help="with --add: replace a level without asking first")


def _tables(tables: _Command) -> None:
    """The options of ``trainer tables``."""
    tables.add_argument("--json", action="store_true", help="one JSON object")
    tables.add_argument("--check", metavar="FILE", help="say every problem in a table file")


def _notebook(notebook: _Command) -> None:
    """The options of ``trainer notebook``."""
    notebook.add_argument(
        "note",
        nargs="*",
        metavar="WORD",
        help="a note, as half left thick far: full, thick-ish, half, thin, very thin (or 3/8, 0.4), side, "
        "potted, thick or thin, maybe near, middle or far (else as the last time), maybe slow, medium or "
        "fast; those of a frame with commas between; with the balls laid down only the result; a card's "
        "ticks, as card 12: p t t n p, or card 12.2: p n for its second layout; none: the page",
    )
    notebook.add_argument("--table", metavar="NAME", help="the table played on (else as the last time)")
    notebook.add_argument("--cue-ball", type=point, metavar="X,Y", help="mm up the table, mm from the right")
    notebook.add_argument("--object-ball", type=point, metavar="X,Y", help="the same for the object ball")
    notebook.add_argument("--pocket", metavar="NAME", help="the pocket (else the one with the fullest hit)")
    notebook.add_argument("--undo", action="store_true", help="take the last note back")
    notebook.add_argument("--list", action="store_true", help="list the notes, and what they say")
    notebook.add_argument("--json", action="store_true", help="the same as one JSON object")


def _report(report: _Command) -> None:
    """The options of ``trainer report``."""
    report.add_argument("--json", action="store_true", help="one JSON object")
    report.add_argument("--page", metavar="FILE", help="write it as a page to keep or print; ends in .html")


def _card(parser: _Command) -> None:
    """The options of ``trainer card``."""
    parser.add_argument(
        "--kinds",
        nargs="+",
        metavar="KIND",
        help="a fullness and a side, as '3/8 right'; else those that you see wrong or that are least sure",
    )
    parser.add_argument("--table", metavar="NAME", default="snooker", help="the table (snooker)")
    parser.add_argument("--count", type=whole(1, 48), metavar="N", help="layouts (one of each kind, or 4)")
    parser.add_argument("--inches", action="store_true", help="distances in half inches, not in 10 mm")
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument("--svg", metavar="FILE", help="write pages to print; more than one: FILE-2.svg, ...")
    parser.add_argument("--paper", choices=PAPERS, help="of the pages (a4)")
    parser.add_argument("--seed", type=whole(0, MOST_SEED), metavar="N", help="the same seed, the same card")


def _file(command: _Command) -> None:
    """The options of ``trainer export`` and ``trainer import``."""
    command.add_argument("file", metavar="FILE", help="ends in .csv or .json")
    what = command.add_mutually_exclusive_group()
    what.add_argument("--notes", action="store_true", help="the notes from the table instead")
    what.add_argument("--cards", action="store_true", help="the layouts of practice cards instead")


def _undo(undo: _Command) -> None:
    """The options of ``trainer undo``."""
    undo.add_argument("--yes", action="store_true", help=WITHOUT_ASKING)
    undo.add_argument("--json", action="store_true", help="one JSON object; doesn't ask")


def _listed(command: _Command) -> None:
    """The options of ``trainer backups``."""
    command.add_argument("--json", action="store_true", help="one JSON object")


def _players(players: _Command) -> None:
    """The options of ``trainer players``."""
    _listed(players)
    players.add_argument(
        "--report",
        action="store_true",
        help="of each what is wrong, what changed and what is next",
    )


def _restore(restore: _Command) -> None:
    """The options of ``trainer restore``."""
    restore.add_argument("name", metavar="NAME", help="one that trainer backups lists")
    restore.add_argument("--yes", action="store_true", help=WITHOUT_ASKING)


def _serve(serve: _Command) -> None:
    """The options of ``trainer serve``."""
    serve.add_argument(
        "--port", type=whole(0, 65535), metavar="N", default=8000, help="the port (8000); 0 takes a free one"
    )
    serve.add_argument("--host", metavar="HOST", default="127.0.0.1", help=SERVED)
    serve.add_argument("--public", metavar="URL", action="append", default=[], help=PUBLIC)


def _simulate(parser: _Command) -> None:
    """The options of ``trainer simulate``: what is played, and how the players see."""
    in_balls = "in balls, as 0.05 or 1/20"
    parser.add_argument("--players", type=whole(1, 100_000), metavar="N", help="how many (100)")
    parser.add_argument(
        "--days", type=whole(1, 3650), metavar="N", help="days in a row that each plays (14; with --into 28)"
    )
    parser.add_argument("--shots", type=whole(1, 1000), metavar="N", default=20, help="shots a day (20)")
    parser.add_argument("--level", metavar="NAME", help="the level they play; none: free practice")
    parser.add_argument("--drill", choices=DRILLS, help="the drill they play")
    parser.add_argument(
        "--seed", type=whole(0, MOST_SEED), metavar="N", help="the same seed, the same players"
    )
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument(
        "--into",
        metavar="DIR",
        help="write one player's weeks into this new or empty data folder; with no level the player goes up "
        "the path of levels, with free practice besides. Look at it with trainer --data DIR",
    )
    parser.add_argument(
        "--cores", type=whole(1, 1024), metavar="N", help="processes at once (as many as there are cores)"
    )
    group = parser.add_argument_group("what the days are like, with --into; each value holds from its day on")
    for name, read, metavar, about in (
        ("--rests", days(None), "DAY,...", "days without practice"),
        ("--zone", days(zone), "DAY=ZONE,...", "where the player is, as 1=Europe/London,15=Asia/Tokyo"),
        ("--rollover", days(whole(0, 23)), "DAY=HOUR,...", "the hour at which a day begins (4)"),
        ("--plays-at", days(number(0, 29.99)), "DAY=HOUR,...", "as 1=18.5; 25 is one in the night after"),
    ):
        group.add_argument(name, type=read, metavar=metavar, default=(), help=about)
    eyes = parser.add_argument_group("how the players see")

    def eye(name: str, low: float, high: float, default: float, about: str, metavar: str = "PART") -> None:
        read = balls(low, high) if metavar == "BALLS" else number(low, high)
        said = f"{about} ({default:g})"
        eyes.add_argument(f"--{name}", type=read, metavar=metavar, default=float(default), help=said)

    eyes.add_argument(
        "--bump",
        type=bump,
        metavar="BALLS",
        default=(0.06, 0.0),
        help=f"how wrong they see one angle, somewhere, {in_balls}: +0.06 thick, -0.06 thin, 0.06 either; "
        "0: nowhere (0.06)",
    )
    eye("noise", 0.001, 0.5, 0.05, f"how far calls scatter at a cut of 35 degrees, {in_balls}", "BALLS")
    eye("growth", -1, 4, 0, "how much of itself the noise grows by over 35 degrees more")
    eye("lapse", 0, 0.5, 0.02, "the part of calls that have nothing to do with the shot")
    eye("central", 0, 0.9, 0, "how far calls are drawn to the middle of what was shown")
    eye("serial", 0, 0.9, 0, "how far calls are drawn to the call before")
    eye("drift", 0, 0.1, 0, "how much a bias wanders from day to day, in balls", "BALLS")
    eye("learns", 0, 1, 0, "the part of a bias that a day of practice takes away")


def _none(command: _Command) -> None:
    """A command without options of its own."""


# What is said of each command, and what adds its options, in the order in which help lists them.
COMMANDS: dict[str, tuple[str, Callable[[_Command], None]]] = {
    "play": ("play a set: on the screen, or with --lines for a script", _play),
    "today": ("say what is worth doing now, and why", _today),
    "warmup": ("warm up for five minutes before a match: one sentence to take to the table", _warmup),
    "shot": ("draw a shot, or work out the one you lay down", _shot),
    "levels": ("list the levels, or check a level file", _levels),
    "tables": ("list the tables, or check a table file", _tables),
    "notebook": (
        "note how shots went at the table, and see whether it is the eye or the stroke",
        _notebook,
    ),
    "terminal": ("say what this terminal can draw and why, with samples, and how to get more", _none),
    "keys": ("list every action with its keys, as lines for your settings", _none),
    "simulate": (
        "try the learner on simulated players, or write the history of one, to look at",
        _simulate,
    ),
    "report": ("say what you see well, and what thick or thin", _report),
    "card": ("lay out shots to set up and practise at the table", _card),
    "export": ("write every call to a file", _file),
    "import": ("take in the calls of an exported file", _file),
    "undo": ("take the last call back: it stays in the history, and counts for nothing", _undo),
    "backups": ("list the copies that are kept of the history", _listed),
    "restore": ("put a copy in the place of the history, which is kept as another copy", _restore),
    "players": ("list the players who have a history here", _players),
    "serve": ("serve the game to a browser, on this machine", _serve),
}


def _add_shared(parser: argparse.ArgumentParser, default: str | None) -> None:
    """The options that may stand before the command or after it."""
    parser.add_argument(
        "--data",
        metavar="DIR",
        default=default,
        help="the data folder (else TRAINER_DATA, else this system's own place for data)",
    )
    parser.add_argument(
        "--player",
        metavar="NAME",
        default=default,
        help="the player (else TRAINER_PLAYER, else the one without a name)",
    )
    parser.add_argument("--now", metavar="TIME", default=default, help=argparse.SUPPRESS)


def _command(name: str) -> Callable[[argparse.Namespace], int]:
    def run(args: argparse.Namespace) -> int:
        from trainer import commands

        return commands.run(name, args)

    return run
