"""The limits in force: packaged data and the kitchen's own."""

from datetime import date
from functools import cache

from kettlewell.book import Clause, Force, Grade, Judges, Kitchen, Limit
from kettlewell.core.data import packaged_rows

EU = "EU"
# EU membership, from memory
EU_MEMBERS = frozenset(
    {"AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU"}
    | {"IE", "IT", "LT", "LU", "LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK"}
)


def limits_of(kitchen: Kitchen) -> tuple[Limit, ...]:
    """Return the limits that speak to a kitchen: its own, then its jurisdiction's.

    A member state of the European Union has the Union's limits as well; without a
    jurisdiction only the kitchen's own are left. Raises ValueError for a
    jurisdiction that nothing is known about.
    """
    code = kitchen.jurisdiction
    if code is None:
        return kitchen.limits
    if code not in jurisdictions():
        raise ValueError(f"jurisdiction {code!r} is not known; known are {', '.join(jurisdictions())}")
    return kitchen.limits + limits_in(code)


def limits_in(jurisdiction: str) -> tuple[Limit, ...]:
    """Return the packaged limits of a jurisdiction, the Union's with those of its members."""
    codes = {jurisdiction, EU} if jurisdiction in EU_MEMBERS else {jurisdiction}
    return tuple(limit for limit in packaged_limits() if limit.jurisdiction in codes)


def jurisdictions() -> tuple[str, ...]:
    """Return the codes a kitchen may choose from (ISO 3166-1 alpha-2, and EU)."""
    return tuple(sorted(EU_MEMBERS.union(limit.jurisdiction for limit in packaged_limits())))


@cache
def packaged_limits() -> tuple[Limit, ...]:
    """Return every limit of data/limits.csv, in its order."""
    return tuple(_limit(row) for row in packaged_rows("limits.csv"))


def _limit(row: dict[str, str]) -> Limit:
    since = row["in_force_since"]
    return Limit(
        jurisdiction=row["jurisdiction"],
        judges=Judges(row["judges"]),
        quantity=row["quantity"],
        unfit_when=row["unfit_when"],
        value=float(row["value"]) if row["value"] else None,
        unit=row["unit"],
        force=Force(row["force"]),
        instrument=row["instrument"],
        in_force_since=date.fromisoformat(since) if since else None,
        source=row["source"],
        grade=Grade(row["grade"]),
        remark=row["remark"],
        clauses=tuple(Clause(word) for word in row["clauses"].split()),
    )
