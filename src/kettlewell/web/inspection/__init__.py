"""The book for an inspector: a period of the day book, printed."""
