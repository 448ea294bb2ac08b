"""The machine's clock that counts sleep, and the number of its start."""

import time

import pytest

from showrunner.live.uptime import boot, slept_s, uptime_s


def test_the_machine_goes_on_as_the_clock_that_counts_no_sleep_does_while_it_is_awake() -> None:
    slept, up = slept_s(), uptime_s()
    began_s = time.perf_counter()
    time.sleep(0.05)
    gone_s = time.perf_counter() - began_s
    assert uptime_s() - up == pytest.approx(gone_s, abs=1.0)
    assert slept_s() - slept < 0.5
    assert boot() == boot()


def test_a_machine_that_has_slept_for_an_hour_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a time namespace whose CLOCK_BOOTTIME is ahead of CLOCK_MONOTONIC; see tests/stress/clocks.py."""
    slept, up = slept_s(), uptime_s()
    real = time.clock_gettime
    monkeypatch.setattr(time, "clock_gettime", lambda clock: real(clock) + 3600.0 * (clock == time.CLOCK_BOOTTIME))
    assert slept_s() - slept == pytest.approx(3600.0, abs=1.0)
    assert uptime_s() - up == pytest.approx(3600.0, abs=60.0)
