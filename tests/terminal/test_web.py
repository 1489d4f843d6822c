"""The browser view keeps to this machine: the printed address alone opens it, no outside host is asked."""

from __future__ import annotations

import re

import pytest
from aiohttp.test_utils import TestClient, TestServer

from mobicard.paper.templates import folder
from mobicard.terminal.at_station.web import HOST, LoopbackServer


@pytest.fixture
async def browser(unused_tcp_port: int):
    """A client that speaks to the server as a browser would, with no cookie yet."""
    server = LoopbackServer("true", unused_tcp_port)
    app = await server._make_app()
    async with TestClient(TestServer(app, host=HOST, port=unused_tcp_port)) as client:
        yield server, client


async def test_the_printed_address_opens_it_and_sets_the_key(browser):
    """With the key the page comes, and a cookie that scripts cannot read; then the files come too."""
    server, client = browser
    answer = await client.get(f"/?key={server.key}")
    assert answer.status == 200
    assert "HttpOnly" in answer.headers["Set-Cookie"]
    assert "SameSite=Strict" in answer.headers["Set-Cookie"]
    assert (await client.get("/static/js/textual.js")).status == 200


@pytest.mark.parametrize("path", ["/", "/?key=wrong", "/ws", "/static/js/textual.js", "/download/x"])
async def test_without_the_key_nothing_is_served(browser, path):
    """Another user of the machine, without the key, gets nothing."""
    _, client = browser
    assert (await client.get(path)).status == 403


@pytest.mark.parametrize("headers", [{"Host": "ward.example"}, {"Origin": "http://ward.example"}])
async def test_another_sites_page_is_turned_away_even_with_the_key(browser, headers):
    """A page of another site (by name rebinding or by its Origin) is refused, key or not."""
    server, client = browser
    assert (await client.get(f"/?key={server.key}", headers=headers)).status == 403


def test_the_page_names_no_outside_host():
    """The page asks only the address it came from."""
    text = (folder() / "browser" / "app_index.html").read_text(encoding="utf-8")
    assert re.findall(r"https?://[^\"' ]+", text) == []
