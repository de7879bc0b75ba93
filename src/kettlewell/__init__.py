"""Kettlewell keeps frying oil fit to fry in, throws none away early, and can show it."""

__version__ = "0.1.0"
