"""The drill judge on the screen, by keys and by mouse, and over lines."""

from by_hand import SIZES, USUAL, begun, click_answer, over_lines, playing, text_of

from trainer.app.screens.summary import SummaryScreen
from trainer.levels.level import free_practice
from trainer.play.game import Game


async def test_a_set_by_keys(game: Game) -> None:
    async with begun(game, "thick-or-thin", shots=4, seed=1) as (app, pilot):
        for number in range(1, 5):
            await pilot.resize_terminal(*SIZES[number // 2 % 2])  # right and wrong calls at both
            screen = playing(app)
            shown = screen.scene.shown
            assert "What happens on this line?" in text_of(app, "#ask")
            assert shown.line == shown.ghost == screen.question.line is not None
            await pilot.press("9")  # not an answer here
            assert screen.mark is None
            await pilot.press(*(["right"] * number), "enter")  # thick, pots, thin, thin
            await pilot.pause()
            assert screen.mark is not None
            assert screen.mark.choice.key == str(min(number, 3))
            assert ("✓" in text_of(app, "#ask")) == screen.mark.right
            await pilot.press("space")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert [a.call for a in game.attempts] == ["thick", "pots", "thin", "thin"]


async def test_a_set_by_mouse(game: Game) -> None:
    async with begun(game, "thick-or-thin", USUAL, shots=3, seed=2) as (app, pilot):
        for index in range(3):
            screen = playing(app)
            await pilot.click("#aim", offset=(4, 4))  # the line is given: a click there calls nothing
            assert screen.mark is None
            await click_answer(pilot, index)
            assert screen.mark is not None
            assert screen.mark.choice == screen.question.choices[index]
            said = text_of(app, "#ask")
            assert "the line shown" in said or len(said) > 90
            await pilot.click("#shot")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


def test_a_set_over_lines(game: Game) -> None:
    said = over_lines(game.begin(free_practice("judge"), shots=3, seed=3), "thick\nfour\n2\n Thin \n")
    kinds = [m["type"] for m in said]
    assert kinds == [
        "question",
        "mark",
        "question",
        "problem",
        "question",
        "mark",
        "question",
        "mark",
        "summary",
    ]
    assert all("line" in m for m in said if m["type"] == "question")
    assert "allowed: 1 to 3" in said[3]["message"]
    assert [m["call"] for m in said if m["type"] == "mark"] == ["thick", "pots", "thin"]
    for asked, mark in ((said[0], said[1]), (said[4], said[5]), (said[6], said[7])):
        low, high = mark["truth"]["margin"]
        shown = asked["choices"][1]["value"]
        true = "thick" if shown > high else "thin" if shown < low else "pots"
        assert mark["right"] == (mark["call"] == true)
        assert mark["potted"] == (true == "pots")
