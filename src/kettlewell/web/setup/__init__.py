"""Setting a kitchen up, and its settings."""
