"""Files that nobody sound would write: each is answered in plain lines, within bounds of time and memory."""

import json
import os
import random
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hostile import CONTROL, KINDS, NOW, TEXTS, answered, hostile_file

from trainer.history.exchange import WINDOW, _history

MB = 2**20
MEMORY = 1536 * MB  # of address space, for a file of 100 MB
SECONDS = 120


def try_files(sound: Path, folder: Path, seeds: range) -> None:
    """Write one file a seed and have it read."""
    for seed in seeds:
        data, chance = folder / "data", random.Random(seed)
        shutil.rmtree(data, ignore_errors=True)
        kind = KINDS[seed % len(KINDS)]
        before = outside(folder)
        for words in hostile_file(kind, data, sound, chance):
            wrong = answered((*words, "--data", str(data), *NOW), many=True)
            assert not wrong, (seed, kind, words, wrong)
        assert outside(folder) == before, (seed, "wrote outside the data folder")


def outside(folder: Path) -> list[str]:
    """What there is beside the data folder."""
    return sorted(str(path) for path in folder.rglob("*") if not path.is_relative_to(folder / "data"))


@pytest.mark.slow
def test_hostile_files_are_answered_in_plain_lines(sound: Path, tmp_path: Path) -> None:
    try_files(sound, tmp_path, range(140))


@pytest.mark.long
@pytest.mark.parametrize("part", range(14))
def test_7_000_hostile_files_are_answered_in_plain_lines(sound: Path, tmp_path: Path, part: int) -> None:
    try_files(sound, tmp_path, range(1000 + part * 500, 1500 + part * 500))


@pytest.mark.parametrize("name", [text for text in TEXTS if "\0" not in text])
def test_no_name_leads_out_of_the_data_folder(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "inside").mkdir()
    monkeypatch.chdir(tmp_path / "inside")
    data = ("--data", str(tmp_path / "inside" / "data"), *NOW)
    commands = (
        ("restore", name, "--yes"),
        ("shot", "--level", name),
        ("shot", "--table", name, "--seed", "1"),
        ("play", name, "--lines"),
        ("undo", "--yes", "--player", name),
    )
    for words in commands:
        if not words[1].startswith("-"):
            wrong = answered((*words, *data), usage=True)
            assert not wrong, (words, wrong)
    assert [path.name for path in tmp_path.iterdir()] == ["inside"]
    assert {path.name for path in (tmp_path / "inside").iterdir()} <= {"data"}


@pytest.mark.parametrize("kind", ["a text", "an object", "a number"])
def test_records_are_read_alike_wherever_a_window_ends(kind: str) -> None:
    first = {"a text": "x" * 60, "an object": {"a": [1.5e3, None, "é"]}, "a number": 123456789012}[kind]
    for pad in range(WINDOW - 90, WINDOW + 10):
        value = ["p" * pad, first, -1.25] if pad % 2 else [[" " * pad, first], first]
        text = json.dumps(value)
        assert [record for record, _ in _history(text, "")] == value


def test_a_record_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match="More than 1048576 characters in one record"):
        list(_history('[["' + "a" * 3 * MB + '"]]', ""))


def _csv(sound: Path) -> tuple[bytes, bytes]:
    head, line = (sound / "attempts.csv").read_bytes().splitlines(keepends=True)[:2]
    return head, line


def _json(sound: Path) -> bytes:
    return (sound / "attempts.json").read_bytes().splitlines(keepends=True)[1]


# Beginning, what is repeated, and end of a file.
BIG: dict[str, Callable[[Path], tuple[bytes, bytes, bytes]]] = {
    "zeros.csv": lambda sound: (b"", b"\0", b""),
    "line.csv": lambda sound: (b"", b"a", b""),
    "quoted.csv": lambda sound: (_csv(sound)[0] + b'"', b"a,\n", b""),
    "bad.csv": lambda sound: (_csv(sound)[0], b"x" + b"," * _csv(sound)[0].count(b",") + b"\n", b""),
    "good.csv": lambda sound: (*_csv(sound), b""),
    "deep.json": lambda sound: (b"", b"[", b""),
    "number.json": lambda sound: (b"[", b"9", b""),
    "objects.json": lambda sound: (b"[", b"{},", b"{}]"),
    "inner.json": lambda sound: (b'[{"a":[', b"{},", b"{}]}]"),
    "numbers.json": lambda sound: (b"[", b"1,", b"1]"),
    "good.json": lambda sound: (b"[", _json(sound), _json(sound).rstrip(b",\n") + b"]"),
    "text.json": lambda sound: (b'["', b"a", b'"]'),
    "level.toml": lambda sound: (b"", b"a", b""),
    "settings.toml": lambda sound: (b"", b"a", b""),
}


def pieces(begin: bytes, unit: bytes, end: bytes) -> Iterator[bytes]:
    """100 MB in pieces."""
    some = unit * max(1, MB // len(unit))
    yield begin
    for _ in range(100 * MB // len(some)):
        yield some
    yield end


@pytest.mark.long
@pytest.mark.parametrize("name", BIG)
def test_a_file_of_100_mb_is_read_or_refused_within_bounds(sound: Path, tmp_path: Path, name: str) -> None:
    file = tmp_path / name
    with file.open("wb") as out:
        out.writelines(pieces(*BIG[name](sound)))
    words = ["import", str(file)]
    if name.endswith(".toml"):
        words = ["levels", "--check", str(file)] if name == "level.toml" else ["today"]
    data = tmp_path if name == "settings.toml" else tmp_path / "data"
    done = subprocess.run(
        [sys.executable, "-m", "trainer", *words, "--data", str(data)],
        env=os.environ | {"OPENBLAS_NUM_THREADS": "1", "TRAINER_TRACEBACK": ""},
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY)),
        capture_output=True,
        text=True,
        timeout=SECONDS,
    )
    assert done.returncode == (0 if name in ("good.csv", "good.json", "settings.toml") else 1)
    assert len(done.stderr.splitlines()) == (done.returncode == 1)
    assert "fault of the trainer" not in done.stderr
    assert not CONTROL.search(done.stdout + done.stderr)
