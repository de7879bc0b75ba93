"""The JSON answer keeps its schema, and every number's key names its unit."""

import json
import re
from importlib.resources import files

import pytest
from answers import answer_of
from jsonschema import Draft202012Validator, FormatChecker, ValidationError
from schemas import numeric_keys

from kettlewell.book.words import Message
from kettlewell.cli.document import VALUE_KEYS, document
from kettlewell.core.limits import packaged_limits
from kettlewell.folder import Problem

SCHEMA = json.loads(files("kettlewell.cli").joinpath("assessment.schema.json").read_text("utf-8"))
UNITS = re.compile(
    r"_(pct|pct_per_h|h|c|kg|probability|services|per_service|mg_koh_per_g|dimensionless)$"
    r"|^(services|hot_h)_(median|low|high|left)$|(^|_)probability(_next)?$"
)


def check(instance):
    Draft202012Validator(SCHEMA, format_checker=FormatChecker()).validate(instance)


@pytest.fixture
def answer(change_before, fry_on, kitchen, now):
    problems = (Problem(line=3, field="when", why=Message(text="is empty")),)
    return document(answer_of(change_before, fry_on), kitchen, at=now, problems=problems)


def test_the_schema_is_one():
    Draft202012Validator.check_schema(SCHEMA)


def test_a_hand_made_answer_keeps_the_schema(answer):
    check(json.loads(json.dumps(answer, allow_nan=False)))


def test_a_field_the_schema_does_not_know_is_refused(answer):
    answer["assessments"][0]["verdict"]["risk"] = 0.05
    with pytest.raises(ValidationError):
        check(answer)


def test_every_numbers_key_names_its_unit():
    keys = set(numeric_keys(SCHEMA))
    assert {"tpc_mean_pct", "horizon_services", "passing_probability_next"} <= keys
    assert [key for key in keys if not UNITS.search(key)] == []


def test_times_are_utc_and_say_so(answer):
    assert answer["at"] == "2026-11-15T21:30:00Z"


def test_a_message_comes_with_its_code_text_values_and_sentence(answer):
    assert answer["assessments"][1]["verdict"]["changes_if"] == {
        "code": "reading_from",
        "text": (
            "A reading of {reading_pct} % or more would change this, and so would oil that smells "
            "or looks spoiled."
        ),
        "values": {"reading_pct": 19.5},
        "sentence": (
            "A reading of 19.5 % or more would change this, and so would oil that smells or looks spoiled."
        ),
    }


def test_rows_that_were_not_used_are_named(answer):
    assert answer["rows_not_used"] == [{"ref": "log.csv:3", "field": "when", "reason": "is empty"}]


def test_every_unit_of_a_packaged_limit_has_its_key():
    assert {limit.unit for limit in packaged_limits() if limit.value is not None} <= set(VALUE_KEYS)
