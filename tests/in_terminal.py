"""The game in a real terminal of the tests' own: a pseudo-terminal, and what is sent over it."""

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

MODES = re.compile(rb"\x1b\[\?([0-9;]+)([hl])")
AT_REST = {b"7", b"25"}  # a terminal wraps its lines and shows its cursor
START = "import sys; from trainer.cli import main; sys.exit(main(sys.argv[1:]))"


class Terminal:
    """A terminal of 120 columns and 40 rows with a program in it."""

    def __init__(
        self, data: Path, before: str = "", args: Sequence[str] = (), env: Mapping[str, str] | None = None
    ):
        self.ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self.theirs = theirs
        self.attributes = termios.tcgetattr(theirs)
        self.sent = b""
        environ = {name: value for name, value in os.environ.items() if name != "TRAINER_TRACEBACK"}
        self.program = subprocess.Popen(
            [sys.executable, "-c", before + START, "--data", str(data), *args],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            env=environ | {"TERM": "xterm-256color", "OPENBLAS_NUM_THREADS": "1"} | (env or {}),
        )

    def read_until(self, wanted: bytes, since: int = 0, within: float = 30) -> None:
        """Read what the program sends until something is among it."""
        end = time.monotonic() + within
        while wanted not in self.sent[since:]:
            assert time.monotonic() < end, self.sent[-500:]
            self.read(0.1)

    def read(self, seconds: float) -> None:
        """Read what there is."""
        if select.select([self.ours], [], [], seconds)[0]:
            self.sent += os.read(self.ours, 65536)

    def read_for(self, seconds: float) -> None:
        """Read for so long."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            self.read(left)

    def type(self, what: bytes, within: float = 60) -> None:
        """Send what a terminal sends, and read meanwhile, so that nobody waits for us."""
        os.set_blocking(self.ours, False)
        end = time.monotonic() + within
        while what:
            assert time.monotonic() < end, f"{len(what)} bytes aren't taken"
            try:
                what = what[os.write(self.ours, what[:1024]) :]
            except BlockingIOError:
                select.select([self.ours], [self.ours], [], 0.1)
            self.read(0)
        os.set_blocking(self.ours, True)

    def end(self, within: float = 30) -> tuple[int, str]:
        """Wait for the end: the exit code, and what was said after the game left the screen."""
        end = time.monotonic() + within
        while self.program.poll() is None:
            assert time.monotonic() < end, self.sent[-500:]
            self.read(0.05)
        while select.select([self.ours], [], [], 0.2)[0]:
            self.read(0.0)
        said = re.sub(rb"\x1b\[[<>?0-9;]*[a-zA-Z]", b"", self.sent.rpartition(b"\x1b[?1049l")[2])
        return self.program.returncode, said.decode().replace("\x07", "")

    @property
    def modes(self) -> set[bytes]:
        """The modes that are on."""
        found = set(AT_REST)
        for numbers, how in MODES.findall(self.sent):
            for number in numbers.split(b";"):
                (found.add if how == b"h" else found.discard)(number)
        return found

    def is_as_before(self) -> bool:
        """Whether the terminal is as it was before the program came."""
        on = re.findall(rb"\x1b\[>\d*u", self.sent)  # reports of keys, on and off
        keys = len(on) == self.sent.count(b"\x1b[<u")
        return self.modes == AT_REST and keys and termios.tcgetattr(self.theirs) == self.attributes

    @property
    def seconds(self) -> float:
        """Seconds of a core that the program has taken."""
        fields = Path(f"/proc/{self.program.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    @property
    def most_memory(self) -> float:
        """MB that the program has had at most."""
        status = Path(f"/proc/{self.program.pid}/status").read_text()
        found = re.search(r"VmHWM:\s+(\d+)", status)
        return int(found[1]) / 1024 if found else 0.0

    def signal(self, number: signal.Signals) -> None:
        """Send it a signal."""
        self.program.send_signal(number)

    def close(self) -> None:
        """The end of it, whatever has become of the program."""
        if self.program.poll() is None:
            self.program.kill()
            self.program.wait()
        for handle in (self.ours, self.theirs):
            if handle >= 0:
                os.close(handle)
