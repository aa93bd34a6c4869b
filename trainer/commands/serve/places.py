"""In which of a visitor's pages the game is played: in one at a time, so that no shot is asked in two."""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import suppress
from enum import IntEnum

ASKED_S = (
    1.0  # that a page may take to say that it is still there; its browser does, whatever it is busy with
)


class Why(IntEnum):
    """Why a page has no game any more, or none yet: the code with which its connection is closed."""

    LEFT = 1001
    FAILED = 1011
    FULL = 1013
    ELSEWHERE = 4001  # another page of the visitor's has it
    MOVED = 4002  # and was wanted there


class Place:
    """One page's, from before its game begins until that has ended.

    Parameters
    ----------
    ask : callable
        Asks the page whether it is still there; it is to be told by :meth:`answered`.
    """

    def __init__(self, ask: Callable[[], Awaitable[None]]) -> None:
        self._ask = ask
        self._heard = asyncio.Event()
        self._leaving = False
        self.wanted, self.free = asyncio.Event(), asyncio.Event()

    def answered(self) -> None:
        """The page is there."""
        self._heard.set()

    def leave(self) -> None:
        """The game is ending: from now on the place will be free in a moment."""
        self._leaving = True
        self._heard.set()

    async def is_held(self) -> bool:
        """Whether the page is there and goes on; one that went without a word says nothing."""
        if not self._leaving:
            self._heard.clear()
            with suppress(ConnectionError, TimeoutError):
                async with asyncio.timeout(ASKED_S):
                    await self._ask()
                    await self._heard.wait()
                    return not self._leaving
        return False


class Places:
    """Who plays where: each visitor, known by a secret, in one place."""

    def __init__(self) -> None:
        self._of: dict[str, Place] = {}
        self._closed = False

    async def take(self, secret: str, place: Place, most: int, *, here: bool) -> Why | None:
        """Take a place, which is to be given back.

        Where the visitor has another, its page is asked whether it is still there; one that isn't, or that is
        to give way to this one, ends first.

        Parameters
        ----------
        most : int
            Places that there are.
        here : bool
            Whether the game is to go on here, wherever it is.

        Returns
        -------
        Why or None
            Why there is no place to be had, None where it is taken.
        """
        while (other := self._of.get(secret)) is not None:
            if not here and await other.is_held():
                return Why.ELSEWHERE
            other.wanted.set()
            await other.free.wait()
        if self._closed:
            return Why.LEFT
        if len(self._of) >= most:
            return Why.FULL
        self._of[secret] = place
        return None

    def give_back(self, secret: str) -> None:
        """The game of a visitor has ended."""
        self._of.pop(secret).free.set()

    async def close(self) -> None:
        """Wait until every place is free; none is to be had any more."""
        self._closed = True
        while self._of:
            await next(iter(self._of.values())).free.wait()
