"""Under which names the server is reached, and whose pages may play.

A browser sends the name by which it came here and the origin of the page that asks. By a name elsewhere that
leads to this machine (DNS rebinding) another site's page would be one of ours, so only names count that the
operator gave; an address can't be made to lead elsewhere.
"""

import ipaddress
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

AUTHORITY = re.compile(r"(?:([A-Za-z0-9._-]+)|\[([0-9A-Fa-f:.]+)\])(?::([0-9]{1,5}))?")
USUAL_PORT = {"http": 80, "https": 443}
PUBLIC = "https://NAME or https://NAME:PORT, or the same with http"


def is_address(host: str) -> bool:
    """Whether it is a number and no name."""
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True


def is_local(host: str) -> bool:
    """Whether only this machine reaches it by this name or address."""
    return host == "localhost" or (is_address(host) and ipaddress.ip_address(host).is_loopback)


def host_of(authority: str) -> tuple[str, int | None]:
    """The host, in small letters, and the port of what stands in a request.

    Raises
    ------
    ValueError
        If there is no such host, or no such port.
    """
    found = AUTHORITY.fullmatch(authority)
    if found is None:
        raise ValueError(f"no host: {authority!r}")
    port = None if found[3] is None else int(found[3])
    if port is not None and not 0 < port < 1 << 16:
        raise ValueError(f"no port: {port}")
    return (found[1] or found[2]).lower(), port


@dataclass(frozen=True)
class Origin:
    """Where pages come from."""

    scheme: str
    host: str
    port: int

    @classmethod
    def of(cls, said: str) -> Self:
        """Read one, as ``https://name:port``.

        Raises
        ------
        ValueError
            If it is none.
        """
        scheme, _, authority = said.partition("://")
        if scheme not in USUAL_PORT:
            raise ValueError(f"no origin: {said!r}")
        host, port = host_of(authority)
        return cls(scheme, host, port or USUAL_PORT[scheme])

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}" + ("" if self.port == USUAL_PORT[self.scheme] else f":{self.port}")


class Names:
    """Who may come.

    Parameters
    ----------
    host : str
        Where it is served: a name or an address of this machine.
    public : sequence of Origin
        Where visitors find it, if that is elsewhere: another name, or a server in front of this one.
    """

    def __init__(self, host: str, public: Sequence[Origin] = ()) -> None:
        self.host, self.public = host.lower(), tuple(public)

    def named(self, authority: str) -> Origin | None:
        """The origin, of those named, that a browser has come to."""
        host, port = host_of(authority)
        fitting = (each for each in self.public if each.host == host)
        return next((each for each in fitting if each.port == (port or USUAL_PORT[each.scheme])), None)

    def serves(self, authority: str) -> bool:
        """Whether there is anything under this name.

        Raises
        ------
        ValueError
            If there can't be such a name.
        """
        host, _ = host_of(authority)
        if self.named(authority) is not None:
            return True
        if is_local(self.host):
            return is_local(host)
        return not self.public and (host == self.host or is_address(host) or host == "localhost")

    def leads_to(self, authority: str) -> str | None:
        """The host that a browser is to ask instead: to it each name is another place, with other cookies."""
        host, _ = host_of(authority)
        alone = is_local(self.host) and not self.public  # in front of others there may be a server
        return self.host if alone and host != self.host else None

    def is_ours(self, origin: str, authority: str) -> bool:
        """Whether a page of this origin, which has come by this name, is one of ours."""
        try:
            if Origin.of(origin) in self.public:
                return True
        except ValueError:
            return False
        return origin.partition("://")[2] == authority and self.named(authority) is None

    @property
    def said(self) -> str:
        """What is served, for whoever asked for something else."""
        if self.public:
            return "This is served as " + " and ".join(map(str, self.public)) + " only."
        if is_local(self.host):
            return "This is served to its own machine only."
        return "This is served under its machine's address, not under this name; --public allows a name."
