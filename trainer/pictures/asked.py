"""What the terminal answers when it is asked whether it shows true pixels, and how.

One question is sent, and the answer is read when it is needed: what takes time in between costs nothing.
What every terminal answers (its primary attributes) is asked last, so that an answer to it says that there is
none to the others. Sources: the terminal graphics protocol's specification (its query); "Xterm Control
Sequences" (DA1, of which 4 is sixel; XTVERSION; XTSMGRAPHICS for the number of colour registers; the size
of a cell in pixels).
"""

import os
import re
import select
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from trainer.pictures.graphics import Graphics
from trainer.pictures.pixels import Way
from trainer.pictures.sixel import Sixels
from trainer.pictures.terminal import Depth, asked_cell, chosen_colours

GRAPHICS_QUERY = "\x1b_Gi=4211,s=1,v=1,a=q,t=d,f=24;AAAA\x1b\\"
QUESTIONS = ("\x1b[>0q", "\x1b[?1;1;0S", "\x1b[16t")
LAST = "\x1b[c"
LONGEST_S = 0.1  # that is waited for an answer, beyond what else took time
TMUX_S = 0.5  # that tmux is waited for
MOST = 4096  # bytes of an answer that are read
# Terminals that show no pixels, and those where a question might be printed: none of them is asked. By the
# survey that :mod:`~trainer.pictures.terminal` names, and their own documentation.
_NEVER_TERMS = ("", "dumb", "unknown", "linux", "alacritty")
_NEVER_BY = ("VTE_VERSION", "ALACRITTY_WINDOW_ID")
_NEVER_PROGRAMS = ("apple_terminal",)


@dataclass(frozen=True)
class Answer:
    """What a terminal said: its name, what it shows, and the ``cell`` (across, down) in pixels, if it says.

    ``registers`` are the colours of a sixel image, ``aspect`` is a cell's height over its width. ``typed`` is
    what came in between that is no answer; ``late`` says that an answer may yet come.
    """

    name: str = ""
    graphics: bool = False
    sixel: bool = False
    registers: int | None = None
    aspect: float | None = None
    cell: tuple[int, int] | None = None
    typed: str = ""
    late: bool = False


NONE = Answer()

_GRAPHICS = re.compile(r"\x1b_G[^\x1b]*;([^\x1b]*)\x1b\\")
_NAME = re.compile(r"\x1bP>\|([^\x1b]*)\x1b\\")
_REGISTERS = re.compile(r"\x1b\[\?1;(\d+)(?:;(\d+))?S")
_CELL = re.compile(r"\x1b\[6;(\d+);(\d+)t")
_ATTRIBUTES = re.compile(r"\x1b\[\?([\d;]*)c")
_ANSWERS = (_GRAPHICS, _NAME, _REGISTERS, _CELL, _ATTRIBUTES)


def read(text: str) -> Answer:
    """What an answer says."""
    graphics, name, registers = _GRAPHICS.search(text), _NAME.search(text), _REGISTERS.search(text)
    cell, attributes = _CELL.search(text), _ATTRIBUTES.search(text)
    typed = text
    for pattern in _ANSWERS:
        typed = pattern.sub("", typed)
    return Answer(
        name[1] if name else "",
        graphics is not None and graphics[1] == "OK",
        attributes is not None and "4" in attributes[1].split(";")[1:],
        int(registers[2]) if registers and registers[1] == "0" and registers[2] else None,
        None,
        (int(cell[2]), int(cell[1])) if cell and int(cell[1]) and int(cell[2]) else None,
        typed,
        attributes is None,
    )


def worth_asking(environ: Mapping[str, str]) -> bool:
    """Whether the terminal may show pixels, by what these variables tell of it."""
    if environ.get("TERM", "").lower() in _NEVER_TERMS:
        return False
    if environ.get("TERM_PROGRAM", "").lower() in _NEVER_PROGRAMS:
        return False
    return not any(environ.get(name) for name in _NEVER_BY)


class Question:
    """A question on its way to a terminal, or to none: ``keyboard`` is where the answer comes in.

    ``answer`` is what is known without asking.
    """

    def __init__(self, keyboard: int | None, answer: Answer = NONE) -> None:
        self._keyboard, self._answer = keyboard, answer
        self._before: list[Any] = []

    def ask(self, question: str) -> None:
        """Ask; from now on nothing that comes in is shown."""
        if self._keyboard is None or sys.__stdout__ is None:
            return
        import termios
        import tty

        self._before = termios.tcgetattr(self._keyboard)
        tty.setcbreak(self._keyboard, termios.TCSANOW)
        os.write(sys.__stdout__.fileno(), question.encode())

    def answer(self) -> Answer:
        """The answer; what isn't known where it doesn't come in time. The terminal is as it was then."""
        if self._keyboard is not None:
            text, until = "", time.monotonic() + LONGEST_S
            while not _ATTRIBUTES.search(text) and len(text) < MOST:
                ready, _, _ = select.select([self._keyboard], [], [], max(until - time.monotonic(), 0.0))
                if not ready:
                    break
                text += os.read(self._keyboard, MOST).decode("utf-8", "replace")
            found = read(text)
            self._answer = replace(found, cell=asked_cell() or found.cell)
        self.end()
        return self._answer

    def end(self) -> None:
        """Leave the terminal as it was."""
        if self._keyboard is not None and self._before:
            import termios

            termios.tcsetattr(self._keyboard, termios.TCSANOW, self._before)
        self._keyboard = None


@contextmanager
def asked(environ: Mapping[str, str]) -> Iterator[Question]:
    """Ask the terminal on standard input and output; meanwhile nothing that it says is shown on it."""
    keyboard = _keyboard() if worth_asking(environ) else None
    in_tmux = keyboard is not None and bool(environ.get("TMUX"))
    question = Question(None if in_tmux else keyboard, of_tmux() if in_tmux else NONE)
    try:
        question.ask("".join([GRAPHICS_QUERY, *QUESTIONS, LAST]))
        yield question
    finally:
        question.end()


def of_tmux() -> Answer:
    """What tmux knows of the terminal around it, to which it passes no question on."""
    form = "#{client_termtype}\t#{allow-passthrough}\t#{client_cell_width}\t#{client_cell_height}"
    try:
        said = subprocess.run(
            ["tmux", "display-message", "-p", form],
            capture_output=True,
            text=True,
            timeout=TMUX_S,
            check=True,
        )
        name, passes, across, down = said.stdout.rstrip("\n").split("\t")
        cell = int(across), int(down)
    except (OSError, subprocess.SubprocessError, ValueError):
        return NONE
    return Answer(name, graphics=passes in ("on", "all", "1", "2"), cell=cell if all(cell) else None)


def _keyboard() -> int | None:
    """The number of standard input, where both it and standard output are a terminal that can be asked."""
    try:
        import termios  # noqa: F401
    except ImportError:  # Windows
        return None
    if sys.__stdin__ is None or sys.__stdout__ is None:
        return None
    try:
        found = sys.__stdin__.fileno()
        return found if os.isatty(found) and os.isatty(sys.__stdout__.fileno()) else None
    except (OSError, ValueError):
        return None


# --- What pictures are shown in ----------------------------------------------------------------------


FEWEST = 16  # colour registers, below which cells look better


class Shown(Enum):
    """What pictures are shown in."""

    CELLS = "cells"
    GRAPHICS = "pixels"
    SIXEL = "pixels, by sixels"


@dataclass(frozen=True)
class Pictures:
    """What pictures are shown in, and why, in words.

    ``registers`` are the colours that a sixel image has, ``in_tmux`` says that tmux lies in between.
    """

    shown: Shown
    why: str
    registers: int = FEWEST
    in_tmux: bool = False

    def way(self) -> Way | None:
        """How a picture in pixels comes to the terminal, for one picture; None where it is in cells."""
        if self.shown is Shown.GRAPHICS:
            return Graphics(self.in_tmux)
        return Sixels(self.registers) if self.shown is Shown.SIXEL else None


_PLACEHOLDERS = {"kitty": (0, 28), "ghostty": (0, 0)}  # from this version on, by their release notes


def pictures_in(answer: Answer, environ: Mapping[str, str], own: str | None) -> Pictures:
    """What pictures are shown in.

    Parameters
    ----------
    answer : Answer
        What the terminal says.
    environ : mapping of str to str
        The environment.
    own : str, optional
        ``pixels`` or ``cells``, as the player's settings say.
    """
    if own == "cells":
        return Pictures(Shown.CELLS, "your settings say so")
    if own is None and chosen_colours(environ, None).value is Depth.NONE:
        return Pictures(Shown.CELLS, "there are to be no colours")
    if (answer.graphics or answer.sixel) and answer.cell is None:
        return Pictures(Shown.CELLS, "how large they are isn't said")
    if answer.graphics and _has_placeholders(answer.name):
        return Pictures(Shown.GRAPHICS, f"{answer.name} says so", in_tmux=bool(environ.get("TMUX")))
    registers = answer.registers or FEWEST
    if answer.sixel and answer.name.startswith("tmux"):
        # It counts the rows of an image in sixes, so that one of a row of cells covers the next row.
        return Pictures(Shown.CELLS, f"sixels of {answer.name} don't fit its rows")
    if answer.sixel and registers >= FEWEST:
        return Pictures(Shown.SIXEL, f"{answer.name or 'the terminal'} says so", registers)
    if answer.graphics and answer.name:
        return Pictures(Shown.CELLS, f"{answer.name} has no placeholders")
    return Pictures(Shown.CELLS, "the terminal doesn't answer" if answer.late else "no pixels are told of")


def _has_placeholders(name: str) -> bool:
    """Whether a terminal of this name and version shows pictures by placeholders."""
    found = re.match(r"([a-z]+)[ (]*(\d+)\.(\d+)", name.lower())
    if found is None or found[1] not in _PLACEHOLDERS:
        return False
    return (int(found[2]), int(found[3])) >= _PLACEHOLDERS[found[1]]
