"""Marks the sentences that a reader may want in another language."""


def N_(text: str) -> str:
    """Return ``text`` unchanged; the name marks the sentence for the catalogue."""
    return text
