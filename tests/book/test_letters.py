"""Letters that cannot be seen are found, whatever the script; those that are needed to write stay."""

import pytest

from kettlewell.book.letters import escaped, is_blank, unseen_in


@pytest.mark.parametrize(
    "name",
    [
        "Left",
        "Fritös Nr. 2",
        "Κουζίνα",
        "مطبخ",
        "नमकीन",
        "بن\u200cبست",
        "क्\u200dष",
        "油鍋",
        "🍟",
        "Crème brûlée",
    ],
)
def test_names_of_any_script_are_seen(name):
    assert unseen_in(name) == ""
    assert not is_blank(name)
    assert escaped(name) == name


@pytest.mark.parametrize(
    "letter",
    ["\x1b", "\x07", "\r", "\n", "\t", "\x7f", "\x9b", "\u202e", "\u2066", "\u200b", "\u2028", "\ue000"],
)
def test_letters_that_cannot_be_seen_are_found_and_written_out(letter):
    name = f"Left{letter}Fry on"
    assert unseen_in(name) == letter
    assert letter not in escaped(name)
    assert escaped(name).startswith("Left\\")


@pytest.mark.parametrize("name", ["", " ", "\u200c\u200c", "\u00a0", "\u200b"])
def test_a_name_of_nothing_is_blank(name):
    assert is_blank(name)
