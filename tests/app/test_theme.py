"""Every text can be read on every ground it stands on, in every theme there is."""

import re
from pathlib import Path

import pytest
from by_hand import shown
from textual.color import Color

import trainer.app
from trainer.app.app import TrainerApp
from trainer.app.theme import (
    CLUB_ROOM,
    DAYLIGHT,
    GROUNDS,
    LEAST,
    MEANT,
    OWN,
    contrast,
    legible,
    scheme_of,
    spoken_for,
)
from trainer.app.widgets.picture import Picture
from trainer.pictures import colours
from trainer.pictures.colours import CLUB
from trainer.pictures.reduced import Reduced
from trainer.play.game import Game
from trainer.settings.settings import THEMES, Settings

ROOT = Path(trainer.app.__file__).parent
BLACK, WHITE = Color.parse("#000"), Color.parse("#fff")


def test_contrast_is_that_of_the_guidelines() -> None:
    """W3C, WCAG 2.2: 21 for black on white, 1 for a colour on itself; for the greys next to 4.5 on white, and
    for red on white, the values that are commonly quoted (from memory).
    """
    assert contrast(BLACK, WHITE) == pytest.approx(21)
    assert contrast(WHITE, WHITE) == 1
    assert contrast(Color.parse("#767676"), WHITE) == pytest.approx(4.54, abs=0.005)
    assert contrast(WHITE, Color.parse("#777777")) == pytest.approx(4.48, abs=0.005)
    assert contrast(Color.parse("#ff0000"), WHITE) == pytest.approx(4.0, abs=0.005)


def test_a_colour_that_can_be_read_is_left_and_another_goes_no_further_than_it_must() -> None:
    chalk = Color.parse("#7dbedf")
    assert legible(chalk, [BLACK]) == chalk
    on_paper = legible(chalk, [WHITE])
    assert LEAST <= contrast(on_paper, WHITE) < LEAST + 0.3
    assert on_paper.hsl.h == pytest.approx(chalk.hsl.h, abs=0.02)
    grey = Color.parse("#777")
    assert legible(chalk, [grey, WHITE, BLACK]) in (WHITE, BLACK)  # nothing can be read on all three


def themes(app: TrainerApp) -> list[str]:
    return [name for name in app.available_themes if not name.startswith("ansi")]


def test_every_text_in_every_theme(game: Game) -> None:
    app = TrainerApp(game)
    assert {theme.name for theme in OWN} <= set(themes(app))
    assert len(themes(app)) > 15
    for name in themes(app):
        app.theme = name
        found = {key: Color.parse(value) for key, value in spoken_for(app.get_css_variables()).items()}
        ground = {key: Color.parse(app.theme_variables[key]) for key in GROUNDS}
        pairs = [(found[text], on) for text in MEANT for on in ground.values()]
        pairs += [(found["on-chosen"], found["chosen"])]
        pairs += [
            (found[f"footer-{text}-foreground"], found["footer-background"])
            for text in ("key", "description")
        ]
        for text, on in pairs:
            assert contrast(text, on) >= LEAST - 0.03, (name, text.hex, on.hex)  # rounded to 8 bits


def test_own_themes_are_said_as_they_are(game: Game) -> None:
    """What this project chose can be read as it was chosen."""
    app = TrainerApp(game)
    for theme in OWN:
        app.theme = theme.name
        variables = app.get_css_variables()
        for text, own in MEANT.items():
            chosen = getattr(theme, own, None) or theme.variables[own]
            # Textual's own reckoning loses a 255th now and then.
            assert Color.parse(variables[text]).rgb == pytest.approx(Color.parse(chosen).rgb, abs=1)
        assert theme.name != "high-contrast" or contrast(Color.parse(variables["quiet"]), BLACK) > 7


async def test_the_player_s_theme_is_kept_in_the_settings(game: Game) -> None:
    assert tuple(theme.name for theme in OWN) == THEMES
    for name in (None, *THEMES):
        app = TrainerApp(game, settings=Settings(theme=name))
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert app.theme == (name or "club-room")


def test_no_text_has_another_colour() -> None:
    """Screens name what a text means: a theme's own colour may be one that can't be read."""
    allowed = {*MEANT, *GROUNDS, "chosen", "on-chosen"}
    for file in [*ROOT.rglob("*.py"), *ROOT.rglob("*.tcss")]:
        if file.name != "theme.py":
            used = set(re.findall(r"\$([a-z][a-z-]*)", file.read_text(encoding="utf-8")))
            assert used <= allowed, file
            assert not re.search(r"#[0-9a-fA-F]{6}\b", file.read_text(encoding="utf-8")), file


async def test_another_theme_is_chosen_from_the_list_of_actions(game: Game) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        dark = app.screen.styles.background
        await pilot.press("ctrl+p", *"daylight", "enter")
        await pilot.pause()
        assert app.theme == "daylight"
        assert app.screen.styles.background != dark
        assert "How full must the hit be?" in shown(app)


@pytest.mark.parametrize(
    "name",
    [
        "ansi-light",
        pytest.param("ansi-dark", marks=pytest.mark.slow),
        pytest.param("nord", marks=pytest.mark.long),
    ],
)
async def test_every_screen_is_drawn_in_other_themes(game: Game, name: str) -> None:
    app = TrainerApp(game)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.theme = name
        for key in (
            "left",
            "1",
            "enter",
            "escape",
            "p",
            "escape",
            "w",
            "escape",
            "m",
            "escape",
            "v",
            "escape",
            "t",
        ):
            await pilot.press(key)
            await pilot.pause()
            assert len(app.export_screenshot()) > 1000
    assert app.fault is None


def test_pictures_go_with_the_theme_and_the_club_room_s_are_as_they_were(game: Game) -> None:
    app = TrainerApp(game)
    for theme in OWN:
        app.theme = theme.name
        app.get_css_variables()
        scheme, room = app.scheme, Color(*app.scheme.room)
        if theme is CLUB_ROOM:
            assert scheme == CLUB
        assert room == Color.parse(theme.background)
        for words in (scheme.ink, scheme.words, scheme.sure):
            assert contrast(Color(*words), room) >= LEAST
        assert contrast(Color(*scheme.true), room) >= 2.5
        assert 1.05 < contrast(Color(*scheme.interval), room) < contrast(Color(*scheme.true), room)
        if theme is not CLUB_ROOM:
            for mark in (scheme.chalk, scheme.quiet):
                assert contrast(Color(*mark), Color(*colours.CLOTH)) >= LEAST


def test_a_theme_of_the_terminal_s_own_colours_has_pictures_as_by_night() -> None:
    assert scheme_of({"background": "ansi_default", "foreground": "ansi_default"}, False) == CLUB
    assert scheme_of({}, False) == CLUB


async def test_pictures_follow_a_theme_at_once(game: Game) -> None:
    app = TrainerApp(game, game.begin(game.level("quarters", None), seed=4))
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        table = app.screen.query_one("#table", Picture)
        before = table._shown
        app.theme = DAYLIGHT.name
        await pilot.pause()
        after = table._shown
        assert isinstance(before, Reduced)
        assert isinstance(after, Reduced)
        paper = Color.parse(DAYLIGHT.background)
        assert (after.paper == (paper.r << 16 | paper.g << 8 | paper.b)).mean() > 0.05
        assert (before.paper == (paper.r << 16 | paper.g << 8 | paper.b)).mean() == 0
