"""A guest complained: it stands at the fryer until somebody has smelt its oil and looked at it."""

from datetime import timedelta

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.records.models import Entry

STANDS = "A guest complained"
LOOKED = {
    "senses": {"fryer": "F1", "spoiled": False},
    "change": {"fryer": "F1"},
    "store": {"fryer": "F1"},
    "laboratory": {"fryer": "F1", "tpc_pct": "9"},
}


def told(marrowby):
    stands = standing(marrowby, clock.now() + timedelta(minutes=2))
    return [(each.verdict, each.tpc_mean_pct, each.tpc_sd_pct) for each in stands.assessments]


def test_it_is_a_tile_under_how_the_oil_is_and_leads_to_the_fryer(cook, marrowby, page, send):
    assert "A guest complained" in page(cook, "acts", "F1")
    answer = send(cook, "act", {"complained_of": ["taste", "colour"], "note": "Table 4"}, "F1", "complaint")
    assert answer.redirect_chain == [(f"/k/{marrowby.slug}/fryers/F1/", 302)]
    assert Entry.objects.get(kind="complaint").payload["complained_of"] == ["taste", "colour"]
    line = "A guest complained of what was fried in Fries (F1): Taste, Colour."
    assert line in page(cook, "book")


def test_it_stands_at_its_fryer_with_the_way_to_smell_it(cook, inspector, write, page):
    entry = write("complaint", {"fryer": "F1", "complained_of": ["smell"]})
    shown = page(cook, "fryer", "F1")
    assert f"{STANDS} (Smell)" in shown
    assert 'href="/k/marrowby-test/fryers/F1/acts/senses/"' in shown
    assert f"{STANDS} (Smell)" in page(cook, "line")
    assert STANDS not in page(cook, "fryer", "F2")
    seen = page(inspector, "fryer", "F1")
    assert f'href="/k/marrowby-test/book/{entry.pk}/">{STANDS}' in seen


def test_it_stands_until_somebody_has_looked(cook, write, undo, page):
    for kind, payload in LOOKED.items():
        complaint = write("complaint", {"fryer": "F1"}, ago=0.2)
        assert STANDS in page(cook, "fryer", "F1").partition("Last entries")[0], kind
        done = write(kind, payload, ago=0.1)
        assert STANDS not in page(cook, "fryer", "F1").partition("Last entries")[0], kind
        undo(done)
        assert STANDS in page(cook, "fryer", "F1").partition("Last entries")[0], kind
        undo(complaint)
    assert STANDS not in page(cook, "fryer", "F1").partition("Last entries")[0]


def test_it_moves_neither_belief_nor_verdict_and_asks_nothing(marrowby, write):
    before = told(marrowby)
    entry = write("complaint", {"fryer": "F1", "complained_of": ["taste"]})
    assert told(marrowby) == before
    assert not entry.asks
    assert not Entry.objects.filter(kind="verdict").exists()
