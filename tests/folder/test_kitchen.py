"""What kitchen.toml says, and what is said about one that cannot be used."""

import os
from datetime import date, time
from decimal import Decimal
from pathlib import Path

import pytest

from kettlewell.book import Force, Judges, ReferenceLot
from kettlewell.book.setup import Setup
from kettlewell.folder import MARROWBY, KitchenError, read_kitchen, read_log

TOP = 'name = "K"\ntimezone = "Europe/London"\n'
OIL = '[[oils]]\nkey = "rapeseed"\n'
FRYER = '[[fryers]]\nkey = "F1"\noil = "rapeseed"\noil_mass_kg = 20\n'
LIMIT = '[[limits]]\nquantity = "total polar compounds"\nunfit_when = ">"\nvalue = 24\nunit = "% m/m"\n'
SERVICE = '[[services]]\nname = "Lunch"\ndays = "mon-fri"\nfrom = "11:30"\nto = "14:30"\n'
WHOLE = TOP + OIL + FRYER + LIMIT + SERVICE


@pytest.fixture
def kitchen_of(tmp_path):
    """Read a kitchen.toml given as text or bytes."""

    def read(typed):
        path = tmp_path / "kitchen.toml"
        path.write_bytes(typed if isinstance(typed, bytes) else typed.encode())
        return read_kitchen(path).kitchen

    return read


def test_the_demo_kitchen_is_read_with_its_jug():
    setup = read_kitchen(MARROWBY / "kitchen.toml")
    assert setup.jug_l == 2.0
    assert [fryer.key for fryer in setup.kitchen.fryers] == ["F1", "F2", "F3", "F4", "F5"]
    assert setup.kitchen.oils[0].price_per_kg == Decimal("1.85")


def test_a_house_limit_knows_what_it_judges(kitchen_of):
    hot = LIMIT.replace("total polar compounds", "oil temperature").replace("% m/m", "degC")
    tpc, temperature = kitchen_of(TOP + OIL + FRYER + LIMIT + hot).limits
    assert (tpc.force, tpc.judges, tpc.value) == (Force.HOUSE, Judges.OIL, 24.0)
    assert temperature.judges is Judges.PROCESS


@pytest.mark.parametrize(
    ("typed", "days"),
    [
        ('"mon-fri"', (0, 1, 2, 3, 4)),
        ('"sat"', (5,)),
        ('"sat-mon"', (0, 5, 6)),
        ('["wed", "mon"]', (0, 2)),
        ('"Mon - Wed"', (0, 1, 2)),
    ],
)
def test_days_are_a_stretch_or_a_list(kitchen_of, typed, days):
    (service,) = kitchen_of(WHOLE.replace('"mon-fri"', typed)).services
    assert (service.weekdays, service.begins, service.ends) == (days, time(11, 30), time(14, 30))


LOT = "[[reference_lots]]\nkey = 'a'\ntpc_pct = 18\nexpanded_u_pct = 0.6\n"


def test_a_bottle_of_reference_oil_has_its_value_its_uncertainty_and_its_days(kitchen_of):
    """A day is written in quotes, or as TOML writes one."""
    typed = WHOLE + LOT + "opened = '2026-10-01'\nbest_before = 2027-03-31\n"
    assert kitchen_of(typed).reference_lots == (
        ReferenceLot(
            key="a",
            name="a",
            tpc_pct=18.0,
            expanded_u_pct=0.6,
            opened=date(2026, 10, 1),
            best_before=date(2027, 3, 31),
        ),
    )


def test_what_a_meter_may_be_off_by_and_a_sample_costs_stays_exact(kitchen_of):
    typed = kitchen_of("permissible_pct = 1.5\nlaboratory_price = 42.50\n" + WHOLE)
    assert (typed.permissible_pct, str(typed.laboratory_price)) == (1.5, "42.50")
    assert kitchen_of(WHOLE).laboratory_price is None


def test_a_thing_without_a_name_is_called_by_its_key(kitchen_of):
    assert kitchen_of(WHOLE).fryers[0].name == "F1"


def test_a_byte_order_mark_is_left_out(kitchen_of):
    assert kitchen_of(WHOLE.encode("utf-8-sig")).name == "K"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (WHOLE.replace('"K"', '"K'), "line 1"),
        (WHOLE.encode().replace(b'"K"', b'"\xff"'), "save it as UTF-8"),
        ("", "there is none; describe at least one under"),
        ("fryers = 3\n" + TOP + OIL, "fryers: is not a list of tables; write [[fryers]]"),
        (OIL + FRYER, "'name' is missing"),
        (WHOLE.replace("oil_mass_kg = 20\n", ""), "[[fryers]] F1: 'oil_mass_kg' is missing"),
        (WHOLE.replace("oil_mass_kg", "oil_mas_kg"), "F1 oil_mas_kg: this key is not known; did you mean"),
        (WHOLE.replace("timezone", "time_zone"), "did you mean 'timezone'?"),
        (WHOLE.replace("[[services]]", "[[service]]"), "did you mean 'services'?"),
        (TOP + OIL + FRYER + "risk = 0.05\n", "F1 risk: this belongs to the whole kitchen"),
        ("risk = 0\n" + WHOLE, "risk: 0 must lie above 0"),
        ("risk = true\n" + WHOLE, "risk: True is not a number"),
        ("risk = nan\n" + WHOLE, "is not a number"),
        ("risk = " + "9" * 400 + "\n" + WHOLE, "is not a number"),
        ("jug_l = '2'\n" + WHOLE, "jug_l: '2' is not a number"),
        (WHOLE.replace("= 20", "= -20"), "F1 oil_mass_kg: -20 must lie from 0.1"),
        (WHOLE.replace("Europe/London", "Europe/Londn"), "did you mean 'Europe/London'?"),
        (WHOLE.replace("Europe/London", "../../etc"), "is not a time zone"),
        ('jurisdiction = "UK"\n' + WHOLE, "jurisdiction: 'UK' is not known"),
        (WHOLE.replace('oil = "rapeseed"', 'oil = "rapsed"'), "fryer 'F1': no oil 'rapsed'"),
        (WHOLE + FRYER, "key 'F1' is given twice"),
        (WHOLE + FRYER.replace("F1", "f-1"), "[[fryers]] f-1: in the log 'f-1' could also mean 'F1'"),
        (
            WHOLE + FRYER.replace("F1", "F2") + 'name = "F1"',
            "[[fryers]] F2: in the log 'F1' could also mean 'F1'",
        ),
        (WHOLE + FRYER.replace("20", "20\nminimum_mass_kg = 21"), "minimum_mass_kg is more than"),
        (WHOLE + FRYER.replace("20", "20\nstandby_temp_c = 176"), "standby_temp_c lies above set_temp_c"),
        (WHOLE + FRYER.replace("20", "20\nfries = 'x'"), "is not a list"),
        (WHOLE + FRYER.replace("20", "20\nfries = ['x']"), "no product 'x'"),
        (WHOLE + "[[meters]]\nkey = 'a'\nmin_oil_temp_c = 200\n", "must lie below max_oil_temp_c"),
        (WHOLE + "[[meters]]\nkey = 'a'\nin_use_since = 'May'\n", "in_use_since: 'May' is not a day"),
        (WHOLE + "[[meters]]\nkey = 'a'\nin_use_since = '2026-02-30'\n", "is not in the calendar"),
        (WHOLE + "[[reference_lots]]\nkey = 'a'\nexpanded_u_pct = 1\n", "a: 'tpc_pct' is missing"),
        (WHOLE + LOT.replace("18", "0"), "[[reference_lots]] a tpc_pct: 0 must lie above 0"),
        (WHOLE + LOT + LOT.replace("'a'", "'b'\nname = 'A'"), "'A' could also mean 'a'"),
        ("permissible_pct = 0\n" + WHOLE, "permissible_pct: 0 must lie above 0 and at most at 4"),
        (WHOLE.replace("Lunch", "Lunch\\u202e"), "holds a letter that cannot be seen (U+202E)"),
        (WHOLE.replace("Lunch", "Lunch\\r\\nFry on: Left"), "holds a letter that cannot be seen (U+000D)"),
        (WHOLE.replace("Lunch", "L" * 501), "is longer than 500 letters"),
        (
            WHOLE + FRYER.replace("F1", "F2").replace("20", "20\nusual_load_kg = 601"),
            "can fry in a service (600",
        ),
        (WHOLE + "[[meters]]\nkey = 'a'\nlargest_error_pct = 1e-9\n", "must lie from 0.05"),
        (WHOLE + LOT + "coverage_factor = 1e-300\n", "coverage_factor: 1E-300 must lie from 1"),
        (WHOLE + "a." * 51 + "a = 1\n", "holds more than 50 points"),
        (WHOLE + "#" * 1_000_000, "is larger than 1 MB"),
        (WHOLE + "[[oils]]\nkey = 'a'\nkind = 'rape'\n", "did you mean 'rapeseed'?"),
        (WHOLE + "[[oils]]\nkey = 'a'\nprice_per_kg = -1\n", "price_per_kg: -1 must be 0 or more"),
        (WHOLE + "[[oils]]\nkey = ' '\n", "is not a text"),
        (WHOLE.replace("mon-fri", "mon-fry"), "'fry' is not a day"),
        (WHOLE.replace('"11:30"', "11:30:00"), "write it in quotes"),
        (WHOLE.replace("11:30", "25:00"), "is not a time of day"),
        (WHOLE + 'fryers = ["F2"]', "[[services]] Lunch fryers: no fryer 'F2'"),
        (WHOLE.replace("% m/m", "%"), "is given in '% m/m', not in '%'"),
        (WHOLE.replace('">"', '"<"'), "is unfit when >, not when <"),
        (WHOLE.replace("total polar compounds", "total polar"), "did you mean 'total polar compounds'?"),
    ],
)
def test_a_mistake_names_file_place_and_what_to_do(kitchen_of, typed, said):
    with pytest.raises(KitchenError) as raised:
        kitchen_of(typed)
    assert said in str(raised.value)
    assert str(raised.value).startswith("kitchen.toml: ")


@pytest.mark.parametrize("name", ["kitchen.toml", "log.csv"])
@pytest.mark.parametrize("make", [os.mkfifo, lambda path: path.symlink_to("/dev/zero"), Path.mkdir])
def test_what_is_no_file_is_not_read(kitchen_of, tmp_path, name, make):
    setup = Setup(kitchen=kitchen_of(WHOLE))
    (tmp_path / name).unlink(missing_ok=True)
    make(tmp_path / name)
    with pytest.raises(KitchenError, match="is no file"):
        read_kitchen(tmp_path / name) if name == "kitchen.toml" else read_log(tmp_path / name, setup)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(KitchenError, match=r"kitchen\.toml: No such file"):
        read_kitchen(tmp_path / "kitchen.toml")
