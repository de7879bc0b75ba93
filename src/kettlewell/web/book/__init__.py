"""The day book and its corrections."""
