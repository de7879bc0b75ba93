"""What others wrote and we serve: each file is the one that the list names, with its licence."""

import csv
import re
from hashlib import sha256
from pathlib import Path

STATIC = Path(__file__).parents[2] / "src" / "kettlewell" / "web" / "static" / "web"
VENDOR = STATIC / "vendor"
LICENCE_TEXTS = {"0BSD": "htmx-LICENSE.txt", "OFL-1.1": "atkinson-hyperlegible-OFL.txt"}


def listed() -> dict[str, dict[str, str]]:
    with (VENDOR / "FILES.csv").open(encoding="utf-8", newline="") as lines:
        return {row["file"]: row for row in csv.DictReader(lines)}


def test_the_list_names_every_file_and_no_other():
    assert set(listed()) == {file.name for file in VENDOR.iterdir()} - {"FILES.csv"}


def test_every_file_is_the_one_that_was_listed():
    digests = {name: sha256((VENDOR / name).read_bytes()).hexdigest() for name in listed()}
    assert digests == {name: row["sha256"] for name, row in listed().items()}


def test_every_file_has_a_version_and_its_licence_lies_beside_it():
    for row in listed().values():
        assert re.fullmatch(r"\d+\.\d+\.\d+", row["version"]), row
        assert (VENDOR / LICENCE_TEXTS[row["licence"]]).is_file(), row


def test_the_style_sheet_asks_for_nothing_but_files_that_are_here():
    addresses = re.findall(r"url\(\"?([^\")]+)", (STATIC / "app.css").read_text(encoding="utf-8"))
    assert addresses
    assert [address for address in addresses if not (STATIC / address).is_file()] == []
