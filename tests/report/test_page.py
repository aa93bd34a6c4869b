"""The report's page: sound, whole in itself, and with the figures of the report."""

import re
from collections.abc import Iterator
from fractions import Fraction
from html.parser import HTMLParser
from xml.etree import ElementTree as ET

import pytest

from trainer.drills import DRILLS
from trainer.history.clock import FixedClock
from trainer.history.store import History
from trainer.history.streaks import RULE
from trainer.levels.shelf import open_shelf
from trainer.play.game import Game
from trainer.report import page as pages
from trainer.report.notebook import Notebook, Said
from trainer.report.page import page
from trainer.report.report import report
from trainer.simulate.demo import Diary, write_history
from trainer.simulate.players import Bump, Nature

UNTIL = "2026-04-20T09:00:00+00:00"


@pytest.fixture(scope="module")
def weeks(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Game]:
    folder, shelf = tmp_path_factory.mktemp("page") / "data", open_shelf()
    clock, nature = FixedClock(UNTIL), Nature(noise=0.03, bumps=(Bump(40.0, 0.12),))
    diary, level = Diary(frozenset({5, 19})), shelf.find("aim-fine")
    given = {"until": clock.now(), "days": 20, "shots": 20, "seed": 1, "level": level, "diary": diary}
    write_history(folder, shelf, nature, **given)
    with History.open(folder, clock) as history:
        yield Game(history, shelf)


class Tags(HTMLParser):
    """The tags of a page, which must be closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open, self.seen = list[str](), list[tuple[str, dict[str, str | None]]]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_it_is_sound_and_nothing_is_run_or_fetched(weeks: Game) -> None:
    text = page(weeks)
    tags = Tags()
    tags.feed(text)
    assert tags.open == []
    names = {tag for tag, _ in tags.seen}
    assert not names & {"script", "link", "img", "iframe", "object", "image", "use", "a"}
    for _, attributes in tags.seen:
        assert not {"src", "href", "xlink:href"} & set(attributes)
        assert not any(name.startswith("on") for name in attributes)
    assert "url(" not in text
    assert "@import" not in text
    assert text.count("http") == text.count('xmlns="http://www.w3.org/2000/svg"')
    for picture in re.findall(r"<svg.*?</svg>", text, re.DOTALL):
        ET.fromstring(picture)


def test_it_says_what_the_report_says(weeks: Game) -> None:
    text, found = page(weeks), report(weeks)
    assert f"{found['attempts']} calls on {found['days']} days" in text
    assert f"{found['streak_days']} days in a row, 2 missed days forgiven" in text
    assert RULE in text.replace("&#x27;", "'")
    assert text.count("<h2>") == 5
    for week in found["weeks"]:
        assert f"<td class=number>{week['calls']}</td>" in text
    assert "thick, sure within" in text


def assert_drawn(game: Game) -> Fraction:
    """The curve, read back from the picture alone; how much lies at its upper edge.

    It is 720 by 260, the plot from 62 to 712 and from 14 to 226.
    """
    text, belief = page(game), report(game)["belief"]
    picture = ET.fromstring(re.findall(r"<svg.*?</svg>", text, re.DOTALL)[0])
    line = picture.find("{http://www.w3.org/2000/svg}polyline")
    assert line is not None
    written = picture.findall("{http://www.w3.org/2000/svg}text[@text-anchor='end']")
    most = max(Fraction(each.text or "") for each in written)
    points = [tuple(map(float, pair.split(","))) for pair in line.attrib["points"].split()]
    for (x, y), offset, bias in zip(points, belief["offset"], belief["bias"], strict=True):
        assert 1 - 2 * (x - 62) / 650 == pytest.approx(offset, abs=1e-3)
        assert float(most) * (1 - 2 * (y - 14) / 212) == pytest.approx(bias, abs=float(most) / 600)
    return most


def test_the_curve_drawn_is_the_curve(weeks: Game) -> None:
    assert assert_drawn(weeks) == Fraction(1, 8)


def test_a_fault_of_a_quarter_of_a_ball_is_drawn_whole(game: Game) -> None:
    played = game.begin(game.level(None, "slide"), shots=30, seed=5)
    while not played.done:
        question = played.question()
        error = (1.0 - question.truth.fullness) / 2  # the line goes through where the balls touch
        played.call(DRILLS["slide"].answer(question, error))
    assert assert_drawn(game) == Fraction(1, 2)


def test_a_player_without_calls_has_a_page_too(game: Game) -> None:
    text = page(game)
    assert "No calls yet." in text
    assert "0 calls on 0 days" in text


def test_the_notebook_is_in_it_and_nothing_that_is_said_is_markup(
    game: Game, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "At the table" not in page(game)
    book = Notebook(game)
    for result in ("thick", "thick", "potted"):
        book.add(Said(0.5, "1/2", "left", "far"), result)
    monkeypatch.setattr(pages, "table_words", lambda row, style: f"<b>& {row.misses}")
    counts = "<td class=number>2</td><td class=number>0</td><td class=number>1</td>"
    assert f"<td>1/2 and 3/8 left</td>{counts}<td>&lt;b&gt;&amp; 2</td>" in page(game)
