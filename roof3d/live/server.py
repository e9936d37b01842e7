"""A server for one page, on the loopback address, behind a token that nobody can guess."""

from __future__ import annotations

import asyncio
import base64
import gzip
import hmac
import json
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

import tornado.httpserver
import tornado.iostream
import tornado.netutil
import tornado.web

from roof3d.errors import RoofError
from roof3d.live.parts import Part, Shows
from roof3d.live.watch import Built, Watched, build_house, build_more, files_of, stamp_of

HOST = "127.0.0.1"
_LOOK = 0.05
"""Seconds from one look at the files to the next."""
_KEPT_ALIVE = 15.0
_LARGEST_BODY = 1_000
"""Bytes: a body is taken in before the token is looked at, and none is needed."""


def new_token() -> str:
    """Return a token for one run of the server."""
    return secrets.token_urlsafe(24)


@dataclass(slots=True)
class Shown:
    """What is served now; ``changed`` wakes those who listen. Changes as the model does.

    Attributes
    ----------
    built : Built
        The last good state.
    wrong : str
        What is wrong with the model now, in words.
    shows : Shows
        What a reader looks at: as the page said last.
    """

    built: Built
    wrong: str = ""
    shows: Shows = field(default_factory=Shows)
    changed: asyncio.Condition = field(default_factory=asyncio.Condition)

    @property
    def fault(self) -> str:
        """What is wrong, in words; empty where nothing is."""
        return self.wrong or self.built.fault

    async def begin(self, built: Built) -> None:
        """Serve a new state from now on."""
        async with self.changed:
            self.built, self.wrong = built, ""
            self.changed.notify_all()

    async def refuse(self, wrong: str) -> None:
        """Say what is wrong with the model; what is served stays."""
        async with self.changed:
            self.wrong = wrong
            self.changed.notify_all()

    async def add(self, built: Built, before: Built) -> bool:
        """Serve a state with more of it made; False where another has taken its place by now."""
        async with self.changed:
            if self.built is not before:
                return False
            self.built = built
            self.changed.notify_all()
            return True


async def serve(
    watched: Watched,
    first: Built,
    *,
    port: int = 0,
    ready: Callable[[str], None] = lambda _: None,
    told: Callable[[str], None] = lambda _: None,
    stop: asyncio.Event | None = None,
) -> None:
    """Serve the page until ``stop`` is set.

    Parameters
    ----------
    watched : Watched
    first : Built
        The state to begin with.
    port : int
        0 for a free one.
    ready : callable of str
        Told the address once it listens.
    told : callable of str
        Told each fault, and each state that is made to its end, in words.
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
                (r"/shows", ShowsHandler, kept),
            ],
            default_handler_class=_Nowhere,
            log_function=lambda _: None,
        ),
        max_body_size=_LARGEST_BODY,
    )
    server.add_sockets(sockets)
    ready(f"http://{HOST}:{bound}/?token={watched.live.token}")
    tasks = {
        asyncio.create_task(_watch(watched, shown, told)),
        asyncio.create_task(_work(shown, told)),
        asyncio.create_task((stop or asyncio.Event()).wait()),
    }
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        for task in tasks:
            task.cancel()
        server.stop()
        await server.close_all_connections()


async def _watch(watched: Watched, shown: Shown, told: Callable[[str], None]) -> None:
    """Build the house anew at each change, whatever else is being made."""
    files = files_of(watched.model)
    before = shown.built.stamp
    while True:
        await asyncio.sleep(_LOOK)
        stamp = stamp_of(files)
        if stamp == before:
            continue
        await asyncio.sleep(_LOOK)
        if stamp_of(files) != stamp:
            continue  # it is still being written
        files = files_of(watched.model)
        before = stamp_of(files)
        try:
            number = shown.built.number + 1
            built = await asyncio.to_thread(build_house, watched, number, shown.shows)
        except RoofError as error:
            told(str(error))
            await shown.refuse(str(error))
        else:
            await shown.begin(built)


async def _work(shown: Shown, told: Callable[[str], None]) -> None:
    """Make part after part of the last good state; what is old by then is let go."""
    while True:
        before = shown.built
        if before.whole:
            async with shown.changed:
                if shown.built is before:
                    await shown.changed.wait()
            continue
        built = await asyncio.to_thread(build_more, before, shown.shows)
        if not await shown.add(built, before):
            continue
        if built.fault != before.fault:
            told(built.fault)
        if built.whole:
            told(f"Built anew ({built.number})")


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
        self.finish(self.shown.built.page())


class ShowsHandler(_Guarded):
    """Where the page says what its reader looks at."""

    def post(self) -> None:
        """Keep it: that is made first."""
        panel, place = (self.get_query_argument(name, "") for name in ("panel", "place"))
        self.shown.shows = Shows(panel, place)
        self.set_status(204)


class EventsHandler(_Guarded):
    """Server-sent events: ``news`` with a part of the page, ``fault`` with what is wrong."""

    async def get(self) -> None:
        """Tell all that the page does not have, and each change until the browser goes."""
        self.set_header("Content-Type", "text/event-stream")
        has = self.get_query_argument("has", "")
        number, told, fault = 0, 0, ""
        try:
            await self.flush()
            while True:
                now, wrong = self.shown.built, self.shown.fault
                parts = now.parts[told:]
                if now.number != number:
                    parts = (now.so_far(house=str(now.number) != has),)
                number, told = now.number, len(now.parts)
                for part in parts:
                    await self._tell("news", _news(part))
                if wrong != fault:
                    await self._tell("fault", wrong)
                    fault = wrong
                async with self.shown.changed:
                    if self.shown.built is not now or self.shown.fault != wrong:
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


def _news(part: Part) -> str:
    """Write a part as the page reads it; see ``News`` in ``frontend/src/live.ts``."""
    joints = [
        {"id": joint.id, "entry": joint.entry, "meshes": _packed(joint.meshes)}
        for joint in part.joints
    ]
    news = {"facts": part.facts, "house": _packed(part.house), "joints": joints}
    return json.dumps(news, separators=(",", ":"), allow_nan=False)


def _packed(data: bytes) -> str:
    """Return gzip in base64, quickly made: it does not go far."""
    return base64.b64encode(gzip.compress(data, 1, mtime=0)).decode("ascii") if data else ""
