"""The keys at the foot of a screen."""

from driving import driven, offers
from textual.app import App, ComposeResult
from textual.binding import Binding

from showrunner.tui.widgets.foot import Foot


class Bells(App[None]):
    BINDINGS = [  # noqa: RUF012
        Binding("r", "ring", "Ring the bell", tooltip="Once"),
        Binding("b", "ring", "As well"),
        Binding("s", "stop", "Stop it"),
        Binding("x", "leave", "Leave"),
        Binding("h", "hide", "Hidden", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.rung, self.stops = 0, False

    def compose(self) -> ComposeResult:
        yield Foot()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        return None if action == "stop" and not self.stops else True

    def action_ring(self) -> None:
        self.rung += 1

    def action_stop(self) -> None:
        self.rung = 0


def line(app: Bells) -> str:
    return app.query_one(Foot).render_line(0).text


@driven
async def test_each_action_has_its_first_key_and_none_is_cut(until) -> None:
    app = Bells()
    async with app.run_test(size=(34, 3)) as pilot:
        await until(pilot, lambda: line(app).strip() == "r Ring the bell s Stop it x Leave")
        await pilot.resize_terminal(32, 3)
        await until(pilot, lambda: line(app).strip() == "r Ring the bell s Stop it")
        assert [offer.key for offer in offers(app)] == ["r", "s"]


@driven
async def test_a_key_is_pressed_by_the_mouse_where_it_can_be(until) -> None:
    app = Bells()
    async with app.run_test(size=(40, 3)) as pilot:
        await until(pilot, lambda: offers(app))
        await pilot.click(Foot, offset=(3, 0))
        await pilot.click(Foot, offset=(15, 0))
        await pilot.click(Foot, offset=(18, 0))
        await pilot.click(Foot, offset=(38, 0))
        assert app.rung == 1
        app.stops = True
        app.refresh_bindings()
        await until(pilot, lambda: all(offer.enabled for offer in offers(app)))
        await pilot.click(Foot, offset=(18, 0))
        assert app.rung == 0


@driven
async def test_the_mouse_over_a_key_says_more_of_it(until) -> None:
    app = Bells()
    async with app.run_test(size=(40, 3)) as pilot:
        await until(pilot, lambda: offers(app))
        await pilot.hover(Foot, offset=(3, 0))
        assert app.query_one(Foot).tooltip == "Once"
        await pilot.hover(Foot, offset=(38, 0))
        assert app.query_one(Foot).tooltip is None
