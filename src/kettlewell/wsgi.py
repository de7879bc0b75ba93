"""What the server runs."""

import os
from multiprocessing import parent_process
from threading import Thread

from django.core.wsgi import get_wsgi_application


def end_with_parent() -> None:
    """End this worker once the process that started it is gone: nobody could stop it any more."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kettlewell.settings")
application = get_wsgi_application()
Thread(target=end_with_parent, daemon=True).start()
