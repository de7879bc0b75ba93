"""What the server runs."""

import os
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from io import BytesIO
from multiprocessing import parent_process
from threading import Thread
from typing import TYPE_CHECKING, Any

from django.core.wsgi import get_wsgi_application

if TYPE_CHECKING:
    from wsgiref.types import StartResponse, WSGIEnvironment

AT_ONCE = 4  # requests that a worker answers at the same time


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

at_work = ThreadPoolExecutor(max_workers=AT_ONCE)  # each keeps its connection to the database


def application(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
    """Answer a request once its body is there: one that comes slowly, or never, takes nobody's turn."""
    if length := int(environ.get("CONTENT_LENGTH") or 0):
        # Django refuses a longer one by its announced length, and needs no more of it
        most = min(length, settings.DATA_UPLOAD_MAX_MEMORY_SIZE)
        environ["wsgi.input"] = BytesIO(environ["wsgi.input"].read(most))
    begun: list[Any] = []
    begin: StartResponse = lambda *told: begun.extend(told)  # type: ignore[assignment]  # noqa: E731 - nothing more is written by hand
    response = at_work.submit(django, environ, begin).result()
    start_response(*begun)
    return response
