"""The server's settings as the tests run it: in a home of its own for each process, gone at the end."""

import atexit
import os
import shutil
import tempfile

os.environ["KETTLEWELL_HOME"] = tempfile.mkdtemp(prefix="kettlewell-")
atexit.register(shutil.rmtree, os.environ["KETTLEWELL_HOME"], ignore_errors=True)

from kettlewell.settings import *  # noqa: E402, F403 - the home has to be there first
from kettlewell.settings import DATABASES, HOME, MIDDLEWARE, STATIC_ROOT, STORAGES  # noqa: E402

STATIC_ROOT.mkdir()  # WhiteNoise warns of a folder that is not there
# Names with a digest need collectstatic: the browser's tests collect, the others read pages only.
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
# Tests look for what a page says, with plain spaces; those of units and of the browser see the others.
PLAIN_SPACES = "kettlewell.web.account.middleware.numbers_with_units"
MIDDLEWARE = [name for name in MIDDLEWARE if name != PLAIN_SPACES]
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A day book in memory has no write-ahead log: these tests keep it in a file, as a kitchen does.
    DATABASES["default"]["TEST"] = {"NAME": str(HOME / "test.sqlite3")}
