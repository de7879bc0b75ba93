"""Check the chain of an exported day book with nothing but Python, as docs/reference/day-book.md tells it.

python check_chain.py day-book.jsonl [HEAD ...]    exit code 1: something is not as it was written

HEADs are hashes that you noted when the book was shorter: each must still be the hash of an entry.
"""

import base64
import hashlib
import json
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any


def canonical(value: object) -> bytes:
    """Return the form of RFC 8785, for what holds only texts, truth values, nulls, lists and tables."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def broken(first: dict[str, Any], rest: list[dict[str, Any]]) -> Iterator[str]:
    """Yield where the entries are no chain that ends where the first line says."""
    previous = ""
    for place, line in enumerate(rest, 1):
        entry = line["entry"]
        if hashlib.sha256(canonical(entry)).hexdigest() != line["hash"]:
            yield f"entry {place} does not say what its hash was taken over"
        if (entry["previous"], entry["seq"], entry["kitchen"]) != (previous, str(place), first["kitchen"]):
            yield f"entry {place} does not belong after the one before"
        previous = line["hash"]
    if (first["seq"], first["head"]) != (str(len(rest)), previous):
        yield "the book does not end where its first line says"


def unsaid(rest: list[dict[str, Any]]) -> Iterator[str]:
    """Yield which names and notes are others than were written, or gone without an entry that says so."""
    erased = {key for line in rest for key in line["entry"]["payload"].get("entries", ())}
    for line in rest:
        entry, kept = line["entry"], line.get("private", {})
        for field, digest in entry["private"].items():
            told = kept.get(field)
            if told is None and entry["id"] not in erased:
                yield f"entry {entry['seq']}: its {field} is gone, and no entry says so"
            if told and hashlib.sha256(opened(told)).hexdigest() != digest:
                yield f"entry {entry['seq']}: its {field} is not what was written"


def opened(told: dict[str, str]) -> bytes:
    """Return what the digest of a name or note was taken over."""
    return bytes.fromhex(told["salt"]) + base64.b64decode(told["content"])


def faults(lines: Iterable[str], heads: Iterable[str] = ()) -> list[str]:
    """Return what is wrong with a day book."""
    first, *rest = map(json.loads, lines)
    lost = set(heads) - {line["hash"] for line in rest}
    return [*broken(first, rest), *unsaid(rest), *(f"no entry has the hash {head}" for head in sorted(lost))]


if __name__ == "__main__":
    book, *noted = sys.argv[1:]
    found = faults(Path(book).read_text("utf-8").removesuffix("\n").split("\n"), noted)
    print("\n".join(found) or "The chain is whole.")
    sys.exit(bool(found))
