"""What all screens of an entry share: its forms, its sentences, the names in it, and writing it down."""
