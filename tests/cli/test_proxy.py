"""A server behind a proxy that ends HTTPS: nginx, as run-the-server.md has it."""

import http.client
import os
import re
import shutil
import ssl
import subprocess
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from ports import free_port
from processes import serving, wait_for

HOWTO = Path(__file__).parents[2] / "docs" / "howto" / "run-the-server.md"
NGINX = shutil.which("nginx", path=os.pathsep.join([os.environ["PATH"], "/usr/sbin"]))
NAME = "kitchen.example"
VISITOR, FORGED = "127.0.0.2", "198.51.100.9"
AROUND = """
pid {folder}/nginx.pid;
error_log stderr;
{user}
events {{}}
http {{
    access_log off;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
    {server}
}}
"""
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(NGINX is None, reason="nginx is not installed: tests/programs.sh installs it"),
]


@contextmanager
def proxy_before(port, folder):
    """Run nginx with the configuration of the docs before a server's port; yield where it listens."""
    own, key, certificate = free_port(), folder / "kitchen-key.pem", folder / "kitchen.pem"
    names = ["-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}"]
    made = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", *names]
    subprocess.run([*made, "-keyout", key, "-out", certificate], check=True, capture_output=True)
    (server,) = re.findall(r"```nginx\n(.*?)```", HOWTO.read_text("utf-8"), re.DOTALL)
    for told, here in (
        ("listen 443 ssl", f"listen 127.0.0.1:{own} ssl"),
        ("127.0.0.1:8350", f"127.0.0.1:{port}"),
        ("/etc/ssl/kitchen.pem", str(certificate)),
        ("/etc/ssl/kitchen-key.pem", str(key)),
    ):
        assert told in server
        server = server.replace(told, here)
    user = "user root;" if os.geteuid() == 0 else ""
    (folder / "nginx.conf").write_text(AROUND.format(folder=folder, server=server, user=user), "utf-8")
    command = [NGINX, "-p", folder, "-c", folder / "nginx.conf", "-g", "daemon off;"]
    with (folder / "nginx.log").open("w") as said, subprocess.Popen(command, stderr=said) as nginx:
        try:
            trusting = ssl.create_default_context(cafile=certificate)
            assert wait_for(lambda: is_there(own, trusting)), (folder / "nginx.log").read_text("utf-8")
            yield own, trusting
        finally:
            nginx.terminate()


class ToName(http.client.HTTPSConnection):
    """A browser on another address that asks for the kitchen's name."""

    def connect(self):
        """Connect to this machine, and hold the certificate against the name."""
        http.client.HTTPConnection.connect(self)
        self.sock = self._context.wrap_socket(self.sock, server_hostname=NAME)


def through(listening, method, path, body=None, **headers):
    """Return what comes back through the proxy; what was said of others before goes along."""
    port, trusting = listening
    visitor = ToName("127.0.0.1", port, timeout=10, context=trusting, source_address=(VISITOR, 0))
    sent = {"Host": f"{NAME}:{port}", "X-Forwarded-For": FORGED, **headers}
    return answer_of(visitor, method, path, body, sent)


def straight(port, method, path, **headers):
    """Return what comes back from the server itself, asked by somebody who is no proxy of ours."""
    visitor = http.client.HTTPConnection("127.0.0.1", port, timeout=10, source_address=(VISITOR, 0))
    return answer_of(visitor, method, path, None, headers)


def answer_of(connection, method, path, body, headers):
    with closing(connection):
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        answer.page = answer.read()
        return answer


def is_there(port, trusting):
    try:
        return through((port, trusting), "GET", "/health/").status == 200
    except OSError:
        return False


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A server that trusts the proxy of this machine, and the proxy."""
    home, folder = tmp_path_factory.mktemp("served") / "home", tmp_path_factory.mktemp("nginx")
    port = free_port()
    with (
        serving(home, port, "--host", NAME, KETTLEWELL_PROXY="127.0.0.1"),
        proxy_before(port, folder) as listening,
    ):
        yield home, port, listening


def test_pages_and_cookies_are_as_https_asks(served):
    _home, _port, listening = served
    page = through(listening, "GET", "/set-up/")
    assert page.status == 200
    assert page.headers["Strict-Transport-Security"]
    cookies = page.headers.get_all("Set-Cookie")
    assert cookies
    assert all(cookie.startswith("__Host-") and "Secure" in cookie for cookie in cookies)


def test_head_is_answered_without_a_page(served):
    _home, _port, listening = served
    page, head = (through(listening, method, "/set-up/") for method in ("GET", "HEAD"))
    assert (head.status, head.page) == (200, b"")
    assert page.page


def test_a_form_sent_through_the_proxy_is_taken_for_ours(served):
    _home, _port, listening = served
    cookie = "__Host-csrftoken=" + "k" * 32
    body = "language=de&csrfmiddlewaretoken=" + "k" * 32
    form = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    ours, theirs = (
        through(listening, "POST", "/language/", body, **form, Origin=origin)
        for origin in (f"https://{NAME}:{listening[0]}", "https://elsewhere.example")
    )
    assert (ours.status, theirs.status) == (302, 403)


def test_a_visitor_is_known_by_the_address_the_proxy_saw(served):
    """And by none that the visitor claims, whether through the proxy or past it."""
    home, port, listening = served
    log = home / "log" / "kettlewell.log"
    log.unlink(missing_ok=True)
    wrong = {"Host": "elsewhere.example"}
    assert through(listening, "GET", "/", **wrong).status == 400
    assert straight(port, "GET", "/", **wrong, **{"X-Forwarded-For": FORGED}).status == 400
    assert re.findall(r"from=(\S+)", log.read_text("ascii")) == [VISITOR] * 2


def test_who_is_no_proxy_of_ours_cannot_claim_https(served):
    _home, port, _listening = served
    claimed = {"Host": NAME, "X-Forwarded-For": FORGED, "X-Forwarded-Proto": "https"}
    answer = straight(port, "GET", "/set-up/", **claimed)
    assert (answer.status, answer.headers["Location"]) == (301, f"https://{NAME}/set-up/")


def test_whoever_watches_is_not_led_to_https(served):
    _home, port, _listening = served
    assert straight(port, "GET", "/health/", Host=NAME).status == 200
