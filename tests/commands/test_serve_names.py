"""``trainer serve`` under one name and another: who gets an answer, and whose pages may play."""

import asyncio
import re
import signal
from contextlib import suppress
from pathlib import Path

import aiohttp
import pytest
from served import Served

from trainer.commands.serve import _say, server
from trainer.commands.serve.names import Names, Origin, host_of, is_local

ANY, HERE = "0.0.0.0", "127.0.0.1"
PUBLIC = [Origin.of("https://play.example"), Origin.of("http://tables.lan:8080")]


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "::1", "localhost"])
def test_what_only_this_machine_reaches(host: str) -> None:
    assert is_local(host)


@pytest.mark.parametrize(
    "host", ["0.0.0.0", "::", "192.168.1.4", "localhost.example.com", "127.0.0.1.example.com", ""]
)
def test_what_others_reach(host: str) -> None:
    assert not is_local(host)


@pytest.mark.parametrize(
    ("said", "host"),
    [
        ("play.example", ("play.example", None)),
        ("Play.Example:8000", ("play.example", 8000)),
        ("[::1]:80", ("::1", 80)),
        ("10.0.0.7", ("10.0.0.7", None)),
    ],
)
def test_a_host_is_read(said: str, host: tuple[str, int | None]) -> None:
    assert host_of(said) == host


@pytest.mark.parametrize(
    "said",
    ["", ":80", "a:", "a:x", "a:0", "a:65536", "a:999999", "::1", "[::1", "a@b", "a/b", "a b", "\xff", "a\n"],
)
def test_what_is_no_host_is_none(said: str) -> None:
    with pytest.raises(ValueError, match=r"no (host|port)"):
        host_of(said)


@pytest.mark.parametrize(
    ("host", "public", "served", "not_served"),
    [
        (HERE, [], ["127.0.0.1:8000", "localhost:8000", "[::1]:8000"], ["elsewhere.example", "10.0.0.7"]),
        (
            HERE,
            PUBLIC,
            ["localhost:8000", "play.example", "play.example:443"],
            ["play.example:80", "x.example"],
        ),
        (
            ANY,
            [],
            ["10.0.0.7:8000", "[fe80::1]:8000", "localhost"],
            ["elsewhere.example:8000", "play.example"],
        ),
        (
            ANY,
            PUBLIC,
            ["PLAY.example", "tables.lan:8080"],
            ["tables.lan", "10.0.0.7:8000", "localhost", HERE],
        ),
        ("tables.lan", [], ["tables.lan:8000", "Tables.LAN"], ["elsewhere.example", "tables.lan.example"]),
    ],
)
def test_what_is_served(host: str, public: list[Origin], served: list[str], not_served: list[str]) -> None:
    names = Names(host, public)
    assert [asked for asked in served + not_served if names.serves(asked)] == served


@pytest.mark.parametrize(
    ("public", "asked", "ours", "not_ours"),
    [
        (
            [],
            "10.0.0.7:8000",
            ["http://10.0.0.7:8000"],
            ["http://10.0.0.7:9000", "http://x.example", "null", ""],
        ),
        (
            PUBLIC,
            "play.example",
            ["https://play.example", "https://play.example:443", "http://tables.lan:8080"],
            [
                "http://play.example",
                "https://play.example:8443",
                "https://x.example",
                "https://tables.lan:8080",
            ],
        ),
        (
            PUBLIC,
            "localhost:8000",
            ["http://localhost:8000", "https://play.example"],
            ["http://localhost:9000"],
        ),
    ],
)
def test_whose_pages_play(public: list[Origin], asked: str, ours: list[str], not_ours: list[str]) -> None:
    names = Names(ANY, public)
    assert [origin for origin in ours + not_ours if names.is_ours(origin, asked)] == ours


def test_only_alone_a_visitor_is_led_to_one_name() -> None:
    assert Names(HERE).leads_to("localhost:8000") == HERE
    assert Names(HERE).leads_to("127.0.0.1:8000") is None
    assert Names(HERE, PUBLIC).leads_to("localhost:8000") is None
    assert Names(ANY).leads_to("localhost:8000") is None


async def answers(names: Names, path: str, *asked: str) -> dict[str, tuple[int, str, bool]]:
    """By the name that is asked for: status, text of a refusal, whether the cookie is for https alone."""
    ports: asyncio.Queue[int] = asyncio.Queue()
    serving = asyncio.create_task(server.Serving([], names).run(0, ports.put_nowait))
    port = await ports.get()
    found = {}
    async with aiohttp.ClientSession(cookie_jar=aiohttp.DummyCookieJar()) as http:
        for host in asked:
            async with http.get(f"http://127.0.0.1:{port}{path}", headers={"Host": host}) as answer:
                text = await answer.text() if answer.status >= 400 else ""
                cookie = answer.cookies.get("visitor")
                found[host] = answer.status, text, bool(cookie is not None and cookie["secure"])
    serving.cancel()
    with suppress(asyncio.CancelledError):
        await serving
    return found


@pytest.mark.parametrize("path", ["/", "/ws", "/static/js/textual.js", "/nothing"])
async def test_by_a_name_that_nobody_gave_nothing_is_had(path: str) -> None:
    for names in (Names(HERE), Names(ANY), Names(ANY, PUBLIC)):
        found = await answers(names, path, "elsewhere.example:8000", "elsewhere.example")
        assert {(status, text.count("\n")) for status, text, _ in found.values()} == {(403, 0)}


async def test_the_page_comes_under_the_names_that_are_given() -> None:
    found = await answers(Names(ANY, PUBLIC), "/", "play.example", "tables.lan:8080", "10.0.0.7")
    refused = "This is served as https://play.example and http://tables.lan:8080 only."
    assert found == {
        "play.example": (200, "", True),
        "tables.lan:8080": (200, "", False),
        "10.0.0.7": (403, refused, False),
    }


def test_it_says_where_it_is_found(tmp_path: Path) -> None:
    served = Served(
        tmp_path / "data", "--public", "https://play.example/", "--public", "http://[fd00::7]:8080"
    )
    with served.program:
        said = r"Open https://play\.example or http://\[fd00::7\]:8080 in a browser "
        assert re.fullmatch(said + r"\(served at http://[\d.:]+\); ctrl\+c ends it\.\n", served.said)
        assert served.end(signal.SIGTERM) == (0, "")


def test_whoever_lets_others_in_is_told_how(capsys: pytest.CaptureFixture[str]) -> None:
    for names in (Names(HERE), Names(ANY, PUBLIC)):
        _say(names, 8000)
        assert capsys.readouterr().err == ""
    _say(Names(ANY), 8000)
    out, err = capsys.readouterr()
    assert out == "Open http://0.0.0.0:8000 in a browser; ctrl+c ends it.\n"
    assert "by this machine's address or a name that --public allows" in err
    assert err.count("\n") == 1
