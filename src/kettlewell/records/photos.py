"""Photos of entries: what may be one."""

MOST_BYTES = 3 * 1024 * 1024
BEGINNINGS = {
    b"\xff\xd8\xff": "image/jpeg",
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"%PDF-": "application/pdf",
}


def type_of(photo: bytes) -> str | None:
    """Return the type of a photo by its first bytes, whatever it is called; None for anything else."""
    return next((kind for begins, kind in BEGINNINGS.items() if photo.startswith(begins)), None)
