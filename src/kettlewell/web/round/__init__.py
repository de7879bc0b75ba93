"""The round: one page for the readings of all fryers, one for what follows a service."""
