"""Ids: in order, unlike each other, and what the standard says they are."""

import uuid

from trainer.history.ids import COUNTER_BITS, PATTERN, Ids


def test_the_example_of_the_standard_has_this_form() -> None:
    """RFC 9562, A.6: the version 7 example, made at 2022-02-22T14:22:22-05:00."""
    example = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert PATTERN.fullmatch(example)
    ids = Ids()
    ids.seen(example)
    assert ids.new(0)[:13] == example[:13]  # the same millisecond, counted on
    assert Ids().new(0x017F22E279B0)[:13] == example[:13]


def test_ids_are_version_7_and_carry_the_time() -> None:
    made = uuid.UUID(Ids().new(1_772_362_800_123))
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == 1_772_362_800_123


def test_order_within_a_millisecond_and_with_the_clock_set_back() -> None:
    ids = Ids()
    made = [ids.new(ms) for ms in [5] * 1000 + [3] * 1000 + [6, 2, 7]]
    assert made == sorted(set(made))


def test_order_goes_on_after_what_was_seen() -> None:
    first, second = Ids(), Ids()
    for _ in range(100):
        last = first.new(9)
        second.seen(last)
        assert second.new(9) > last
        assert second.new(4) > last


def test_a_full_counter_moves_on() -> None:
    ids = Ids()
    ids._last = (5, (1 << COUNTER_BITS) - 2)
    full, over = ids.new(5), ids.new(5)
    assert uuid.UUID(full).int >> 80 == 5
    assert uuid.UUID(over).int >> 80 == 6


def test_two_machines_never_meet() -> None:
    one, two = Ids(), Ids()
    made = [ids.new(5) for _ in range(1000) for ids in (one, two)]
    assert len(set(made)) == 2000


def test_an_id_from_no_clock_does_not_leave_later_ones_without_room() -> None:
    ids = Ids()
    ids.seen("ffffffff-ffff-7fff-bfff-ffffffffffff")
    first = ids.new(1_000_000_000_000)
    assert ids.new(1_000_000_000_000) > first
