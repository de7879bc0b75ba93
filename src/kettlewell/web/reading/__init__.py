"""Taking a reading, the other acts at a fryer, and what was told."""
