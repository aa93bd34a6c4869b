"""Commands as processes of their own: streams that are closed, full or no text, and what they import."""

import inspect
import json
import subprocess
import sys
from pathlib import Path

import pytest

# As in conftest: where every core is busy, numpy's threads wait for one another.
ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1"}


def imported(*args: str, text: str = "", data: Path) -> set[str]:
    """The packages and modules at the top that a command has loaded when it ends."""
    code = (
        "import sys, atexit\n"
        "atexit.register(lambda: print(*sorted(sys.modules), file=sys.stderr))\n"
        "from trainer.cli import main\n"
        f"sys.exit(main({list(args)!r}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        input=text,
        capture_output=True,
        text=True,
        env={"TRAINER_DATA": str(data), "PATH": "", **ONE_THREAD},
        check=True,
    )
    return {name.split(".")[0] for name in done.stderr.split()}


def test_bytes_that_are_no_text_are_a_problem_not_a_failure(tmp_path: Path) -> None:
    for encoding in ("utf-8", "ascii"):
        done = subprocess.run(
            [sys.executable, "-m", "trainer", "play", "--lines", "--shots", "1"],
            input=b"\xff\xfe\x00\n1\n",
            capture_output=True,
            env={"TRAINER_DATA": str(tmp_path), "PYTHONIOENCODING": f"{encoding}:strict", **ONE_THREAD},
            check=False,
        )
        assert (done.returncode, done.stderr) == (0, b"")
        kinds = [json.loads(line)["type"] for line in done.stdout.splitlines()]
        assert kinds == ["question", "problem", "question", "mark", "summary"]


CLOSED = ("<&-", "</dev/null >&-", "2>&-", "<&- >&- 2>&-", ">/dev/full")


@pytest.mark.parametrize(
    ("command", "redirection"),
    [
        ("play --lines --shots 1", CLOSED[3]),
        ("shot --seed 1", CLOSED[-1]),
        *(pytest.param("play --lines --shots 1", CLOSED[k], marks=pytest.mark.slow) for k in (0, 1, 2, 4)),
        pytest.param("", CLOSED[0], marks=pytest.mark.slow),
        *(pytest.param("shot --seed 1", how, marks=pytest.mark.slow) for how in CLOSED[1:-1]),
        *(pytest.param("--help", how, marks=pytest.mark.slow) for how in CLOSED[1::3]),
        pytest.param("", CLOSED[3], marks=pytest.mark.slow),
        pytest.param("levels", CLOSED[-1], marks=pytest.mark.slow),
    ],
)
def test_closed_and_full_streams_are_no_traceback(tmp_path: Path, command: str, redirection: str) -> None:
    done = subprocess.run(
        f"{sys.executable} -m trainer {command} {redirection}",
        shell=True,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        env={"TRAINER_DATA": str(tmp_path), "PATH": "/usr/bin:/bin", **ONE_THREAD},
        check=False,
    )
    assert done.returncode in (0, 1)
    assert len(done.stderr.splitlines()) <= 1, done.stderr
    if redirection == ">/dev/full":
        assert done.returncode == 1


def test_help_and_lines_never_import_textual(tmp_path: Path) -> None:
    assert not {"textual", "numpy", "rich"} & imported("--help", data=tmp_path)
    assert not {"textual", "numpy", "rich"} & imported("--version", data=tmp_path)
    lines_loaded = imported("play", "--lines", "--shots", "1", text="1\n", data=tmp_path)
    assert "numpy" in lines_loaded
    assert not {"textual", "rich"} & lines_loaded


# What is felt before the first word: a third of what Python itself takes, each.
FELT = {"typing", "pathlib", "traceback", "ipaddress", "dataclasses", "inspect"}


def test_what_only_tells_of_itself_imports_little(tmp_path: Path) -> None:
    bare = subprocess.run(
        [sys.executable, "-c", "import sys; print(*sys.modules)"], capture_output=True, text=True, check=True
    ).stdout.split()
    felt = FELT - set(bare)  # an editable install may need some of them
    assert felt
    assert not felt & imported("--help", data=tmp_path)
    assert not {*felt, "argparse", "re"} & imported("--version", data=tmp_path)


def test_only_the_parser_of_the_command_that_is_asked_for_is_made() -> None:
    from trainer.arguments import COMMANDS, _parser

    parser = inspect.unwrap(_parser)()  # not the one that other tests have asked
    assert parser.parse_args(["shot", "--seed", "3"]).seed == 3
    commands = next(action.choices for action in parser._actions if isinstance(action.choices, dict))
    assert list(commands) == list(COMMANDS)
    assert [name for name, command in commands.items() if command.is_made] == ["shot"]


def test_as_a_module_and_with_a_closed_pipe(tmp_path: Path) -> None:
    done = subprocess.run(
        f"{sys.executable} -m trainer keys | head -n 1; echo ${{PIPESTATUS[0]}}",
        shell=True,
        executable="/bin/bash",
        capture_output=True,
        text=True,
        env={"TRAINER_DATA": str(tmp_path), "PATH": "/usr/bin:/bin", **ONE_THREAD},
        check=True,
    )
    assert done.stdout.startswith("# Lines for ")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("encoding", ["latin-1", "ascii", "cp437"])
@pytest.mark.parametrize("colours", ["true", "none"])
def test_pictures_without_utf_8_are_plain(tmp_path: Path, encoding: str, colours: str) -> None:
    picture = ["shot", "--seed", "4", "--view", "plan", "--size", "100x30", "--colours", colours]
    said = {
        written: subprocess.run(
            [sys.executable, "-m", "trainer", *picture],
            capture_output=True,
            env={"TRAINER_DATA": str(tmp_path), "PYTHONIOENCODING": written, **ONE_THREAD},
            check=True,
        ).stdout
        for written in (encoding, "utf-8")
    }
    assert b"?" not in said[encoding]
    assert said[encoding].decode(encoding).isascii()
    assert not said["utf-8"].decode().isascii()
