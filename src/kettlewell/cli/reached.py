"""Where the server is reached, from this machine and by phones; nobody outside is asked."""

import os
import socket
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

from kettlewell.cli.screen import Line
from kettlewell.marks.qr import qr_rows
from kettlewell.telling import N_, Reader

HERE = "127.0.0.1"
EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104 - compared with, not listened at
OWN = ("localhost", HERE, "::1")
TOLD = "KETTLEWELL_PHONES_AT"
DISCARD = 9
NOBODYS = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))  # kept for documentation
CONTAINERS = (Path("/.dockerenv"), Path("/run/.containerenv"))

SERVED = N_("Kettlewell is at {address}")
UNTIL = N_("Open it in a browser. Ctrl-C stops it; the day book stays.")
BY_CAMERA = N_("Phones on the same network open it by this code:")
HERE_ALONE = N_("Phones cannot reach it: it listens to this machine alone. To let them: --address 0.0.0.0")
NO_NETWORK = N_("No network was found. Name the address that phones reach this machine by: --host ADDRESS")
IN_CONTAINER = N_("It runs in a container. Name the address that phones reach its machine by: --host ADDRESS")
BEHIND_PROXY = N_("It stands behind a proxy. Name the address that phones reach that by: --host ADDRESS")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Under which ``hosts`` the server answers, its address here, and that for ``phones``.

    Where phones have none, ``why`` says so and what to do.
    """

    hosts: tuple[str, ...]
    here: str
    phones: str | None
    why: str = ""


def reach_of(address: str, port: int, names: Sequence[str], *, encrypted: bool) -> Reach:
    """Return where a server is reached that listens at an address and goes by these names."""
    proxied = bool(os.environ.get("KETTLEWELL_PROXY", "").strip())
    own, known = own_address(address), next(filter(is_whole, names), None)
    outer = known if proxied or (known and address not in OWN) else own
    speaks, ends = ("https", "") if proxied else ("https" if encrypted else "http", f":{port}")
    return Reach(
        hosts=tuple(dict.fromkeys(bracketed(each) for each in (*names, own, *OWN) if each)),
        here=f"{'https' if encrypted else 'http'}://{bracketed(own or HERE)}:{port}/",
        phones=f"{speaks}://{bracketed(outer)}{ends}/" if outer else None,
        why="" if outer else why_not(address, proxied=proxied),
    )


def names_set() -> list[str]:
    """Return the names that the setting gives the server."""
    return [each.strip() for each in os.environ.get("KETTLEWELL_HOSTS", "").split(",") if each.strip()]


def is_whole(name: str) -> bool:
    """Tell whether a name is one that phones could ask for, and neither a pattern nor this machine alone."""
    return name not in (*OWN, "[::1]") and name[0] not in ".*"


def own_address(address: str) -> str | None:
    """Return the address of this machine at which others reach what listens; None where there is none."""
    if address in EVERYWHERE:
        return None if in_container() else network_address()
    return None if address in OWN else address


def why_not(address: str, *, proxied: bool) -> str:
    """Return why phones have no address, and what to do."""
    if proxied:
        return BEHIND_PROXY
    if address not in EVERYWHERE:
        return HERE_ALONE
    return IN_CONTAINER if in_container() else NO_NETWORK


def network_address() -> str | None:
    """Return this machine's own address on its network; None where it has none.

    Nothing is sent: a socket of datagrams only looks up from where it would send.
    """
    for family, nobodys in NOBODYS:
        with suppress(OSError), closing(socket.socket(family, socket.SOCK_DGRAM)) as asked:
            asked.connect((nobodys, DISCARD))
            own = str(asked.getsockname()[0])
            if not ip_address(own).is_loopback:
                return own
    return None


def in_container() -> bool:
    """Tell whether this is a container, whose own address nobody outside reaches."""
    return any(mark.exists() for mark in CONTAINERS)


def bracketed(host: str) -> str:
    """Return a host as it stands in an address."""
    return f"[{host}]" if ":" in host and not host.startswith("[") else host


def told(reach: Reach, reader: Reader, *, picture: bool) -> Iterator[Line]:
    """Yield where to open the program; with the code for phones where a picture can be shown."""
    yield Line(text=reader.say(SERVED, address=reach.phones or reach.here))
    yield Line(text=reader.say(UNTIL))
    if reach.phones is None:
        yield Line(text=reader.say(reach.why))
    elif picture:
        yield Line(text=reader.say(BY_CAMERA))
        for row in qr_rows(reach.phones):
            yield Line(text=row, picture=True)
