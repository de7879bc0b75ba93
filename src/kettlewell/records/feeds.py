"""Addresses under which a kitchen's calendar is read: secret, one for each kitchen, revoked at once."""

import secrets
from hashlib import sha256

from kettlewell.records.ledger import Hand
from kettlewell.records.models import Feed, Kitchen

SECRET_BYTES = 32


def feed_make(kitchen: Kitchen, language: str, *, hand: Hand) -> str:
    """Return the secret of a new address; what there was before opens nothing any more."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    made = {"digest": digest(secret), "language": language, "made_at": hand.now}
    Feed.objects.update_or_create(kitchen=kitchen, defaults=made)
    return secret


def feed_revoke(kitchen: Kitchen) -> None:
    """Let the address of a kitchen's calendar open nothing any more."""
    Feed.objects.filter(kitchen=kitchen).delete()


def feed_of(kitchen: Kitchen) -> Feed | None:
    """Return what is known of the address of a kitchen's calendar; None where there is none."""
    return Feed.objects.filter(kitchen=kitchen).first()


def feed_behind(secret: str) -> Feed | None:
    """Return the feed that a secret opens."""
    return Feed.objects.select_related("kitchen").filter(digest=digest(secret)).first()


def digest(secret: str) -> str:
    """Return what is kept of a secret, which is long enough to need no salt."""
    return sha256(secret.encode()).hexdigest()
