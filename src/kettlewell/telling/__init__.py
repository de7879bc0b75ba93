"""What the program says: words, numbers and times as the reader writes them, on every screen."""

from kettlewell.book.words import N_
from kettlewell.telling.words import Reader, reader

__all__ = ["N_", "Reader", "reader"]
