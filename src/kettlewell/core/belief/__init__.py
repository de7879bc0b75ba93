"""What the readings say about each bath."""
