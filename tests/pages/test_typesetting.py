"""A sheet as an archival, tagged PDF, read with a reader of PDF that knows nothing of who made it.

What is asked of PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1) here is what can be told from the file,
from memory of both: these are our checks, and no certificate.
"""

import io
from datetime import date
from itertools import pairwise

import pikepdf
import pytest

from kettlewell.pages.blocks import Facts, Heading, Picture, Pocket, Sheet, Table, Text
from kettlewell.pages.typesetting import printable, typeset

LINE = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 3'><path d='M0 0L9 3' stroke='black'/></svg>"
BLOCKS = (
    Heading(text="Records"),
    Text(text="One thing is open.", weight="framed"),
    Facts(rows=[("Kitchen", "Harbour")]),
    Heading(text="Readings"),
    Heading(text="Fish", level=2),
    Table(
        columns=["When", "Read"], rows=[["Monday", "21 %"]] * 90, widths=[2, 1], empty="None.", amounts=[1]
    ),
    Picture(svg=LINE, alt="A line falls."),
    Table(columns=["When"], rows=[], widths=[1], empty="None."),
)


def sheet(*blocks, language="en", title="Records of frying oil", **more):
    told = {"dated": date(2026, 11, 30), "head": "Harbour", "foot": "Entry 9", "contents": "In this book"}
    return Sheet(title=title, language=language, blocks=blocks or BLOCKS, **(told | more))


@pytest.fixture(scope="module")
def pdf():
    with pikepdf.open(io.BytesIO(typeset(sheet()))) as opened:
        yield opened


def elements(node):
    """Yield the elements of a structure tree, from the top."""
    for kid in node.get("/K", []) if isinstance(node.get("/K"), pikepdf.Array) else [node.get("/K")]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from elements(kid)


def kinds(pdf):
    return [str(each.S) for each in elements(pdf.Root.StructTreeRoot)]


def test_the_same_sheet_gives_the_same_bytes():
    assert typeset(sheet()) == typeset(sheet())


def test_it_says_what_it_is_of(pdf):
    with pdf.open_metadata() as about:
        assert (about["pdfaid:part"], about["pdfaid:conformance"]) == ("2", "A")
        assert about["pdfuaid:part"] == "1"
        assert about["dc:title"] == "Records of frying oil"
    assert pdf.Root.ViewerPreferences.DisplayDocTitle
    assert pdf.Root.MarkInfo.Marked
    assert str(pdf.Root.Lang) == "en"
    assert not pdf.is_encrypted
    assert [str(each.S) for each in pdf.Root.OutputIntents] == ["/GTS_PDFA1"]
    assert "/ID" in pdf.trailer


def test_its_parts_are_tagged_and_no_level_of_heading_is_left_out(pdf):
    found = kinds(pdf)
    assert {"/Table", "/TR", "/TH", "/TD", "/Figure", "/P", "/H1", "/H2"} <= set(found)
    levels = [int(kind[2:]) for kind in found if kind[1] == "H" and kind[2:].isdigit()]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_a_picture_has_its_sentence(pdf):
    figures = [each for each in elements(pdf.Root.StructTreeRoot) if each.S == "/Figure"]
    assert [str(each.Alt) for each in figures] == ["A line falls."]


def test_every_page_reads_in_the_order_of_its_tags_and_has_its_fonts(pdf):
    for page in pdf.pages:
        assert page.obj.Tabs == "/S"
        for font in page.obj.Resources.get("/Font", {}).values():
            [inner] = font.DescendantFonts
            assert "/ToUnicode" in font
            assert any(key in inner.FontDescriptor for key in ("/FontFile2", "/FontFile3"))


def test_nothing_in_it_can_be_run(pdf):
    assert not {"/JavaScript", "/Launch", "/EmbeddedFiles"} & {
        str(key) for each in pdf.objects if isinstance(each, pikepdf.Dictionary) for key in each
    }
    assert "/OpenAction" not in pdf.Root


def test_its_headings_are_bookmarks(pdf):
    with pdf.open_outline() as outline:
        assert [part.title for part in outline.root] == ["Records", "Readings"]
        assert [part.title for part in outline.root[1].children] == ["Fish"]


@pytest.mark.parametrize(
    "said", ["#panic[]", "$x$", "*b*", "@ref", "</script>", '"}', "\\", "= h", "#import 'x'", "//", "`raw`"]
)
def test_what_people_write_is_no_part_of_the_template(said):
    plain, told = (
        len(pikepdf.open(io.BytesIO(typeset(sheet(Text(text=text))))).pages) for text in ("x", said)
    )
    assert told == plain


@pytest.mark.parametrize("said", ["🧅", "مطبخ", "厨房", "\x00\x1b[2J", "a\u202eb", "\U0001d6fc"])
def test_a_sign_that_cannot_be_printed_stands_as_a_question_mark(said):
    assert typeset(sheet(Text(text=said), Heading(text=said), title=said)).startswith(b"%PDF-1.7")


def test_greek_cyrillic_and_signs_of_mathematics_can_be_printed():
    assert set("ΩλЖя≤±–“”·€Žřß ") <= printable()


def test_an_upright_and_a_broad_sheet_hold_as_many_parts():
    broad = pikepdf.open(io.BytesIO(typeset(sheet(landscape=True))))
    box = [float(side) for side in broad.pages[0].mediabox]
    assert box[2] > box[3]


def pocket(baths):
    """Return a card of so many fryers."""
    rows = [(f"{n} % or more", "change the oil after this service") for n in range(4)]
    pieces = [[Heading(text="Card", follows=True), Text(text="Valid until noon.", weight="strong")]]
    pieces += [[Heading(text=f"Bath {n}", level=2), Facts(rows=rows)] for n in range(baths)]
    return pieces


@pytest.mark.parametrize(("cards", "pages"), [([1], 1), ([5, 5], 1), ([5, 5, 5], 2), ([30], 1), ([30, 5], 2)])
def test_pocket_cards_have_a_strip_each_and_more_only_where_they_do_not_fit(cards, pages):
    made = typeset(sheet(Pocket(cards=[pocket(baths) for baths in cards], cut="cut", fold="fold")))
    opened = pikepdf.open(io.BytesIO(made))
    assert len(opened.pages) == pages
    headings = 2 if 30 in cards else 1
    assert kinds(opened).count("/H1") == len(cards) - 1 + headings
    assert kinds(opened).count("/H2") == sum(cards)
