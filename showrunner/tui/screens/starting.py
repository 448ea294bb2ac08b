"""The way from the list of shows to a show that is played: begun, tried, joined, each asked where it is not plain."""

from typing import TYPE_CHECKING, Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from showrunner.book.problems import BookError
from showrunner.tui.screens.asked import STYLE, ProposalScreen, say_keys
from showrunner.tui.screens.book import UNTOLD
from showrunner.tui.screens.documents import DocumentsScreen
from showrunner.tui.screens.leaving import AskingScreen
from showrunner.tui.widgets.foot import Foot

if TYPE_CHECKING:
    from showrunner.live.broken_off import BrokenOff
    from showrunner.live.launch import Way
    from showrunner.live.picture import Client
    from showrunner.tui.beginning import Beginning


class BeginScreen(AskingScreen["Beginning | BrokenOff | None"]):
    """Whether a show is begun; gives how, or the run that is gone on with instead, None where nothing is done."""

    CSS = STYLE.format(name="BeginScreen")
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "begin", "Play it", id="begin.begin"),
        Binding("r", "resume", "Resume that run", id="begin.resume"),
        Binding("f", "full_house", "Full house", id="begin.full"),
        Binding("x,escape", "leave", "Leave it", id="begin.leave"),
    ]

    def __init__(self, wanted: "Beginning") -> None:
        super().__init__()
        self._wanted = wanted
        usual = "Try it" if wanted.night.simulated else "Play it"
        say_keys(self, {"begin.begin": "Begin anew" if wanted.why else usual})

    def compose(self) -> ComposeResult:
        with Vertical():
            yield Static(self._wanted.asks, id="asks", markup=False)
            with VerticalScroll():
                yield Static("\n".join(self._wanted.lines()), id="told", markup=False)
        yield Foot()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002
        """A full house can be chosen where the room has a trim for it, and the show has not begun."""
        if action == "resume":
            return self._wanted.left is not None
        return action != "full_house" or self._wanted.may_choose

    def action_full_house(self) -> None:
        """Count what the room adds for an audience, or leave it out."""
        night = self._wanted.night
        self._wanted = self._wanted._replace(night=night._replace(full_house=not night.full_house))
        self.query_one("#told", Static).update("\n".join(self._wanted.lines()))

    def action_begin(self) -> None:
        """Begin it so, or go on with it where it goes on by itself."""
        self.dismiss(self._wanted)

    def action_resume(self) -> None:
        """Go on with the run that broke off, as it was begun."""
        self.dismiss(self._wanted.left)

    def action_leave(self) -> None:
        """Begin nothing."""
        self.dismiss(None)


class StartingScreen(DocumentsScreen):
    """A screen that lists shows; `p` plays the one under the cursor, `t` tries it without hardware."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "play(False)", "Play", id="shows.play"),
        Binding("t", "play(True)", "Try it", id="shows.try", tooltip="Play it without hardware"),
    ]

    def action_play(self, simulated: bool) -> None:
        """Join the show under the cursor if it is being played so; else ask first."""
        slug = self.shelf.show
        if slug is None or not self.can_read("show", slug):
            return
        way = self.shelf.plays(slug)
        if way is None:
            self._ask_to_begin(slug, simulated)
        elif (way == "simulated") == simulated:
            self._joining(slug, simulated)
        else:
            self._ask_other_way(slug, way)

    def _ask_to_begin(self, slug: str, simulated: bool) -> None:
        from showrunner.tui.beginning import beginning

        def answered(taken: "Beginning | BrokenOff | None") -> None:
            if taken is None:
                return
            houses = self.shelf.full_houses
            (houses.add if taken.night.full_house else houses.discard)(slug)
            self._joining(slug, simulated, taken)

        try:
            wanted = beginning(self.shelf, slug, simulated=simulated)
        except BookError as error:
            self.say(error)
        else:
            self.app.push_screen(BeginScreen(wanted), answered)

    def _ask_other_way(self, slug: str, way: "Way") -> None:
        """The show plays otherwise than it was asked for: say so, and do nothing before that is answered."""
        title = self.shelf.book.shows[slug].title

        def answered(taken: bool | None) -> None:
            if taken and way == "real":
                self._joining(slug, simulated=False)
            elif taken:
                self.tell(f"ending {title} …")
                self._end_trial(slug)

        if way == "real":
            asks = f"{title} is being played on real ports"
            lines = "It can't be tried without hardware meanwhile: keys would step the show itself."
            question = ProposalScreen(asks, lines, "Join the show", "Leave it")
        else:
            asks = f"{title} is being played SIMULATED, without hardware"
            lines = "To play it on real ports ends that first. It was no night, and nothing of it is filed."
            question = ProposalScreen(asks, lines, "End it, then play", "Leave it")
        self.app.push_screen(question, answered)

    def tell(self, words: str) -> None:
        """Say something in place of what is told of the show under the cursor."""
        self.query_one(".detail", Static).update(words)

    def _joining(self, slug: str, simulated: bool, taken: "Beginning | BrokenOff | None" = None) -> None:
        self.tell("opening the show …")
        self._join(slug, simulated, taken)

    @work(thread=True, group="joining", exclusive=True, exit_on_error=False, description=UNTOLD)
    def _join(self, slug: str, simulated: bool, taken: "Beginning | BrokenOff | None") -> "Client":
        from showrunner.tui.beginning import Beginning, begin_anew, join, resume

        if taken is not None and not isinstance(taken, Beginning):
            return resume(self.shelf, slug, taken)
        if taken is not None and taken.why:
            return begin_anew(self.shelf, slug, simulated=simulated)
        return join(self.shelf, slug, simulated=simulated)

    @work(thread=True, group="trial ended", exit_on_error=False)
    def _end_trial(self, slug: str) -> str:
        self.shelf.end(slug)
        return slug

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A show that was joined opens; what can't be is said."""
        worker = event.worker
        result: Any = worker.result
        if worker.group not in ("joining", "trial ended"):
            return
        if event.state is WorkerState.SUCCESS and worker.group == "joining":
            self._open(result)
        elif event.state is WorkerState.SUCCESS:
            self._ask_to_begin(result, simulated=False)
        elif event.state is WorkerState.ERROR:
            from showrunner.live.link import LinkError

            error = worker.error
            self.say(error if isinstance(error, BookError) else BookError(str(error)))
            if not isinstance(error, BookError | LinkError | OSError):
                raise error or RuntimeError("joining the show failed")

    def _open(self, client: "Client") -> None:
        from showrunner.tui.screens.playing import PlayingScreen

        self.app.push_screen(PlayingScreen(client, settings=self.settings, root=self.shelf.root))
