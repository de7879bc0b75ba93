"""Forms filled in and sent as no browser would: drawn by a seeded generator."""

import json
from dataclasses import dataclass, field
from urllib.parse import urlencode

LONG = ("x" * 600, "9" * 400, "é" * 5000, "a." * 20_000)
TEXTS = ("", " ", "油", "=1+1", "../..", "F1", "f 1", "%", "%00", "{}", "[]", "true", "<b>", "on", "hand")
UNSEEN = ("\x00", "\x1b[2J", "\u202eF1", "a\r\nb", "\x7f", "\u2028", "\ufeff", "\ud800", "F1\udfff", "\uffff")
NUMBERS = (
    *("0", "-0", "-1", "1e308", "1e-308", "1e400", "-1e308", "nan", "NaN", "inf", "-Infinity", "sNaN"),
    *("12.5", "12,5", "1_000", "٣", "0x10", "1e", ".", "24", "65", "180", "0.000000001", "99999999999"),
)
TIMES = (
    *("0001-01-01T00:00", "9999-12-31T23:59", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"),
    *("0001-01-01", "9999-12-31", "2026-02-30T10:00", "2026-W01-1", "24:00", "00:00", "2026-11-15T25:61"),
    *("2026-10-25T01:30", "2026-03-29T02:30", "20261115T213000Z", "2026-11-15T21:30:00+00:00:00.000001"),
)
IDS = (
    "00000000-0000-0000-0000-000000000000",
    "ffffffff-ffff-ffff-ffff-ffffffffffff",
    "{0192F3A0-0000-7000-8000-000000000000}",
    "urn:uuid:0192f3a0-0000-7000-8000-000000000000",
    "0192f3a0000070008000000000000000",
    "0192f3a0-0000-7000-8000-00000000000",
)
SORTS = (LONG, TEXTS, TEXTS, UNSEEN, NUMBERS, NUMBERS, TIMES, TIMES, IDS)
NO_FIELDS = ("nothing", "next", "show", "skip", "sure", "entry_id", "phone_now", "language", "__proto__")
NO_FORMS = (
    ("application/json", b'{"tpc_pct": {"$gt": 0}, "fryer": ["F1"]}'),
    ("text/plain", b"tpc_pct=25"),
    ("", b"tpc_pct=25"),
    ("application/x-www-form-urlencoded", b"tpc_pct=%FF%FE&note=%&%=%zz&&==;;"),
    ("application/x-www-form-urlencoded; charset=utf-16", b"tpc_pct=25"),
    ("multipart/form-data", b"--b\r\n"),
    ("multipart/form-data; boundary=" + "b" * 300, b"--b\r\n"),
    ("multipart/form-data; boundary=\xff", b"--b\r\n"),
    ("multipart/form-data; boundary=b", b"--b\r\nContent-Disposition: form-data\r\n\r\nx\r\n--b--\r\n"),
    ("multipart/form-data; boundary=b", b"\x00" * 500),
)
KEY = "csrfmiddlewaretoken"  # goes in a header
CHARSETS = (*["utf-8"] * 12, "utf-7", "utf-16", "latin-1", "idna", "punycode", "zlib", "undefined")
QUERIES = (
    *("?next=%00", "?q=\xff", "?%00=%00", "?page=1e308&kind=%ED%A0%80", "?kitchen=%00&step=%00", "?%"),
    *("?" + "a=1&" * 250, "?without=" + "x" * 4000, "?set_temp_c=nan&load_kg=1e308&hot_h=-0", "?unsent"),
)
COOKIES = (
    "x",
    "sessionid=%00",
    "tablet=\x00",
    "tablet=a:b:c",
    "known=\xff",
    "django_language=\x00",
    "messages=x",
)
HEADERS = (
    *({"HX-Request": "true"}, {"HX-Request": "true", "HX-Current-URL": "http://[::1/\x00"}),
    *({"Referer": "http://[/"}, {"Accept-Language": "x" * 5000}, {"Accept-Language": "de;q=nan,\x00"}),
    *({"X-Forwarded-For": "\x00"}, {"Host": "localhost:x"}, {"HX-Current-URL-URI-AutoEncoded": "true"}),
)


@dataclass(frozen=True)
class Post:
    """What is sent to an address: content of a type, with a query, a further cookie and headers."""

    path: str
    content_type: str
    content: bytes
    cookie: str = ""
    headers: dict = field(default_factory=dict)


def odd_post(rng, path, sound):
    """Return a post to a path: the sound fields of its form, some of them odd, or no form at all."""
    if rng.random() < 0.07:
        content_type, content = rng.choice(NO_FORMS)
    else:
        content_type, content = form(rng, odd_fields(rng, sound))
    if rng.random() < 0.03:
        *parts, last = path.split("/")[1:]
        parts[rng.randrange(len(parts))] = odd_value(rng)
        path = "/".join(["", *parts, last])
    query = now_and_then(rng, QUERIES, "")
    path += query.replace("?", "&") if "?" in path else query
    return Post(path, content_type, content, now_and_then(rng, COOKIES, ""), now_and_then(rng, HEADERS, {}))


def now_and_then(rng, choices, usual):
    """Return one of the choices once in twelve times."""
    return rng.choice(choices) if rng.random() < 1 / 12 else usual


def odd_fields(rng, sound):
    """Return the pairs of a form, a few of them wrong, missing, doubled or unheard of."""
    pairs = [(name, value) for name, values in sound.items() for value in as_list(values) if name != KEY]
    for _ in range(rng.choice([0, 1, 1, 1, 2, 3, 6])):
        at = rng.randrange(len(pairs)) if pairs else None
        what = rng.choice(["wrong", "wrong", "wrong", "wrong", "missing", "doubled", "unheard"])
        if at is None or what == "unheard":
            pairs.append((rng.choice([*NO_FIELDS, odd_value(rng)]), odd_value(rng)))
        elif what == "wrong":
            pairs[at] = (pairs[at][0], odd_value(rng))
        elif what == "missing":
            del pairs[at]
        else:
            pairs.insert(rng.randrange(len(pairs)), (pairs[at][0], odd_value(rng)))
    return pairs


def as_list(values):
    return values if isinstance(values, list) else [values]


def odd_value(rng):
    return rng.choice(rng.choice(SORTS))


def form(rng, pairs):
    """Return the content type of a form and its content, one time in four as parts."""
    if rng.random() < 0.75:
        return "application/x-www-form-urlencoded", urlencode(pairs, errors="surrogatepass").encode()
    charset = rng.choice(CHARSETS)
    parts = "".join(
        f"--b\r\nContent-Disposition: form-data; name={json.dumps(name)}\r\n\r\n{value}\r\n"
        for name, value in pairs
    )
    return f"multipart/form-data; boundary=b; charset={charset}", f"{parts}--b--\r\n".encode(
        "utf-8", "surrogatepass"
    )
