"""Letters that a reader cannot see, or that turn what he reads: in no name, and never raw on a terminal."""

import unicodedata

LONGEST_TEXT = 500
# controls, formats (among them those that change the direction of writing), halves of pairs, private
# letters, breaks of lines: categories of Unicode
UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Zl", "Zp"})
# what a spreadsheet takes for the beginning of a formula (OWASP ASVS 5.0, 1.2.10)
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
JOINERS = frozenset("\u200c\u200d")  # join and part letters, in Persian and in the scripts of India


def unseen_in(text: str) -> str:
    """Return the first letter of a text that cannot be seen; "" where there is none."""
    return next((letter for letter in text if is_unseen(letter)), "")


def is_unseen(letter: str) -> bool:
    """Tell whether a letter cannot be seen, or turns what stands beside it."""
    return letter not in JOINERS and unicodedata.category(letter) in UNSEEN


def is_blank(text: str) -> bool:
    """Tell whether nothing of a text is to be seen."""
    return all(letter in JOINERS or letter.isspace() or is_unseen(letter) for letter in text)


def named(letter: str) -> str:
    """Return a letter by its number, such as U+202E."""
    return f"U+{ord(letter):04X}"


def escaped(text: str) -> str:
    r"""Return a text with the letters that cannot be seen written out, such as \x1b."""
    return "".join(
        letter.encode("unicode_escape").decode() if is_unseen(letter) else letter for letter in text
    )
