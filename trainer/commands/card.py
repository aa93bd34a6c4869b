"""``trainer card``."""

import argparse
import json
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from trainer.commands.console import UsageError
from trainer.commands.opening import open_game, style_of, table_of, today_of
from trainer.drills.words import counted
from trainer.history.errors import Unwritable, quoted, shown
from trainer.history.files import write_text
from trainer.report.card import Card, card_text, new_card
from trainer.report.card_page import PER_PAGE, card_pages
from trainer.report.kept_cards import KeptCards
from trainer.report.proposed import proposed
from trainer.report.report import game_kinds
from trainer.shots.describe import played_object, shot_object
from trainer.shots.layout import OFF, WITHIN, Wanted, kinds_said
from trainer.shots.played import played


def card(args: argparse.Namespace) -> int:
    """Lay out shots to practise at the table; print them, or write them as pages to print."""
    if args.paper is not None and args.svg is None:
        raise UsageError("--paper needs --svg")
    if args.json and args.svg is not None:
        raise UsageError("--json and --svg: give one of them")
    if args.svg is not None and Path(args.svg).suffix.lower() != ".svg":
        raise UsageError(f"--svg {quoted(args.svg)}: allowed is a file name that ends in .svg")
    table = table_of(args, args.table)
    kinds, why = _kinds(args)
    count = args.count or (len(kinds) if args.kinds else PER_PAGE)
    unit = "in" if args.inches or style_of(args).imperial else "mm"
    made = _kept(args, new_card(table, kinds, count, unit, today_of(args), seed=args.seed, why=why))
    if args.json:
        print(json.dumps(_object(made), ensure_ascii=False))
        return 0
    if args.svg is None:
        print(card_text(made))
        return 0
    pages = card_pages(made, args.paper or "a4")
    files = _files(Path(args.svg), len(pages))
    for file, page in zip(files, pages, strict=True):
        write_text(file, page)
    number = "" if made.number is None else f"card {made.number}, "
    where = ", ".join(map(shown, files))
    print(f"{number}{counted(count, 'layout')} written to {where}, seed {made.seed}")
    return 0


def _kept(args: argparse.Namespace, card: Card) -> Card:
    """The card with its number; without one, where the history can't be written."""
    try:
        with open_game(args) as game:
            return replace(card, number=KeptCards(game).keep(card))
    except Unwritable as error:
        print(f"trainer: the card has no number, since it can't be kept: {error}", file=sys.stderr)
        return card


def _kinds(args: argparse.Namespace) -> tuple[Sequence[Wanted], str]:
    """The kinds asked for, else those that follow from what is known of this player, and why these."""
    if args.kinds is not None:
        try:
            return kinds_said(args.kinds), ""
        except ValueError as error:
            raise UsageError(f"--kinds: {error}") from None
    with open_game(args, asks=True) as game:
        found = proposed(game.diagnosis, game.model, game_kinds(game))
    return found.kinds, found.why


def _object(card: Card) -> dict[str, Any]:
    """The JSON object of a card: each shot as ``trainer shot`` has it, and what is said of it."""
    return {
        "number": card.number,
        "day": card.day,
        "seed": card.seed,
        "unit": card.unit,
        "why": card.why,
        "within": WITHIN,
        "off_mm": OFF,
        "layouts": [
            {
                "kind": one.wanted.name,
                "said": dict(card.lines(one)),
                "change": one.change,
                "played": played_object(played(one.shot, one.truth, one.wanted.band.value)),
                "shot": shot_object(one.shot, one.truth, seed=None, level=None),
            }
            for one in card.layouts
        ],
    }


def _files(first: Path, count: int) -> list[Path]:
    """A file a page: ``card.svg``, ``card-2.svg``, ..."""
    return [first, *(first.with_name(f"{first.stem}-{k}{first.suffix}") for k in range(2, count + 1))]
