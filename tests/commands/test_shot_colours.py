"""``trainer shot --colours``: what it prints for each kind of terminal, and what it says of bad values."""

import re

import pytest

from trainer.cli import main

PICTURE = ("shot", "--seed", "3", "--view", "plan", "--size", "60x18")
TRUE = re.compile(r"(38;2;\d+;\d+;\d+|48;2;\d+;\d+;\d+|;)+|0")
MANY = re.compile(r"(38;5;\d+|48;5;\d+|;)+|0")
FEW = re.compile(r"((3|4|9|10)[0-7]|;)+|0")


@pytest.fixture
def run(capsys, monkeypatch):
    for name in ("TERM", "WT_SESSION", "VTE_VERSION", "TRAINER_COLOURS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr("trainer.commands.shot._to_terminal", lambda: True)

    def runner(*args, **environ):
        for name, value in environ.items():
            monkeypatch.setenv(name, value)
        code = main(args)
        out, err = capsys.readouterr()
        return code, out, err

    return runner


@pytest.mark.parametrize(
    ("names", "codes"),
    [(("16777216", "true"), TRUE), (("256",), MANY), (("16",), FEW)],
)
def test_every_row_is_whole_and_ends_with_a_reset(run, names, codes):
    pictures = [run(*PICTURE, "--colours", name) for name in names]
    assert len(set(pictures)) == 1
    code, out, err = pictures[0]
    assert (code, err) == (0, "")
    rows = out.removesuffix("\n").split("\n")
    assert len(rows) == 18
    for row in rows:
        assert row.endswith("\x1b[0m")
        assert all(codes.fullmatch(said) for said in re.findall(r"\x1b\[([0-9;]*)m", row))
        assert len(re.sub(r"\x1b\[[0-9;]*m", "", row)) == 60


@pytest.mark.parametrize("name", ["0", "none"])
def test_without_colours_there_is_no_escape_at_all(run, name):
    code, out, err = run(*PICTURE, "--colours", name)
    assert (code, err) == (0, "")
    assert "\x1b" not in out
    rows = out.removesuffix("\n").split("\n")
    assert [len(row) for row in rows] == [60] * 18
    assert len({row for row in rows if row.strip()}) > 4


def test_the_option_goes_before_the_surroundings_and_those_before_nothing(run):
    many = run(*PICTURE, "--colours", "256")
    assert run(*PICTURE)[1] == run(*PICTURE, "--colours", "none")[1]
    assert run(*PICTURE, TERM="xterm-256color") == many
    assert run(*PICTURE, TERM="xterm-256color", NO_COLOR="1")[1] == run(*PICTURE, "--colours", "0")[1]
    assert run(*PICTURE, "--colours", "256", NO_COLOR="1") == many
    assert run(*PICTURE, TRAINER_COLOURS="256", NO_COLOR="1") == many


@pytest.mark.parametrize(
    "value", ["", "8", "-1", "1e3", "0256", "256 ", "TRUE", "9" * 5000, "\u0662\u0665\u0666", "\x1b[2J"]
)
def test_a_bad_number_of_colours_is_one_line(run, value):
    code, out, err = run(*PICTURE, f"--colours={value}")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert "--colours" in err
    assert "allowed is true (16777216), 256, 16 or none (0)" in err
    assert "\x1b" not in err
    assert len(err) < 300


def test_a_bad_variable_is_one_line_where_it_matters(run):
    code, out, err = run(*PICTURE, TRAINER_COLOURS="lots")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "TRAINER_COLOURS" in err
    assert "allowed is" in err
    assert run(*PICTURE, "--colours", "16")[0] == 0
    assert run("shot", "--seed", "3")[0] == 0


def test_colours_are_of_a_picture(run):
    code, out, err = run("shot", "--seed", "3", "--colours", "16")
    assert (code, out) == (2, "")
    assert err == "trainer: --colours needs --view\n"


def test_help_names_the_option(run):
    code, out, _ = run("shot", "--help")
    assert code == 0
    assert "--colours N" in out


def test_a_picture_that_goes_elsewhere_has_all_colours_unless_somebody_says_otherwise(run, monkeypatch):
    monkeypatch.setattr("trainer.commands.shot._to_terminal", lambda: False)
    true = run(*PICTURE, "--colours", "true")
    assert run(*PICTURE) == true
    assert run(*PICTURE, TERM="dumb") == true
    assert run(*PICTURE, NO_COLOR="1") == run(*PICTURE, "--colours", "none")
