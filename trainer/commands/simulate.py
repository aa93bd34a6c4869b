"""``trainer simulate``."""

import argparse
import json
import math
import secrets
from dataclasses import asdict
from typing import Any

from trainer.commands.console import CommandError, UsageError, bar
from trainer.commands.opening import clock_of, shelf_of
from trainer.drills.words import counted
from trainer.history.errors import shown
from trainer.history.files import empty_folder
from trainer.history.store import History
from trainer.play.named_levels import level_named
from trainer.shots.style import USUAL
from trainer.simulate import cores
from trainer.simulate.crowd import MOST, NEAR_NOISE, Crowd, Summary, outcomes, summary
from trainer.simulate.demo import Diary, TooFarBack, first_day, write_history
from trainer.simulate.players import Bump, Nature
from trainer.simulate.simulation import NEAR

PLAYERS, DAYS, DEMO_DAYS = 100, 14, 28
DIARY = ("rests", "zone", "rollover", "plays_at")
NATURE = ("noise", "growth", "lapse", "central", "serial", "drift", "learns")


def simulate(args: argparse.Namespace) -> int:
    """Try the learner on simulated players, or write one player's history."""
    if args.into is not None:
        for option in ("players", "cores"):
            if getattr(args, option) is not None:
                raise UsageError(f"--into and --{option}: a history is that of one player")
        return _write(args)
    for option in DIARY:
        if getattr(args, option):
            raise UsageError(f"--{option.replace('_', '-')}: only with --into, which writes a calendar")
    players = args.players or PLAYERS
    crowd = _crowd(args, args.days or DAYS)
    with bar(players * crowd.days * crowd.shots) as progress:
        try:
            found = outcomes(crowd, players, args.cores or cores.count(), progress.add)
        except KeyboardInterrupt:
            raise CommandError(
                f"stopped after {counted(progress.done, 'call')} of {progress.total}"
            ) from None
        except cores.ProcessEnded as error:
            raise CommandError(f"the simulation stopped: {error}") from None
    whole = summary(crowd, found)
    if args.json:
        each = [
            {**asdict(one), "found": list(one.found), **_fault(crowd.player(number)[0])}
            for number, one in enumerate(found)
        ]
        print(json.dumps({**_asked(crowd), **asdict(whole), "each": each}))
    else:
        print("\n".join(_words(crowd, whole)))
    return 0


def _crowd(args: argparse.Namespace, days: int) -> Crowd:
    size, sign = args.bump
    return Crowd(
        level=level_named(shelf_of(args), args.level, args.drill),
        nature=Nature(**{name: getattr(args, name) for name in NATURE}),
        size=size,
        sign=sign,
        days=days,
        shots=args.shots,
        seed=secrets.randbits(32) if args.seed is None else args.seed,
    )


def _asked(crowd: Crowd) -> dict[str, Any]:
    """What was simulated, as a JSON object."""
    return {
        "seed": crowd.seed,
        "level": crowd.level.name,
        "drill": crowd.level.drill,
        "days": crowd.days,
        "shots": crowd.shots,
        "nature": {name: getattr(crowd.nature, name) for name in NATURE},
        "bump": {"size": crowd.size, "sign": crowd.sign},
    }


def _fault(nature: Nature) -> dict[str, Any]:
    """A player's bump, as a part of a JSON object."""
    return {"bump": [{"cut_deg": bump.cut, "size": bump.size} for bump in nature.bumps]}


def _words(crowd: Crowd, whole: Summary) -> list[str]:
    calls, players = crowd.days * crowd.shots, whole.players
    rows: list[tuple[str, str]] = []
    if whole.found is not None:
        half, most = (str(at or f"more than {calls}") for at in (whole.median_calls, whole.p95_calls))
        rows = [
            ("found", f"{_of(whole.found, players)}: right within {NEAR:g} degrees, and the right way"),
            ("calls needed", f"{half} for half of the players, {most} for {100 * MOST:.0f} %"),
        ]
    low, high = (100 * share for share in whole.accused_range)
    rows += [
        ("accused wrongly", f"{_of(whole.accused, players)}, looked at after every call"),
        ("", f"(that speaks for {low:.1f} to {high:.1f} % of such players)"),
        ("noise recovered", f"{whole.median_noise:.3f} ball (median), where {crowd.nature.noise:g} is true;"),
        ("", f"within {100 * NEAR_NOISE:.0f} % for {_of(whole.noise_near, players)}"),
        ("curve off by", f"{whole.median_rmse:.3f} ball (median of the root mean square over the cuts)"),
    ]
    return [
        f"{counted(whole.players, 'simulated player')}: {_nature_words(crowd)}",
        f"{crowd.level.title} ({crowd.level.drill}), {counted(crowd.days, 'day')} of "
        f"{counted(crowd.shots, 'shot')}: {counted(calls, 'call')} each; seed {crowd.seed}",
        "",
        *(f"  {name:<16} {text}" for name, text in rows),
    ]


def _of(some: int, players: int) -> str:
    return f"{some} of {counted(players, 'player')} ({100 * some / players:.0f} %)"


def _nature_words(crowd: Crowd) -> str:
    nature, way = crowd.nature, {1.0: "thick", -1.0: "thin"}.get(crowd.sign, "thick or thin")
    fault = f"one angle seen {crowd.size:g} ball {way}" if crowd.size else "every angle seen true"
    more = [f"{name} {getattr(nature, name):g}" for name in (*NATURE[3:], "growth") if getattr(nature, name)]
    return ", ".join([fault, f"noise {nature.noise:g} ball", f"lapses {100 * nature.lapse:g} %", *more])


def _write(args: argparse.Namespace) -> int:
    crowd = _crowd(args, args.days or DEMO_DAYS)
    nature, seed = crowd.player(0)
    on_path = args.level is None and args.drill is None
    shelf, until = shelf_of(args), clock_of(args).now()
    diary = Diary(frozenset(args.rests), dict(args.zone), dict(args.rollover), dict(args.plays_at))
    if diary.last > crowd.days:
        raise UsageError(f"day {diary.last} is later than the last; allowed is up to --days {crowd.days}")
    try:
        first_day(until, crowd.days)
    except TooFarBack as error:
        raise UsageError(f"--days: {error}; allowed is fewer") from None
    folder = empty_folder(args.into)
    with bar((crowd.days - len(diary.rests)) * crowd.shots) as progress:
        try:
            write_history(
                folder,
                shelf,
                nature,
                until=until,
                days=crowd.days,
                shots=crowd.shots,
                seed=seed,
                level=None if on_path else crowd.level,
                diary=diary,
                progress=progress.add,
            )
        except KeyboardInterrupt:
            raise CommandError(
                f"stopped: {shown(folder)} holds the first {progress.done} of {progress.total} calls"
            ) from None
    if args.json:
        level = None if on_path else crowd.level.name
        drill = None if on_path else crowd.level.drill
        print(
            json.dumps(
                {
                    **_asked(crowd),
                    "level": level,
                    "drill": drill,
                    "folder": str(folder),
                    "attempts": progress.done,
                }
                | _fault(nature)
            )
        )
    else:
        with History.open(folder, clock_of(args)) as history:
            days = len(history.days())
        print(f"{counted(progress.done, 'call')} on {counted(days, 'day')} written to {shown(folder)}.")
        for bump in nature.bumps:
            print(f"This player sees {_bump_words(bump)}.")
        print(f"To look at it: trainer --data {shown(folder)}, or with report after it.")
    return 0


def _bump_words(bump: Bump) -> str:
    side = "left" if bump.cut > 0 else "right"
    fullness = 1.0 - math.sin(math.radians(abs(bump.cut)))
    way = "thick" if bump.size > 0 else "thin"
    return f"cuts of about {abs(bump.cut):.0f} degrees to the {side} (fullness {fullness:.2f}) " + (
        f"{USUAL.ball_part(bump.size)} {way} ({abs(bump.size):g})"
    )
