"""What the server runs: requests wait here for their bodies, and a few threads answer them."""

import asyncio
import os
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from multiprocessing import parent_process
from threading import Thread
from typing import Any

from asgiref.wsgi import WsgiToAsgiInstance
from django.core.wsgi import get_wsgi_application

Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
AT_ONCE = 4  # requests that a worker answers at the same time
CHARSET = "utf-8"
BODY_S = 20.0  # until the whole of a form has to be there
MOST_DROPPED = (
    64_000_000  # of too large a file: a browser that still sends when it is answered shows no answer
)


def end_with_parent() -> None:
    """End this worker once the process that started it is gone: nobody could stop it any more."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kettlewell.settings")
django = get_wsgi_application()
Thread(target=end_with_parent, daemon=True).start()

from django.conf import settings  # noqa: E402 - there are none before
from django.core.exceptions import SuspiciousOperation  # noqa: E402
from django.core.handlers.wsgi import WSGIRequest  # noqa: E402
from django.utils.http import parse_header_parameters  # noqa: E402
from granian.utils.proxies import wrap_asgi_with_proxy_headers  # noqa: E402

from kettlewell.records.access_log import Event, tell  # noqa: E402
from kettlewell.web.entry.uploads import taken_by  # noqa: E402

large = asyncio.Semaphore(AT_ONCE)  # so many bodies with a file in them are held in memory while they come
at_work = ThreadPoolExecutor(max_workers=AT_ONCE)  # each keeps its connection to the database


class Answer(WsgiToAsgiInstance):
    """What Django answers to one request."""

    def __init__(self, scope: Message) -> None:
        """Keep what is asked."""
        super().__init__(django)  # type: ignore[no-untyped-call]
        self.scope = scope

    def body(self, sent: bytes) -> bytes:
        """Return the body of the answer; its status and headers stand in ``response_start`` then."""
        try:
            environ = self.environ(sent)
        except (ValueError, SuspiciousOperation):
            tell(Event.REFUSED, None, address=self.scope["client"][0], why="unreadable")
            self.response_start = {"type": "http.response.start", "status": 400, "headers": []}
            return b""
        response = django(environ, self.start_response)
        try:
            return b"".join(response)
        finally:
            response.close()

    def environ(self, sent: bytes) -> dict[str, Any]:
        """Return a request as Django takes it.

        Raises ValueError or SuspiciousOperation where its head cannot be read: Django would catch neither.
        """
        environ: dict[str, Any] = self.build_environ(self.scope, BytesIO(sent))  # type: ignore[no-untyped-call]
        _, told = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
        if told.get("charset", CHARSET).casefold() != CHARSET:
            raise ValueError(f"a request in {told['charset']}: our pages send {CHARSET}")
        WSGIRequest(dict(environ))  # which it would change
        return environ


async def body_of(scope: Message, receive: Receive) -> bytes:
    """Return the body of a request, or as much as Django takes: it refuses a longer one by its length.

    Raises TimeoutError where it does not come in time, ConnectionError where whoever asks has gone.
    """
    length = int(dict(scope["headers"]).get(b"content-length", 0))
    usual = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    taken = taken_by(scope["path"])
    async with asyncio.timeout(BODY_S):
        if length <= usual or taken is None:
            return await read(min(length, usual), receive)
        async with large:
            most = taken.most_body
            dropped = length - most if most < length <= MOST_DROPPED else 0
            return await read(min(length, most), receive, dropped=dropped)


async def read(length: int, receive: Receive, *, dropped: int = 0) -> bytes:
    """Return what comes of a body, until it has a length; what is ``dropped`` comes after it and is not kept.

    Raises ConnectionError as ``body_of`` does.
    """
    body, came = bytearray(), 0
    while came < length + dropped:
        message = await receive()
        if message["type"] != "http.request":
            raise ConnectionError
        came += len(message["body"])
        if len(body) < length:
            body += message["body"]
    return bytes(body)


async def answered(scope: Message, receive: Receive, send: Send) -> None:
    """Answer a request once its body is there: one that comes slowly takes nobody's turn."""
    answer = Answer(scope)
    try:
        sent = await body_of(scope, receive)
    except ConnectionError:
        return
    except TimeoutError:
        await send({"type": "http.response.start", "status": 408, "headers": [(b"connection", b"close")]})
        await send({"type": "http.response.body", "body": b""})
        return
    body = await asyncio.get_running_loop().run_in_executor(at_work, answer.body, sent)
    await send(answer.response_start)
    await send({"type": "http.response.body", "body": body})


# what a proxy says of the visitor, where it is one of ours
application = wrap_asgi_with_proxy_headers(answered, trusted_hosts=settings.PROXIES)
