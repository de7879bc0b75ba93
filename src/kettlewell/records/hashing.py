"""How passwords and PINs are kept: as Argon2id hashes, with bounded memory."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class SmallArgon2Hasher(Argon2PasswordHasher):
    """Argon2id with 19 MiB, two passes and one lane, the least that OWASP's cheat sheet recommends.

    Django's own 100 MiB would let a few guesses at once use up a small board. A hash made with other
    figures is still known, and made anew when its owner signs in.
    """

    time_cost = 2
    memory_cost = 19 * 1024
    parallelism = 1
