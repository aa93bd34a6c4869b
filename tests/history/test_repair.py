"""Which copy takes a damaged history's place, and a repair that is cut short."""

import shutil
from pathlib import Path

import pytest

from trainer.history import backup as backups
from trainer.history.clock import Moment
from trainer.history.repair import recover
from trainer.history.restore import restoring
from trainer.history.store import FILE
from trainer.history.upkeep import REPAIR

from .damaging import LATER, damage_of, rows_of
from .strategies import NOON, SetClock, open_history, plain
from .test_backups import names, on
from .test_from_a_copy import a_line, empty, found
from .test_restore import after_every_step

# Looking at the folder between any two lines takes most of the time.
SOME = pytest.mark.parametrize("step", [pytest.param(step, marks=pytest.mark.long) for step in (9, 1)])
IN_2030 = Moment(NOON.epoch_ms + 4 * 365 * 86_400_000, NOON.offset_s, NOON.zone)


def test_the_newest_copy_is_the_one_with_the_latest_call(mine: Path) -> None:
    """The clock stood on 2030 once; 112 calls were made since it is right again."""
    clock = SetClock(IN_2030)
    with open_history(mine, clock) as history:
        history.put_setting("minutes", "10")
        clock.moment = on(60)
        for _ in range(112):
            history.append(plain(history))
        history.keep_play()
    in_2030 = next(name for name in names(mine) if name.startswith("2030"))
    assert names(mine)[-1] == in_2030
    newest = backups.newest_first(mine)[0]
    assert newest.name != in_2030
    empty(mine / FILE)
    said = recover(found(mine), LATER)
    assert f"the newest good copy, {newest.name}, is in its place" in (said or "")
    assert len(rows_of(mine)) == 36 + 112 + 2


def test_of_the_same_calls_the_one_with_more_lines_is_newer(mine: Path) -> None:
    """Calls that came in from another machine are older than the last one here."""
    clock = SetClock(on(60))
    with open_history(mine, clock) as history:
        history.append(plain(history))
        older = [plain(history, id=f"00000000-0000-7000-8000-{k:012}", epoch_ms=k) for k in range(3)]
        clock.moment = on(59)
        for each in older:
            history.append(each)
        history.keep_play()
    assert names(mine)[-1].endswith("daily")
    assert backups.newest_first(mine)[0].why == backups.PLAYED


@SOME
def test_a_repair_may_end_anywhere(mine: Path, tmp_path: Path, step: int) -> None:
    """Two calls were made since the copy; the damaged file still gives them."""
    clock = SetClock(on(50))
    with open_history(mine, clock) as history:
        for _ in range(3):
            history.append(plain(history))
    a_line(mine / FILE)
    damage = found(mine)
    with after_every_step(mine, tmp_path / "steps") as steps:
        said = recover(damage, LATER)
    assert "with 3 calls made since that could still be read" in (said or "")
    want, again = rows_of(mine), 0
    assert len(want) == 36 + 3 + 2
    for end in steps[::step]:
        left = damage_of(end)
        if left is not None:
            said = recover(left, LATER)
            assert said
            assert not (end / REPAIR).exists()
            again += "its repair was cut short and is done now" in said
        assert rows_of(end) == want
    assert again > 0


@SOME
def test_what_stood_in_the_log_survives_a_repair_cut_short(mine: Path, tmp_path: Path, step: int) -> None:
    with open_history(mine, SetClock(on(50))) as history:
        history.append(plain(history))
    a_line(mine / FILE)
    with open_history(mine, SetClock(on(50))) as history:
        history.wait_for_check()
        history._damage = None
        for _ in range(3):
            history.append(plain(history))
        ended = shutil.copytree(mine, tmp_path / "ended")
    damage = found(shutil.copytree(ended, tmp_path / "looked at"))
    damage.file = ended / FILE
    with after_every_step(ended, tmp_path / "steps") as steps:
        assert recover(damage, LATER)
    want = rows_of(ended)
    assert len(want) == 36 + 4 + 2
    for end in steps[::step]:
        left = damage_of(end)
        if left is not None:
            assert recover(left, LATER)
        assert rows_of(end) == want


def test_going_back_by_hand_ends_a_repair(mine: Path) -> None:
    with open_history(mine, SetClock(on(50))) as history:
        history.append(plain(history))
    (mine / REPAIR).write_text('{"why": "x", "copy": "y", "asides": []}')
    assert damage_of(mine) is not None
    with restoring(mine, names(mine)[0]) as ready:
        ready.carry_out("2026-05-01")
    assert len(rows_of(mine)) == 36 + 2
