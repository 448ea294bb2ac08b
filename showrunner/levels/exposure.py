"""The day's sound dose by NIOSH and by OSHA, the time that is left of it, and the limits it is held against.

Hearing that is lost does not come back. Limits differ by country and by trade: local rules and a licensed professional
come before any figure here.
"""

import math
import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from showrunner.model.units import parse_spoken_length

_PART = re.compile(r"(?P<name>.+?)\s+(?P<level>[+-]?\d+(?:[.,]\d+)?)\s*dB\s?\(?A\)?\s+(?P<length>\S+)", re.IGNORECASE)


class Part(NamedTuple):
    """One stretch of a day: how loud, in dB(A), and for how many seconds."""

    name: str
    level_dba: float
    seconds: float


class Rule(NamedTuple):
    """A way to reckon exposure: the level for eight hours, the dB that halve the time, the printed TWA factor."""

    name: str
    criterion_dba: float
    exchange_db: float
    twa_factor: float

    def allowed_s(self, level_dba: float) -> float:
        """Seconds that may be spent at a level, T = 8 h / 2^((L − criterion)/exchange)."""
        return 8 * 3600 * math.pow(2.0, (self.criterion_dba - level_dba) / self.exchange_db)

    def dose_pct(self, parts: Iterable[Part]) -> float:
        """The day's dose in % of what is allowed, D = 100·Σ C/T."""
        return 100 * math.fsum(part.seconds / self.allowed_s(part.level_dba) for part in parts)

    def twa_dba(self, dose_pct: float) -> float:
        """Eight-hour average level of a dose, as the rule prints it: criterion + factor·log10(D/100); −inf for none."""
        if dose_pct <= 0:
            return -math.inf
        return self.criterion_dba + self.twa_factor * math.log10(dose_pct / 100)

    def left_s(self, dose_pct: float, level_dba: float) -> float:
        """Seconds left at a level until the day's dose is 100 %; 0 once it is."""
        return max(0.0, 1 - dose_pct / 100) * self.allowed_s(level_dba)


NIOSH = Rule("NIOSH", 85, 3, 10.0)
"""NIOSH 98-126 (1998), Table 1-1: 85 dB(A) over 8 h, 3 dB exchange."""

OSHA = Rule("OSHA", 90, 5, 16.61)
"""29 CFR 1910.95 Appendix A: 90 dB(A) over 8 h, 5 dB exchange."""


class Limit(NamedTuple):
    """A limit in dB(A) as an average over a time in seconds, and who set it; `protected` where it counts protection."""

    what: str
    laeq_dba: float
    over_s: float
    protected: bool = False


LIMITS = (
    Limit("Directive 2003/10/EC, lower action value", 80, 8 * 3600),
    Limit("Directive 2003/10/EC, upper action value", 85, 8 * 3600),
    Limit("Directive 2003/10/EC, limit value", 87, 8 * 3600, protected=True),
    Limit("WHO safe listening venues and events (2022), audience", 100, 15 * 60),
)
"""Directive 2003/10/EC, Article 3 (as quoted): its action values leave hearing protectors out, its limit value counts
what they keep off. WHO global standard for safe listening venues and events (2022)."""


class Held(NamedTuple):
    """A limit and the level that is held against it, dB(A); None where that can't be told."""

    limit: Limit
    level_dba: float | None

    @property
    def over(self) -> bool:
        """Whether the level is known to be over the limit."""
        return self.level_dba is not None and self.level_dba > self.limit.laeq_dba


def held_to(parts: Sequence[Part], limits: Iterable[Limit], protection_db: float | None) -> tuple[Held, ...]:
    """The day against each limit; `protection_db` is what the protection that is worn keeps off, None if not known.

    A level that is within a limit without protection is within it with any.
    """
    found = []
    for limit in limits:
        level = averaged_dba(parts, limit.over_s)
        known = not limit.protected or protection_db is not None or level <= limit.laeq_dba
        found.append(Held(limit, level - (protection_db or 0.0) * limit.protected if known else None))
    return tuple(found)


def parse_part(text: str) -> Part:
    """The part in `rehearsal 94 dBA 1h30m`; ValueError says what is missing."""
    match = _PART.fullmatch(text.strip())
    if match is None:
        raise ValueError(f'"{text}" is not a part of the day; write NAME LEVEL dBA LENGTH: "rehearsal 94 dBA 1h30m"')
    level = float(match["level"].replace(",", "."))
    if not 0 <= level <= 194:
        raise ValueError(f'{level:g} dBA in "{text}" is not a sound level; it lies between 0 and 194')
    seconds = parse_spoken_length(match["length"])
    if seconds == 0:
        raise ValueError(f'"{text}" lasts no time; say how long, as in "rehearsal 94 dBA 1h30m"')
    if seconds > 24 * 3600:
        raise ValueError(f'"{match["length"]}" in "{text}" is longer than the day')
    return Part(match["name"], level, float(seconds))


def equivalent_dba(parts: Iterable[Part]) -> float:
    """LAeq in dB(A) over all parts together: the steady level with the same energy; −inf without any time."""
    held = [part for part in parts if part.seconds > 0]
    if not held:
        return -math.inf
    total = math.fsum(part.seconds for part in held)
    return 10 * math.log10(math.fsum(part.seconds * math.pow(10, part.level_dba / 10) for part in held) / total)


def day_dba(parts: Iterable[Part]) -> float:
    """Energy of all parts spread over eight hours, dB(A): LEX,8h of Directive 2003/10/EC; −inf without any time."""
    held = list(parts)
    total = math.fsum(part.seconds for part in held)
    return equivalent_dba(held) + 10 * math.log10(total / (8 * 3600)) if total > 0 else -math.inf


def averaged_dba(parts: Iterable[Part], over_s: float) -> float:
    """Loudest LAeq in dB(A) over `over_s` seconds of the day, the loudest parts taken as following one another."""
    left, energy = over_s, 0.0
    for part in sorted(parts, key=lambda part: -part.level_dba):
        heard = min(left, part.seconds)
        energy += heard * math.pow(10, part.level_dba / 10)
        left -= heard
    return 10 * math.log10(energy / over_s) if energy > 0 else -math.inf
