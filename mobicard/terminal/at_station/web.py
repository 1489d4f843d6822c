"""The terminal in a browser on this machine: loopback only, one key a start, no outside host asked."""

from __future__ import annotations

import secrets
import shlex
import sys
from collections.abc import Awaitable, Callable, Sequence
from hmac import compare_digest

from aiohttp import web
from textual_serve.server import Server

from mobicard.paper.templates import folder

HOST = "127.0.0.1"
_COOKIE = "mobicard_key"
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class LoopbackServer(Server):
    """Textual's server, held to this machine: the browser must come by the address that was printed.

    A page of another site cannot reach it (Host and Origin are checked), nor can another user of the machine
    without the key in the address, which becomes a cookie that scripts cannot read.
    """

    def __init__(self, command: str, port: int) -> None:
        super().__init__(command, host=HOST, port=port, title="mobicard", templates_path=folder() / "browser")
        self.key = secrets.token_urlsafe(24)

    @property
    def address(self) -> str:
        """The address to open, with its key."""
        return f"{self.public_url}/?key={self.key}"

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()

        @web.middleware
        async def guard(request: web.Request, handler: Handler) -> web.StreamResponse:
            return await self._guard(request, handler)

        app.middlewares.append(guard)
        return app

    async def on_startup(self, app: web.Application) -> None:
        self.console.print(
            f"mobicard is open at\n\n  {self.address}\n\non this machine only. Ctrl+C ends it.", markup=False
        )

    async def _guard(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        """Let through only what comes from this machine's own page with the key."""
        origin = request.headers.get("Origin", self.public_url)
        if request.host != f"{HOST}:{self.port}" or origin != self.public_url:
            raise web.HTTPForbidden(text="This page is for this machine only.")
        given = request.query.get("key", "")
        fresh = request.path == "/" and compare_digest(given, self.key)
        if not fresh and not compare_digest(request.cookies.get(_COOKIE, ""), self.key):
            raise web.HTTPForbidden(text="Open mobicard by the address that was printed when it started.")
        answer = await handler(request)
        if fresh:
            answer.set_cookie(_COOKIE, self.key, httponly=True, samesite="Strict")
        return answer


def serve(port: int = 8642, arguments: Sequence[str] = ()) -> None:
    """Serve ``mobicard ARGUMENTS`` to a browser on this machine. Raises OSError when the port is taken."""
    command = shlex.join([sys.executable, "-m", "mobicard", *arguments])
    LoopbackServer(command, port).serve()
