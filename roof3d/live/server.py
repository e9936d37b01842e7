"""A server for one page, on the loopback address, behind a token that nobody can guess."""

from __future__ import annotations

import asyncio
import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

import tornado.httpserver
import tornado.iostream
import tornado.netutil
import tornado.web

from roof3d.live.watch import Built, Watched, rebuild, stamp_of

HOST = "127.0.0.1"
_LOOK = 0.2
"""Seconds from one look at the files to the next."""
_KEPT_ALIVE = 15.0


def new_token() -> str:
    """Return a token for one run of the server."""
    return secrets.token_urlsafe(24)


@dataclass(slots=True)
class Shown:
    """What is served now; ``changed`` wakes those who listen. Changes as the model does."""

    built: Built
    changed: asyncio.Condition = field(default_factory=asyncio.Condition)


async def serve(
    watched: Watched,
    first: Built,
    *,
    port: int = 0,
    ready: Callable[[str], None] = lambda _: None,
    told: Callable[[Built], None] = lambda _: None,
    stop: asyncio.Event | None = None,
) -> None:
    """Serve the page until ``stop`` is set.

    Parameters
    ----------
    watched : Watched
    first : Built
        The page to begin with.
    port : int
        0 for a free one.
    ready : callable of str
        Told the address once it listens.
    told : callable of Built
        Told each new state.
    stop : asyncio.Event or None
        None to serve until cancelled.

    Raises
    ------
    OSError
        Where the port is taken.
    """
    shown = Shown(first)
    sockets = tornado.netutil.bind_sockets(port, HOST)
    bound = sockets[0].getsockname()[1]
    hosts = {f"{HOST}:{bound}", f"localhost:{bound}"}
    kept = {"shown": shown, "token": watched.live.token, "hosts": hosts}
    server = tornado.httpserver.HTTPServer(
        tornado.web.Application(
            [
                (r"/", PageHandler, kept),
                (r"/events", EventsHandler, kept),
            ],
            default_handler_class=_Nowhere,
            log_function=lambda _: None,
        )
    )
    server.add_sockets(sockets)
    ready(f"http://{HOST}:{bound}/?token={watched.live.token}")
    watcher = asyncio.create_task(_watch(watched, shown, told))
    stopped = asyncio.create_task((stop or asyncio.Event()).wait())
    try:
        done, _ = await asyncio.wait({watcher, stopped}, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        for task in (watcher, stopped):
            task.cancel()
        server.stop()
        await server.close_all_connections()


async def _watch(watched: Watched, shown: Shown, told: Callable[[Built], None]) -> None:
    while True:
        await asyncio.sleep(_LOOK)
        if stamp_of(watched.model) == shown.built.stamp:
            continue
        states = rebuild(watched, shown.built)
        while (built := await asyncio.to_thread(next, states, None)) is not None:
            told(built)
            async with shown.changed:
                shown.built = built
                shown.changed.notify_all()
            if stamp_of(watched.model) != built.stamp:
                break  # saved again meanwhile: what is left of this state would be old


class _Nameless(tornado.web.RequestHandler):
    """Says nothing of what it is made with, whatever it answers."""

    def set_default_headers(self) -> None:
        self.clear_header("Server")


class _Nowhere(_Nameless):
    """What is not there."""

    def prepare(self) -> None:
        raise tornado.web.HTTPError(404)


class _Guarded(_Nameless):
    """Answers this machine's own browser, with the right token, and nobody else."""

    def initialize(self, shown: Shown, token: str, hosts: set[str]) -> None:
        self.shown, self.token, self.hosts = shown, token, hosts

    def prepare(self) -> None:
        # Another site's page may point a name of its own at this machine: its Host tells it.
        if self.request.host not in self.hosts:
            raise tornado.web.HTTPError(403)
        given = self.get_query_argument("token", "")
        if not hmac.compare_digest(given.encode(), self.token.encode()):
            raise tornado.web.HTTPError(403)
        self.set_header("Cache-Control", "no-store")
        self.set_header("X-Content-Type-Options", "nosniff")
        self.set_header("Referrer-Policy", "no-referrer")


class PageHandler(_Guarded):
    """The page."""

    def get(self) -> None:
        """Send the last good page."""
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(self.shown.built.page)


class EventsHandler(_Guarded):
    """Server-sent events: ``house``, ``whole``, ``fault`` with what is wrong, ``mended``."""

    async def get(self) -> None:
        """Tell each change until the browser goes, first those since its page was made."""
        self.set_header("Content-Type", "text/event-stream")
        has = self.get_query_argument("has", "")
        fault = ""
        try:
            await self.flush()
            while True:
                now = self.shown.built
                state = now.state
                if now.fault:
                    if now.fault != fault:
                        await self._tell("fault", now.fault)
                elif state != has:
                    await self._tell("whole" if now.whole else "house", str(now.number))
                    has = state
                elif fault:
                    await self._tell("mended", "")
                fault = now.fault
                async with self.shown.changed:
                    if self.shown.built is not now:
                        continue
                    try:
                        await asyncio.wait_for(self.shown.changed.wait(), _KEPT_ALIVE)
                    except TimeoutError:
                        self.write(": still here\n\n")
                        await self.flush()
        except (tornado.iostream.StreamClosedError, asyncio.CancelledError):
            return

    async def _tell(self, event: str, text: str) -> None:
        lines = "".join(f"data: {line}\n" for line in text.splitlines() or [""])
        self.write(f"event: {event}\n{lines}\n")
        await self.flush()
