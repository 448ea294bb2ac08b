"""What a screen asked for and the show has not done yet."""

import pytest

from showrunner.live import orders
from showrunner.live.orders import Orders


def test_every_order_has_a_name_of_its_own_whichever_screen_it_is_from() -> None:
    names = {of.new({"ask": "next"})["id"] for of in (Orders(), Orders()) for _ in range(3)}
    assert len(names) == 6


def test_what_is_done_is_asked_for_no_more() -> None:
    of = Orders()
    first, second = of.new({"ask": "next"}), of.new({"ask": "back"})
    of.done([first["id"]])
    assert of.late() == ([second], 0)


def test_an_order_is_asked_for_again_each_time_the_show_is_back_until_it_is_done() -> None:
    of = Orders()
    order = of.new({"ask": "next"})
    assert [of.late() for _ in range(2)] == [([order], 0)] * 2
    of.done([order["id"]])
    assert of.late() == ([], 0)


def test_an_old_order_is_dropped_and_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(orders, "UNSENT_FOR_S", 0.0)
    of = Orders()
    of.new({"ask": "next"})
    assert of.late() == ([], 1)
