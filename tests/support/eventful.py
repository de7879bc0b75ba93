"""Weeks in which everything happens, drawn by a generator that is the same everywhere and for ever."""

from datetime import timedelta
from random import Random

from drawn import KITCHEN, START
from settings_drawn import CHANGES, changed

from kettlewell.book import (
    Adopted,
    Care,
    Change,
    Closed,
    HotHours,
    LabResult,
    Load,
    MeterCheck,
    MeterOut,
    Move,
    OutOfOrder,
    Reading,
    Return,
    SensoryNote,
    Store,
    TopUp,
    history_from,
)
from kettlewell.book.entries import CARE_KINDS

DAYS = 24
FRESH_PCT, PER_DAY_PCT, LIMIT_PCT = 4.0, 1.6, 24.0
KEPT = {"a fryer less", "a meter less"}  # what the entries name stays


class Weeks:
    """Some weeks of the test kitchen, with oil that ages and is changed, and what is written of it."""

    def __init__(self, seed):
        """Draw them."""
        self.random = Random(seed)  # noqa: S311 - no secret
        self.entries, self.level = [], dict.fromkeys(("one", "two"), FRESH_PCT)
        names = sorted(set(CHANGES) - KEPT)
        self.settings, place = [(START, KITCHEN)], KITCHEN
        for day in sorted(self.random.sample(range(4, DAYS), 3)):
            place = changed(place, [self.random.choice(names)])
            self.settings.append((self.at(day, 7 + 10 * self.random.random()), place))
        for fryer in self.level:
            self.change(fryer, -1)
        for day in range(DAYS):
            for fryer in self.level:
                self.day_of(fryer, day)
            if self.random.random() < 0.3:
                self.rarely(day)

    @property
    def history(self):
        """The settings with their times."""
        return history_from(self.settings)

    def since(self, state):
        """Return the entries that a state does not cover."""
        return [entry for entry in self.entries if state is None or entry.at >= state.covers_to]

    def at(self, day, hour):
        """Return a time."""
        return START + timedelta(days=day, minutes=round(60 * (hour - START.hour)))

    def write(self, entry, day, hour, /, **fields):
        """Write an entry."""
        self.entries.append(entry(at=self.at(day, hour), ref=f"{len(self.entries)}", **fields))

    def chance(self, probability):
        """Tell whether something happens."""
        return self.random.random() < probability

    def change(self, fryer, day):
        """Fill a fryer with fresh oil."""
        told = {"delivery": self.random.choice(["L1", "L2", None])}
        if self.chance(0.3):
            told["fresh_tpc_pct"] = self.random.choice([3.5, 5.0])
        self.write(Change, day, 22, fryer=fryer, **told)
        self.level[fryer] = FRESH_PCT + self.random.gauss(0, 0.5)

    def day_of(self, fryer, day):
        """Write what is written of a fryer on one day; now and then a change is not."""
        if self.chance(0.6):
            self.read(fryer, day, 10)
        if self.chance(0.15):
            self.write(HotHours, day, 13, fryer=fryer, hot_h=self.random.choice([1.0, 4.5]))
        if self.chance(0.6):
            mass_kg = self.random.choice([6.0, 14.0, 25.0])
            self.write(Load, day, 13.5, fryer=fryer, product="fries", mass_kg=mass_kg)
        if self.chance(0.5):
            mass_kg = self.random.choice([None, 1.0, 2.5])
            self.write(TopUp, day, self.random.choice([9.5, 12.5, 14.5]), fryer=fryer, mass_kg=mass_kg)
        if self.chance(0.1):
            self.write(Care, day, 21, fryer=fryer, kind=self.random.choice(CARE_KINDS))
        if self.chance(0.2):
            self.read(fryer, day, 12)
        self.level[fryer] += PER_DAY_PCT * self.random.lognormvariate(0, 0.3)
        if self.level[fryer] > LIMIT_PCT - 3 or self.chance(0.03):
            if self.chance(0.8):
                self.change(fryer, day)
            else:
                self.level[fryer] = FRESH_PCT

    def read(self, fryer, day, hour):
        """Read a bath, up to three times; some readings are wet, low, cold, or far off."""
        shown_pct = self.level[fryer] * 0.95 + self.random.gauss(0, 0.6)
        if self.chance(0.06):
            shown_pct += self.random.choice([-6, 7, 15])
        for n in range(self.random.choice([1, 1, 1, 2, 3])):
            pct = max(round(2 * (shown_pct + self.random.gauss(0, 0.3))) / 2, 0.5)
            self.write(
                Reading,
                day,
                hour + n / 20,
                fryer=fryer,
                tpc_pct=pct,
                oil_temp_c=self.random.choice([None, 120, 170, 172, 186]),
                sound=not self.chance(0.03),
                meter=self.random.choice([None, "hand", "lent"]),
            )

    def rarely(self, day):
        """Write something that is not of every day."""
        fryer, other = self.random.sample(sorted(self.level), 2)
        meter = self.random.choice(["hand", "lent"])
        happening = self.random.randrange(9)
        if happening == 0:
            off_pct = self.random.choice([0.0, 0.0, 1.0, -3.0])
            shown = tuple(10.0 + off_pct + self.random.choice([-0.5, 0, 0.5]) for _ in range(3))
            self.write(
                MeterCheck, day, 9, meter=meter, lot="R1", readings_pct=shown, adjusted=abs(off_pct) > 2
            )
        elif happening == 1:
            pct = self.level[fryer] + self.random.choice([0.0, 0.5, 5.0])
            polymers_pct = self.random.choice([None, 6.0])
            self.write(LabResult, day, 10.5, fryer=fryer, tpc_pct=pct, u_pct=0.6, polymers_pct=polymers_pct)
        elif happening == 2:
            self.write(Move, day, 16, fryer=fryer, into=other, mass_kg=self.random.choice([2.0, 5.0, None]))
        elif happening == 3:
            self.write(Store, day, 21, fryer=fryer)
            self.write(Return, day + self.random.choice([0, 1]), 23, fryer=fryer)
        elif happening == 4:
            self.write(OutOfOrder, day, 8, fryer=fryer)
            self.write(OutOfOrder, day + 1, self.random.choice([8, 12.5]), fryer=fryer, back=True)
        elif happening == 5:
            self.write(Closed, day, 8, until=self.at(day + self.random.choice([1, 3]), 8), fryer=fryer)
        elif happening == 6:
            self.write(SensoryNote, day, 15, fryer=fryer, spoiled=self.chance(0.2))
        elif happening == 7:
            self.write(MeterOut, day, 9, meter=meter)
            self.write(MeterOut, day + 2, 9, meter=meter, back=True)
        else:
            self.write(
                Adopted,
                day,
                9,
                meter=meter,
                against=None,
                oil=self.random.choice(["rape", "sun"]),
                offset_pct=self.random.choice([-1.0, 0.5]),
                offset_u_pct=0.4,
                gain=self.random.choice([0.93, 1.02]),
                gain_u=0.02,
                correlation=-0.8,
            )
