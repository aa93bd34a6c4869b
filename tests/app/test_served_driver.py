"""What a game writes for its page, from two threads at once, over a pipe that is read slowly."""

import os
import sys
import threading
from collections.abc import Iterator
from typing import BinaryIO

import pytest
from textual.drivers.web_driver import WebDriver

from trainer.app.app import TrainerApp
from trainer.play.game import Game

FRAMES, CHUNKS = 40, 12
FRAME, CHUNK = "f" * 90_000, "c" * 200_000  # bytes: each more than a pipe holds


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> Iterator[BinaryIO]:
    """The other end of what the game takes for its standard output."""
    ours, theirs = os.pipe()
    with open(ours, "rb") as page, open(theirs, "w", encoding="utf-8") as game:
        monkeypatch.setattr(sys, "__stdout__", game)
        yield page


async def test_packets_of_two_threads_stay_whole(
    game: Game, page: BinaryIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("textual.constants.DRIVER", "textual.drivers.web_driver:WebDriver")
    monkeypatch.setattr("textual.drivers.web_driver.InputReader", lambda: None)  # tests have none
    app = TrainerApp(game)
    driver = app.get_driver_class()(app)
    assert isinstance(driver, WebDriver)
    writers = [
        threading.Thread(target=lambda: [driver.write(FRAME) for _ in range(FRAMES)], daemon=True),
        threading.Thread(
            target=lambda: [driver.write_binary_encoded(("deliver_chunk", CHUNK)) for _ in range(CHUNKS)],
            daemon=True,
        ),
    ]
    for writer in writers:
        writer.start()
    seen = {b"D": 0, b"P": 0}
    for _ in range(FRAMES + CHUNKS):
        kind, size = page.read(1), int.from_bytes(page.read(4), "big")
        letter, length = {b"D": (b"f", len(FRAME)), b"P": (b"c", len(CHUNK))}[kind]
        assert length <= size < length + 100
        assert page.read(size).count(letter) == length + (kind == b"P")  # one more in its name
        seen[kind] += 1
    assert seen == {b"D": FRAMES, b"P": CHUNKS}
    for writer in writers:
        writer.join()
