"""What the program says: words, numbers and times as the reader writes them, on every screen."""

from kettlewell.telling.message import N_, Message
from kettlewell.telling.words import Reader, reader, unparted

__all__ = ["N_", "Message", "Reader", "reader", "unparted"]
