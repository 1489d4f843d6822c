"""The terminal in a browser on this machine: loopback only, a key that works once, no outside host asked."""

from __future__ import annotations

import asyncio
import json
import logging
import os
import secrets
import sys
from asyncio.subprocess import PIPE, Process
from collections.abc import Awaitable, Callable, Sequence
from contextlib import suppress
from hmac import compare_digest

from aiohttp import WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.server import Server, to_int

from mobicard.paper.templates import folder

HOST = "127.0.0.1"
LARGEST = (400, 150)
"""Columns and rows at most: four times a large screen's; a window of millions would take all memory."""
MOST_BYTES = 2**16
"""Of one message from the browser: a keystroke, a size, a pasted note."""
END_S = 5.0
"""Seconds for a window's terminal to end by itself."""
_COOKIE = "mobicard_key"
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Window(AppService):
    """One browser window's terminal: a process of its own, that ends with the window and with the server."""

    def __init__(self, words: Sequence[str], socket: web.WebSocketResponse, server: Server) -> None:
        async def close() -> None:
            await socket.close()

        super().__init__(
            "mobicard",
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=close,
            download_manager=server.download_manager,
        )
        self._words = words

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        width, height = fitted(width, height)
        env = self._build_environment(width, height)
        self._process = process = await asyncio.create_subprocess_exec(
            *self._words, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=env
        )
        self._stdin = process.stdin
        return process

    async def set_terminal_size(self, width: int, height: int) -> None:
        await super().set_terminal_size(*fitted(width, height))

    async def stop(self) -> None:
        """Ask the terminal to end, and end it if it does not."""
        with suppress(asyncio.TimeoutError, ConnectionError):
            await asyncio.wait_for(super().stop(), END_S)
        if self._process is not None and self._process.returncode is None:
            with suppress(ProcessLookupError):
                self._process.kill()
            await self._process.wait()


def fitted(width: object, height: object) -> tuple[int, int]:
    """A window's size within sense; what is none is 80 by 24."""
    if type(width) is not int or type(height) is not int:
        return 80, 24
    return min(max(width, 1), LARGEST[0]), min(max(height, 1), LARGEST[1])


class LoopbackServer(Server):
    """Textual's server, held to this machine: the browser must come by the address that was printed.

    A page of another site cannot reach it (Host and Origin are checked), nor can another user of the machine
    without the key in the address. It works once: it becomes a cookie that scripts cannot read, of another
    secret than the key, which may lie in a history by then.
    """

    def __init__(self, words: Sequence[str], port: int) -> None:
        super().__init__(
            "mobicard", host=HOST, port=port, title="mobicard", templates_path=folder() / "browser"
        )
        self.words = words
        self.key: str | None = secrets.token_urlsafe(24)
        self._cookie = secrets.token_urlsafe(24)
        self._windows: set[Window] = set()

    @property
    def address(self) -> str:
        """The address to open, with its key."""
        return f"{self.public_url}/?key={self.key}"

    def initialize_logging(self) -> None:
        """Faults alone, without the addresses that were asked for: the first has the key in it."""
        logging.basicConfig(level=logging.WARNING, format="%(message)s")
        logging.getLogger("aiohttp.access").disabled = True

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()

        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            return await self._guard(request, handler)

        app.middlewares.append(guard)
        return app

    async def on_startup(self, app: web.Application) -> None:
        self.console.print(
            f"mobicard is open at\n\n  {self.address}\n\non this machine only; the address works once. "
            "Ctrl+C ends it.",
            markup=False,
        )

    async def on_shutdown(self, app: web.Application) -> None:
        """No terminal outlives its server."""
        await asyncio.gather(*(one.stop() for one in list(self._windows)), return_exceptions=True)

    async def _guard(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        """Let through only what comes from this machine's own page; the key is taken once, for a cookie."""
        origin = request.headers.get("Origin", self.public_url)
        if request.host != f"{HOST}:{self.port}" or origin != self.public_url:
            raise web.HTTPForbidden(text="This page is for this machine only.")
        if compare_digest(request.cookies.get(_COOKIE, "").encode(), self._cookie.encode()):
            return await handler(request)
        given = request.query.get("key", "")
        if self.key is None or request.path != "/" or not compare_digest(given.encode(), self.key.encode()):
            raise web.HTTPForbidden(
                text="Open mobicard by the address that was printed when it started; it works once."
            )
        self.key = None
        answer = web.Response(status=303, headers={"Location": "/", "Referrer-Policy": "no-referrer"})
        answer.set_cookie(_COOKIE, self._cookie, httponly=True, samesite="Strict")
        return answer

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """One window: its terminal begins and ends with it."""
        socket = web.WebSocketResponse(heartbeat=15, max_msg_size=MOST_BYTES)
        await socket.prepare(request)
        window = Window(self.words, socket, self)
        self._windows.add(window)
        try:
            await window.start(*(to_int(request.query.get(name, ""), 0) for name in ("width", "height")))
            async for message in socket:
                if message.type == WSMsgType.TEXT:
                    await _take(message.data, window, socket)
        finally:
            await window.stop()
            self._windows.discard(window)
        return socket


async def _take(text: str, window: Window, socket: web.WebSocketResponse) -> None:
    """One message of the page; what is none is passed over."""
    match _parsed(text):
        case ["stdin", str(typed)]:
            await window.send_bytes(typed.encode("utf-8", "replace"))
        case ["resize", {"width": width, "height": height}]:
            await window.set_terminal_size(width, height)
        case ["ping", said]:
            await socket.send_json(["pong", said])
        case ["blur", *_]:
            await window.blur()
        case ["focus", *_]:
            await window.focus()


def _parsed(text: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def serve(port: int = 8642, arguments: Sequence[str] = (), ledger: str | None = None) -> None:
    """Serve ``mobicard ARGUMENTS`` to a browser on this machine. Raises OSError when the port is taken.

    The ledger's address, which may have a password in it, goes by the environment: others see what a program
    was started with.
    """
    if ledger is not None:
        from mobicard.ledger.database.engine import ENV

        os.environ[ENV] = ledger
    LoopbackServer([sys.executable, "-m", "mobicard", *arguments], port).serve()
