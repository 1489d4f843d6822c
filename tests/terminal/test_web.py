"""The browser view keeps to this machine: the printed address alone opens it, no outside host is asked."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import aiohttp
import pytest
from aiohttp.test_utils import TestClient, TestServer

from mobicard.paper.templates import folder
from mobicard.terminal.at_station.web import HOST, LoopbackServer


@pytest.fixture
async def browser(unused_tcp_port: int):
    """A client that speaks to the server as a browser would, with no cookie yet."""
    server = LoopbackServer(["true"], unused_tcp_port)
    app = await server._make_app()
    async with TestClient(TestServer(app, host=HOST, port=unused_tcp_port)) as client:
        yield server, client


async def test_the_printed_address_opens_it_and_sets_the_key(browser):
    """With the key the page comes, and a cookie that scripts cannot read; then the files come too."""
    server, client = browser
    key = server.key
    answer = await client.get(f"/?key={key}", allow_redirects=False)
    assert "HttpOnly" in answer.headers["Set-Cookie"]
    assert "SameSite=Strict" in answer.headers["Set-Cookie"]
    assert key not in answer.headers["Set-Cookie"], "the key may lie in a history by then"
    page = await client.get(answer.headers["Location"])
    assert (page.status, str(page.url)) == (200, f"{server.public_url}/"), "nor does it stay in the address"
    assert (await client.get("/static/js/textual.js")).status == 200


async def test_the_key_works_once(browser):
    """Whoever reads it in a log or over a shoulder comes too late."""
    server, client = browser
    address = f"/?key={server.key}"
    await client.get(address)
    client.session.cookie_jar.clear()
    assert (await client.get(address)).status == 403


@pytest.mark.parametrize(
    "path", ["/", "/?key=wrong", "/?key=%C3%A4", "/ws", "/static/js/textual.js", "/download/x"]
)
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


async def test_a_window_of_millions_is_held_to_a_screen(unused_tcp_port, tmp_path):
    """By its first size, by a later one, and by what is no size at all."""
    told = tmp_path / "told"
    server = LoopbackServer([sys.executable, "-c", ECHO, str(told)], unused_tcp_port)
    app = await server._make_app()
    async with TestClient(TestServer(app, host=HOST, port=unused_tcp_port)) as client:
        await client.get(f"/?key={server.key}")
        async with client.ws_connect("/ws?width=900000&height=1000000") as window:
            for size in ({"width": 10**9, "height": 1}, {"width": "x", "height": None}, {"height": 3}):
                await window.send_json(["resize", size])
            for odd in ("no json", "[" * 5000, '["stdin"]', "7", "{}"):
                await window.send_str(odd)
            await window.send_json(["ping", 1])
            while (await window.receive()).data != '["pong", 1]':
                pass
        lines = await told_lines(told)
    assert lines[0] == "400 150"
    assert re.findall(r'"width": (\d+), "height": (\d+)', lines[-1]) == [("400", "1"), ("80", "24")]


async def told_lines(told):
    """What the process behind the window wrote, once it has ended."""
    for _ in range(300):
        if told.exists() and len(lines := told.read_text().splitlines()) == 2:
            return lines
        await asyncio.sleep(0.05)
    pytest.fail("the process behind the window did not end")


ECHO = """
import os, sys
with open(sys.argv[1], "w") as told:
    print(os.environ["COLUMNS"], os.environ["ROWS"], file=told, flush=True)
    os.write(1, b"__GANGLION__\\n")
    said = b""
    while b"quit" not in said and (more := os.read(0, 4096)):
        said += more
    print(repr(said), file=told)
"""


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL])
async def test_no_key_or_password_is_seen_and_no_terminal_outlives_the_server(tmp_path, unused_tcp_port, how):
    """In what it writes, in what the terminal was started with; however the server ends."""
    where = str(tmp_path / "unit.sqlite")
    subprocess.run([sys.executable, "-m", "mobicard", "--ledger", where, "ledger", "new"], check=True)
    server = subprocess.Popen(
        [sys.executable, "-m", "mobicard", "--ledger", where, "web", "--port", str(unused_tcp_port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    said = b""
    while b"works once" not in said:
        said += server.stdout.readline()
    key = re.search(rb"key=(\S+)", said)[1].decode()
    async with aiohttp.ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True)) as client:
        for _ in range(100):
            with suppress(aiohttp.ClientConnectorError):
                await client.get(f"http://{HOST}:{unused_tcp_port}/?key={key}")
                break
            await asyncio.sleep(0.1)
        async with client.ws_connect(f"http://{HOST}:{unused_tcp_port}/ws?width=80&height=24") as window:
            await window.receive(timeout=60)
            (child,) = children(server.pid)
            words = Path(f"/proc/{child}/cmdline").read_bytes().decode()
            assert where not in words, "an address there may have a password in it"
            server.send_signal(how)
            server.wait(timeout=30)
    for _ in range(300):
        if not Path(f"/proc/{child}").exists() or "zombie" in Path(f"/proc/{child}/status").read_text():
            break
        await asyncio.sleep(0.1)
    else:
        pytest.fail("the terminal outlived its server")
    assert key.encode() not in server.stdout.read()
    server.stdout.close()


def children(pid):
    ran = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False)
    return [int(word) for word in ran.stdout.split()]
