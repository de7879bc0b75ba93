"""The line, and one fryer."""
