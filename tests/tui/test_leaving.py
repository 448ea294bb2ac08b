"""What is still under way for a screen as it is left, and pages of lists that have no room, make nothing fall over."""

import asyncio

from textual.app import App, ComposeResult
from textual.command import CommandList
from textual.events import Callback
from textual.widgets.option_list import Option
from textual.worker import Worker, WorkerState

from showrunner.places import demo_book
from showrunner.tui.app import Screens, place
from showrunner.tui.palette import Palette
from showrunner.tui.screens.asked import LineScreen
from showrunner.tui.screens.leaving import LeavingScreen
from showrunner.tui.shelf import Shelf
from showrunner.tui.widgets.options import Options


def songs() -> Screens:
    return Screens(place("songs")(Shelf(demo_book())))


def test_a_screen_that_is_taken_away_does_nothing_any_more() -> None:
    async def driven() -> list[str]:
        done: list[str] = []
        app: App[None] = App()
        async with app.run_test():
            screen = LeavingScreen[None]()
            await app.push_screen(screen)
            await screen._dispatch_message(Callback(callback=lambda: done.append("there")))
            removed = screen.remove()
            await screen._dispatch_message(Callback(callback=lambda: done.append("leaving")))
            await removed
        return done

    assert asyncio.run(driven()) == ["there"]


def test_what_a_worker_found_for_a_screen_that_is_taken_away_is_let_go_of() -> None:
    class Way:
        closed = False

        def close(self) -> None:
            self.closed = True

    async def driven() -> Way:
        app: App[None] = App()
        async with app.run_test():
            screen = LeavingScreen[None]()
            await app.push_screen(screen)
            worker = screen.run_worker(Way, thread=True)
            way = await worker.wait()
            removed = screen.remove()
            await screen._dispatch_message(Worker.StateChanged(worker, WorkerState.SUCCESS))
            await removed
        return way

    assert asyncio.run(driven()).closed


def test_what_was_to_be_done_once_all_is_painted_is_not_on_a_screen_that_is_left() -> None:
    async def driven() -> list[str]:
        done: list[str] = []
        app: App[None] = App()
        async with app.run_test() as pilot:
            screen = LeavingScreen[None]()
            await app.push_screen(screen)
            screen.call_after_refresh(done.append, "there")
            await pilot.pause()
            screen.call_after_refresh(done.append, "left")
            app.pop_screen()
            await pilot.pause()
        return done

    assert asyncio.run(driven()) == ["there"]


def test_the_list_of_all_keys_may_be_left_while_it_still_looks() -> None:
    async def driven() -> bool:
        app = songs()
        async with app.run_test() as pilot:
            await pilot.press("question_mark")
            palette, commands = app.screen, app.screen.query_one(CommandList)
            assert isinstance(palette, Palette)
            await pilot.press("escape")
            palette._refresh_command_list(commands, [], True)
            palette._start_no_matches_countdown("x")
            palette._list_visible = not palette._list_visible
            await pilot.pause()
            return app.is_running and app.return_code is None

    assert asyncio.run(driven())


def test_the_list_of_all_keys_has_no_pages_on_a_terminal_of_one_cell() -> None:
    async def driven() -> bool:
        app = songs()
        async with app.run_test(size=(1, 1)) as pilot:
            await pilot.press("question_mark", "pageup", "pagedown", "escape")
            return app.is_running and app.return_code is None

    assert asyncio.run(driven())


def test_a_list_that_was_not_laid_out_has_no_pages() -> None:
    class Small(App[None]):
        def compose(self) -> ComposeResult:
            yield Options(*(Option(str(number)) for number in range(9)))

    async def driven() -> int | None:
        app = Small()
        async with app.run_test(size=(20, 6)) as pilot:
            options = app.query_one(Options)
            options.highlighted = 0
            options.styles.height = options.styles.width = 0
            await pilot.pause()
            await pilot.press("pageup", "pagedown")
            return options.highlighted

    assert asyncio.run(driven()) == 0


def test_a_question_that_is_left_twice_takes_nothing_else_away() -> None:
    async def driven() -> list[str]:
        app = songs()
        async with app.run_test() as pilot:
            asked = LineScreen("What?")
            await app.push_screen(asked)
            asked.action_leave()
            asked.action_leave()
            await pilot.pause()
            return [type(each).__name__ for each in app.screen_stack][1:]

    assert asyncio.run(driven()) == ["RepertoireScreen"]


def test_no_way_leads_from_a_question_to_another_screen() -> None:
    async def driven() -> list[str]:
        app = songs()
        async with app.run_test() as pilot:
            below = app.screen
            await app.push_screen(LineScreen("What?"))
            below.action_go("set")
            await pilot.pause()
            return [type(each).__name__ for each in app.screen_stack][1:]

    assert asyncio.run(driven()) == ["RepertoireScreen", "LineScreen"]


def test_the_list_of_all_keys_opens_again_before_it_is_quite_gone() -> None:
    async def driven() -> bool:
        app = songs()
        async with app.run_test() as pilot:
            app.action_command_palette()
            app.screen.dismiss()
            app.action_command_palette()
            await pilot.pause()
            return isinstance(app.screen, Palette)

    assert asyncio.run(driven())
