"""A server in processes of its own, for a test to stop or to kill."""

import http.client
import os
import signal
import subprocess
import sys
import time
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from moments import without_settings

MAIN = "from kettlewell.cli import main; main()"


def wait_for(found, seconds=60):
    """Ask until the answer is true, and return it."""
    for _ in range(seconds * 20):
        if answer := found():
            return answer
        time.sleep(0.05)
    return found()


def answers(port):
    """Tell whether a page comes."""
    with suppress(OSError, http.client.HTTPException):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        with closing(connection):
            connection.request("GET", "/sign-in/")
            return connection.getresponse().status in {200, 301, 302}
    return False


def workers_of(pid):
    """Return the processes that a server started."""
    listed = Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split()
    return {int(child) for child in listed}


def alive(pid):
    """Tell whether a process is there and no mere remnant."""
    try:
        return Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


@contextmanager
def serving(home, port, *words, python=sys.executable, **settings):
    """Run a server in a process group of its own; none of its processes outlives the test."""
    env = {**without_settings(os.environ), "KETTLEWELL_HOME": str(home), **settings}
    words = [python, "-c", MAIN, "serve", "--port", str(port), *words]
    quiet = subprocess.DEVNULL
    with subprocess.Popen(words, env=env, stdout=quiet, stderr=quiet, start_new_session=True) as server:
        try:
            assert wait_for(lambda: answers(port) and len(workers_of(server.pid)) == 2)
            yield server
        finally:
            with suppress(ProcessLookupError):
                os.killpg(server.pid, signal.SIGKILL)
