"""How findings put names and numbers into words."""

from collections.abc import Iterable


def listed(names: Iterable[str]) -> str:
    """Names in quotes, as in `"a", "b" and "c"`; each once, in the order given."""
    quoted = [f'"{name}"' for name in dict.fromkeys(names)]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}" if quoted else ""


def amount(value: float, unit: str) -> str:
    """A value with its unit, short of needless digits: `-12 dB`."""
    return f"{round(value, 2):g} {unit}"


def seconds(value: float) -> str:
    """A time a player would say: `0.5 s`."""
    return f"{round(value, 1):g} s"


def seconds_compared(*values: float) -> tuple[str, ...]:
    """Times that are compared, with as many decimals as tell apart those that differ, up to three."""
    texts = (tuple(f"{round(value, decimals):g} s" for value in values) for decimals in (1, 2, 3))
    different = len({round(value, 3) for value in values})
    return next((text for text in texts if len(set(text)) == different), tuple(f"{value:.3f} s" for value in values))


OFFERED = 6
"""More names than this are not listed; nobody reads on."""


def offer(names: Iterable[str], what: str) -> str:
    """What there is to choose from, the first few of it: `; it has "a" and "b"`, or nothing if there is none."""
    known = sorted(names)
    more = f" and {len(known) - OFFERED} more" if len(known) > OFFERED else ""
    return f"; {what} {listed(known[:OFFERED])}{more}" if known else ""
