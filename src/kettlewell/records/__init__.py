"""The day book: an append-only ledger, the people who write in it, and settings with their history."""
