"""The rows of the day book and of the people who write in it.

Rows hold no rules: those are in the services (ledger, people, settings) and in triggers.
"""

import uuid
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.crypto import salted_hmac


class People(BaseUserManager["Person"]):
    """Finds people by the name they sign in with."""


class Person(AbstractBaseUser):
    """Someone with an account; a PIN, hashed like a password, signs on a shared tablet."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    sign_in = models.CharField(max_length=150, unique=True)
    name = models.CharField(max_length=100, blank=True)
    pin = models.CharField(max_length=128, blank=True)
    language = models.CharField(max_length=10, blank=True)
    is_active = models.BooleanField(default=True)

    objects: ClassVar[People] = People()

    USERNAME_FIELD = "sign_in"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """Return what a session is bound to: it ends when the password or the PIN is another."""
        bound = f"{self.password} {self.pin}"
        return salted_hmac("kettlewell.records.session", bound, secret=secret, algorithm="sha256").hexdigest()

    def __str__(self) -> str:
        """Return the name others know the person by."""
        return self.name or self.sign_in


class SecondFactor(models.Model):
    """What somebody is asked for after the password: codes of an app, by a secret shared with it.

    ``last_step`` is the step of time of the last code taken, ``recovery`` holds the SHA-256 of each
    recovery code not used yet.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="second_factor")
    secret = models.CharField(max_length=32)
    last_step = models.PositiveBigIntegerField()
    recovery = models.JSONField()

    def __str__(self) -> str:
        """Return whose it is, and nothing of the secret."""
        return str(self.person)


class Kitchen(models.Model):
    """One place with its day book; ``head_seq`` and ``head_hash`` are those of its last entry.

    ``settings_seq`` and ``settings_hash`` are those of the last entry that set something. All else
    about a kitchen is an entry.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    slug = models.SlugField(max_length=60, unique=True)
    head_seq = models.PositiveBigIntegerField(default=0)
    head_hash = models.CharField(max_length=64, blank=True)
    settings_seq = models.PositiveBigIntegerField(default=0)
    settings_hash = models.CharField(max_length=64, blank=True)

    def __str__(self) -> str:
        """Return the part of its address that names it."""
        return self.slug


class Role(models.TextChoices):
    """What a person is in a kitchen."""

    OWNER = "owner"
    COOK = "cook"
    AREA_MANAGER = "area_manager"
    INSPECTOR = "inspector"


class Seat(models.Model):
    """A person's present place in a kitchen; every change of it is an entry too."""

    kitchen = models.ForeignKey(Kitchen, on_delete=models.PROTECT, related_name="seats")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="seats")
    role = models.CharField(max_length=20, choices=Role.choices)
    ends_on = models.DateField(null=True, blank=True)
    trained_to_drain = models.BooleanField(default=False)

    class Meta:
        """One place for each person in each kitchen; an inspector's has an end."""

        constraints = (
            models.UniqueConstraint(fields=("kitchen", "person"), name="one_seat_each"),
            models.CheckConstraint(
                condition=~models.Q(role=Role.INSPECTOR) | models.Q(ends_on__isnull=False),
                name="inspector_ends",
            ),
        )

    def __str__(self) -> str:
        """Return who is what."""
        return f"{self.person}: {self.role}"


class Device(models.Model):
    """A tablet the people of one kitchen share, where they sign with name and PIN."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kitchen = models.ForeignKey(Kitchen, on_delete=models.PROTECT, related_name="devices")
    name = models.CharField(max_length=60)
    retired_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        """Return what the kitchen calls it."""
        return self.name


class PhoneClock(models.Model):
    """By how many seconds the clock of a browser in a kitchen was fast of the server's, when last heard.

    ``phone`` is a digest of what the browser is known by.
    """

    kitchen = models.ForeignKey(
        Kitchen, on_delete=models.CASCADE, related_name="phone_clocks", db_index=False
    )
    phone = models.CharField(max_length=64)
    fast_s = models.FloatField()
    heard_at = models.DateTimeField()

    class Meta:
        """One for each browser in each kitchen, found by when it was heard."""

        constraints = (models.UniqueConstraint(fields=("kitchen", "phone"), name="one_clock_each_phone"),)
        indexes = (models.Index(fields=("kitchen", "heard_at"), name="phone_by_time"),)

    def __str__(self) -> str:
        """Return by how much it was fast."""
        return f"{self.fast_s:+.0f} s"


class Entry(models.Model):
    """One line of the day book. Triggers refuse to change or delete it.

    ``happened_at`` is what the phone's clock said, ``clock_error_s`` by how many seconds it
    was fast (None: unknown). ``private`` holds salted digests of what can be erased.
    ``hash`` is over the canonical form of all this and ``previous``.

    ``at``, ``about`` and ``asks`` follow from these and are there to be searched by: when it
    truly happened, the entry it answers (a verdict its reading, what was done its verdict), and
    whether it waits for an answer itself.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    kitchen = models.ForeignKey(Kitchen, on_delete=models.PROTECT, related_name="entries", db_index=False)
    seq = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=20)
    happened_at = models.DateTimeField()
    clock_error_s = models.DecimalField(max_digits=12, decimal_places=3, null=True)
    received_at = models.DateTimeField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, db_index=False)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, db_index=False)
    fryer = models.CharField(max_length=40, blank=True)
    payload = models.JSONField()
    private = models.JSONField(default=dict)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    version = models.CharField(max_length=5)
    previous = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)
    at = models.DateTimeField()
    about = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="answers")
    asks = models.BooleanField()

    class Meta:
        """In the order they were written down."""

        ordering = ("kitchen", "seq")
        constraints = (models.UniqueConstraint(fields=("kitchen", "seq"), name="one_entry_each_seq"),)
        indexes = (
            models.Index(fields=("kitchen", "at"), name="entry_by_time"),
            models.Index(fields=("kitchen", "kind", "seq"), name="entry_by_kind"),
            models.Index(fields=("kitchen", "fryer", "at"), name="entry_by_fryer"),
            models.Index(fields=("kitchen", "fryer", "kind", "seq"), name="entry_by_fryer_kind"),
            models.Index(
                fields=("kitchen", "kind", "fryer", "seq"),
                condition=models.Q(asks=True),
                name="entry_that_asks",
            ),
        )

    def __str__(self) -> str:
        """Return its number and what it is."""
        return f"{self.seq} {self.kind}"


class KeptTable(models.Model):
    """A file that somebody brings in, until it is brought in; ``recipe`` is how they want it read.

    One of each person and kitchen; dropped after a day, when the next comes or the server starts.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    kitchen = models.ForeignKey(Kitchen, on_delete=models.CASCADE, related_name="tables")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="tables")
    name = models.CharField(max_length=200)
    content = models.BinaryField()
    sheet = models.CharField(max_length=100, blank=True)
    recipe = models.JSONField(null=True)
    kept_at = models.DateTimeField()

    class Meta:
        """One of each person and kitchen."""

        constraints = (models.UniqueConstraint(fields=("kitchen", "person"), name="one_table_each_person"),)

    def __str__(self) -> str:
        """Return what the file is called."""
        return self.name


class Private(models.Model):
    """A name, note or photo of an entry; erased, its digest in the entry stays."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="privates")
    field = models.CharField(max_length=20)
    salt = models.BinaryField(null=True)
    content = models.BinaryField(null=True)

    class Meta:
        """One content for each field of an entry."""

        constraints = (models.UniqueConstraint(fields=("entry", "field"), name="one_private_each_field"),)

    def __str__(self) -> str:
        """Return which field it is, and nothing of what it says."""
        return self.field


class LostTrigger(models.Model):
    """A trigger that a start of the server found missing, and renewed."""

    name = models.CharField(max_length=60)
    found_at = models.DateTimeField()

    class Meta:
        """In the order they were found."""

        ordering = ("pk",)

    def __str__(self) -> str:
        """Return which it was."""
        return self.name


class Anchor(models.Model):
    """The last check code of a kitchen that was sent to the address of its choice."""

    kitchen = models.OneToOneField(Kitchen, on_delete=models.CASCADE, related_name="anchor")
    seq = models.PositiveBigIntegerField()
    hash = models.CharField(max_length=64)
    sent_at = models.DateTimeField()

    def __str__(self) -> str:
        """Return of which entry it is."""
        return f"{self.kitchen} {self.seq}"


class Feed(models.Model):
    """The calendar of a kitchen: whoever knows its address, of which a digest is kept, may read it.

    It speaks the ``language`` of who made the address.
    """

    kitchen = models.OneToOneField(Kitchen, on_delete=models.CASCADE, related_name="feed")
    digest = models.CharField(max_length=64, unique=True)
    language = models.CharField(max_length=10)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        """Return whose it is."""
        return str(self.kitchen)


class StoredBelief(models.Model):
    """A checkpoint of a kitchen's belief: it can be thrown away and computed again.

    It knows the entries up to ``last_seq`` that happened before ``covers_to``; ``day`` tells
    how long it is kept.
    """

    kitchen = models.ForeignKey(Kitchen, on_delete=models.CASCADE, related_name="beliefs")
    covers_to = models.DateTimeField()
    day = models.DateField()
    last_seq = models.PositiveBigIntegerField()
    model_version = models.CharField(max_length=20)
    content = models.BinaryField()

    class Meta:
        """One for each time; the newest first."""

        ordering = ("-covers_to",)
        constraints = (models.UniqueConstraint(fields=("kitchen", "covers_to"), name="one_belief_each_time"),)

    def __str__(self) -> str:
        """Return until when it reaches."""
        return f"{self.kitchen} to {self.covers_to:%Y-%m-%d %H:%M}"


class Replay(models.Model):
    """A kitchen whose belief is being recomputed in the background, from ``since`` on."""

    kitchen = models.OneToOneField(Kitchen, on_delete=models.CASCADE, related_name="replay")
    since = models.DateTimeField()
    taken_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        """Return from when on."""
        return f"{self.kitchen} from {self.since:%Y-%m-%d %H:%M}"
