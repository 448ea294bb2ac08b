"""The rig: which of its ports are there, what its controls say, values tried by hand, and calibration."""

import time
from collections.abc import Callable
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from showrunner.checks.finding import Finding
from showrunner.curves.travel import raw_of
from showrunner.live.kept import real_system
from showrunner.live.picture import Client
from showrunner.live.ports import System
from showrunner.model.rig import Rig
from showrunner.tui.asking import Asking, has_travel
from showrunner.tui.following import playing_now
from showrunner.tui.plugged import Plugged, Pretended, Seen, seen_in_show
from showrunner.tui.rig_words import (
    about,
    asked_lines,
    beside_usual,
    content_of,
    control_lines,
    in_large,
    names_of,
    no_rig,
    plugged_words,
    port_lines,
    still_at,
    target_lines,
)
from showrunner.tui.screens.book import BookScreen
from showrunner.tui.shelf import told
from showrunner.tui.widgets.bigtype import BigType

FRAMES_PER_S = 30
NUDGE_PCT = 5.0
SIDE_BY_SIDE_FROM = 118
"""Columns from which controls and targets stand side by side, below that one of them is shown."""
LARGE_FROM = 34
"""Rows from which what was heard last stands in large letters too, for a look from the floor board."""


class RigScreen(BookScreen):
    """One rig, listened to on the system's ports or moved by keys; while it plays a show it is only looked at."""

    place = "rig"
    AUTO_FOCUS = ""
    CSS_PATH: ClassVar[list[str]] = ["book.tcss", "rig.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "answer", "It is there", id="rig.answer"),
        Binding("y", "keep", "Keep it", id="rig.keep"),
        Binding("escape", "leave", "Leave it", id="rig.leave"),
        Binding("up", "choose(-1)", "Up", id="rig.up", show=False),
        Binding("down", "choose(1)", "Down", id="rig.down", show=False),
        Binding("comma", "nudge(-1)", "To heel", id="rig.heelwards"),
        Binding("full_stop", "nudge(1)", "To toe", id="rig.toewards"),
        Binding("h", "put(0)", "Heel", id="rig.heel", show=False),
        Binding("e", "put(100)", "Toe", id="rig.toe", show=False),
        Binding("c", "calibrate", "Calibrate", id="rig.calibrate"),
        Binding("t", "other_list", "Other list", id="rig.list"),
        Binding("enter", "try_value", "Try a value", id="rig.try"),
        Binding("w", "without", "No hardware", id="rig.without"),
        Binding("o", "other_rig", "Rigs", id="rig.other"),
    ]
    system_of: Callable[[], System] = staticmethod(real_system)

    def parts(self) -> ComposeResult:
        yield Static(id="head", markup=False)
        yield Static(id="ports", markup=False)
        with Horizontal(id="lists"):
            yield Static(id="controls")
            yield Static(id="targets")
        yield BigType(id="heard")
        yield Input(id="value", select_on_focus=True)
        yield Static(classes="detail", markup=False)

    def open_up(self) -> None:
        """The rig of the show at hand, on the system's ports."""
        show = self.shelf.book.shows.get(self.shelf.show or "")
        self._slug = self.shelf.chosen.pop(self.place, None) or self.shelf.book.rig_of(show)
        self._list, self._at = "controls", {"controls": 0, "targets": 0}
        self._plugged: Plugged | None = None
        self._played: Client | None = None
        self._asking: Asking | None = None
        self._known: Rig | None = None
        self.seen = Seen()
        self._words: dict[str, str] = {}
        self._heard: str | None = None
        self._found: list[str] = []
        self._beside: list[str] = []
        self._looking = True
        self.query_one("#value").display = False
        super().open_up()
        self._look_for_show()
        self.set_interval(1 / FRAMES_PER_S, self.look)

    def on_unmount(self) -> None:
        """Let go of the ports."""
        self._let_go()

    def on_resize(self) -> None:
        """Side by side, or one list; large letters where there is room."""
        self.query_one("#heard").display = self.size.height >= LARGE_FROM
        self.set_class(self.size.width < SIDE_BY_SIDE_FROM, "-narrow")
        self.call_after_refresh(self._draw)

    @property
    def rig(self) -> Rig | None:
        """The rig at hand."""
        return self.shelf.book.rigs.get(self._slug or "")

    def at_hand(self) -> tuple[str, str] | None:
        """The rig's file."""
        return ("rig", self._slug) if self._slug is not None else None

    @property
    def pretended(self) -> bool:
        """Whether keys move the rig, with nothing plugged in."""
        return isinstance(self._plugged, Pretended)

    def fill(self) -> None:
        """The rig as its file says now; ports stay open where nothing about them has changed."""
        rig, known, self._known = self.rig, self._known, self.rig
        self._at = still_at(known, rig, self._at)
        if rig is not None and self._plugged is not None and rig is not known and not self._plugged.take(rig):
            self._plug(Pretended(rig) if self.pretended else Plugged(rig, self.system_of))
        elif rig is not None and known is None and not self._looking and self._plugged is None and self._played is None:
            self._looking = True
            self._look_for_show()
        self._beside = beside_usual(self.shelf.book, self._slug, rig) if rig is not None else []
        self._find(self._slug or "")
        self._draw()

    def look(self) -> None:
        """Take what is newest and show what is different about it."""
        if self._played is not None:
            seen = seen_in_show(self._played.picture())
        elif self._plugged is not None:
            if self.pretended:
                self._plugged.turn()
            seen = self._plugged.seen
            if self._asking is not None and self._asking.listen(self._plugged.readings, time.perf_counter()):
                self._changed()
        else:
            return
        if seen != self.seen:
            moved = [name for name, raw in seen.raws.items() if self.seen.raws.get(name) != raw]
            self._heard = moved[-1] if moved else self._heard if self._heard in seen.raws else None
            self.seen = seen
            self._draw()

    def action_choose(self, way: int) -> None:
        """The next entry of the list at hand, or the one before."""
        rig = self.rig
        if rig is not None and self._asking is None:
            last = len(names_of(rig)[self._list]) - 1
            self._at[self._list] = max(0, min(self._at[self._list] + way, last))
            self._changed()

    def action_other_list(self) -> None:
        """From controls to targets, and back."""
        self._list = "targets" if self._list == "controls" else "controls"
        self._changed()

    def action_nudge(self, way: int) -> None:
        """Move the control at hand a little."""
        name = self._at_hand("controls")
        self._move((self.seen.travels.get(name, 0.0) if name is not None else 0.0) + way * NUDGE_PCT)

    def action_put(self, travel: float) -> None:
        """Put the control at hand to heel or toe."""
        self._move(travel)

    def action_without(self) -> None:
        """On the system's ports, or with nothing plugged in."""
        rig = self.rig
        if rig is not None:
            self._plug(Plugged(rig, self.system_of) if self.pretended else Pretended(rig))

    def action_other_rig(self) -> None:
        """The book's next rig."""
        slug, pretended = self.another("rig", self.shelf.reading.slugs("rig"), self._slug), self.pretended
        if slug is None:
            return
        self._slug, self._at = slug, {"controls": 0, "targets": 0}
        self._known = rig = self.rig
        self._let_go()
        if pretended and rig is not None:
            self._plug(Pretended(rig))
        else:
            self._looking = True
            self._look_for_show()
        self.fill()

    def action_try_value(self) -> None:
        """Type a value for the target at hand."""
        rig, name = self.rig, self._at_hand("targets")
        if rig is None or name is None:
            return
        target, entry = rig.targets[name], self.query_one("#value", Input)
        entry.value = "" if target.rest is None or target.level else f"{target.rest:g}"
        entry.placeholder = f"{name}, {target.unit}"
        entry.display = True
        entry.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter sends the value, once."""
        rig, name = self.rig, self._at_hand("targets")
        try:
            value = float(event.value.strip().replace(",", "."))
        except ValueError:
            self.notify(f'"{event.value}" is not a number', severity="error")
            return
        if rig is None or name is None or self._plugged is None:
            return
        low, high = sorted(rig.targets[name].range)
        if not low <= value <= high:
            self.notify(f"{name} goes from {low:g} to {high:g} {rig.targets[name].unit}", severity="error")
            return
        self._plugged.send(name, value)
        self.action_leave()

    def action_calibrate(self) -> None:
        """Begin to ask for what a calibration of the control at hand needs."""
        rig, name = self.rig, self._at_hand("controls")
        if rig is not None and name is not None and self._plugged is not None:
            self._asking = Asking(rig, name, pretended=self.pretended)
            self._plugged.readings.clear()
            self._changed()

    def action_answer(self) -> None:
        """The control is where it was asked to be."""
        if self._asking is not None:
            self._asking.answer(time.perf_counter())
            self._changed()

    def action_keep(self) -> None:
        """Write the calibration that was found into the rig's file."""
        asking = self._asking
        if asking is None or asking.found is None or self._slug is None:
            return
        if self.edit("rig", self._slug, ("controls", asking.control, "calibration"), asking.pairs):
            self.action_leave()

    def action_leave(self) -> None:
        """Leave the calibration or the value as it was."""
        entry = self.query_one("#value", Input)
        if entry.display:
            entry.display = False
            self.set_focus(None)
        else:
            self._asking = None
        self._changed()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done now is in the footer; nothing is sent or moved while the rig plays a show."""
        if not self.is_mounted or not hasattr(self, "_asking"):
            return True
        asking, plugged = self._asking, self._plugged is not None
        match action:
            case "answer":
                return asking is not None and not asking.over
            case "keep":
                return asking is not None and asking.found is not None
            case "leave":
                return asking is not None or bool(self.query_one("#value").display)
            case "calibrate":
                can = asking is None and plugged and self._list == "controls"
                return can and has_travel(self.rig, self._at_hand("controls"))
            case "nudge" | "put":
                return asking is None and self.pretended and self._list == "controls"
            case "try_value":
                return asking is None and plugged and self._list == "targets"
            case "other_list" | "without" | "other_rig":
                return asking is None and (self.rig is not None or action == "other_rig")
        return super().check_action(action, parameters)

    @work(thread=True, group="under way", exclusive=True)
    def _look_for_show(self) -> Client | None:
        return playing_now(self.shelf.root, self.shelf.book.shows, on_ports=True)

    @work(thread=True, group="findings", exclusive=True)
    def _find(self, slug: str) -> tuple[str, tuple[Finding, ...]]:
        found = self.shelf.findings(self.shelf.show)
        return slug, tuple(finding for finding in found if finding.kind == "rig" and finding.slug == slug)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """What a worker found is shown here, on the screen's own thread."""
        if event.state is not WorkerState.SUCCESS:
            return
        result: Any = event.worker.result
        if event.worker.group == "under way":
            self._looked(result)
        elif event.worker.group == "findings" and result[0] == self._slug:
            self._found = [told(each) for each in result[1]] or ["nothing found that will go wrong with this rig"]
            self._tell()

    def _looked(self, client: Client | None) -> None:
        """Only look on while a show plays; else open the rig's ports."""
        rig, wanted = self.rig, self._looking
        self._looking = False
        night = client.night if client is not None else None
        if client is not None and (not wanted or night is None or night.rig != self._slug):
            client.close()
        elif client is not None:
            self._played = client
        if wanted and client is None and rig is not None:
            self._plug(Plugged(rig, self.system_of))
        elif wanted and night is not None and self._played is None:
            self.notify(f"{night.the_show.title} is being played on another rig; no port is opened for this one")
        self._changed()

    def _plug(self, plugged: Plugged) -> None:
        self._let_go()
        self._plugged = plugged
        if isinstance(plugged, Pretended):
            plugged.turn()
        else:
            plugged.start()
        self.seen = plugged.seen
        self._changed()

    def _let_go(self) -> None:
        self._looking, self._asking = False, None
        if self._plugged is not None:
            self._plugged.stop()
        if self._played is not None:
            self._played.close()
        self._plugged, self._played, self.seen, self._heard = None, None, Seen(), None

    def _at_hand(self, of: str) -> str | None:
        rig = self.rig
        names = names_of(rig)[of] if rig is not None else ()
        return names[min(self._at[of], len(names) - 1)] if names else None

    def _move(self, travel: float) -> None:
        rig, name = self.rig, self._at_hand("controls")
        if isinstance(self._plugged, Pretended) and rig is not None and name is not None:
            if not rig.controls[name].by_hand:
                self._plugged.move(name, raw_of(rig.controls[name], min(100.0, max(0.0, travel))))
            self.look()

    def _changed(self) -> None:
        self.refresh_bindings()
        self._draw()

    def _draw(self) -> None:
        rig = self.rig
        if rig is None:
            self._words.clear()
            for part in ("#head", "#ports", "#controls", "#targets"):
                self._say(part, no_rig(self.shelf.reading, self._slug)[0] if part == "#head" else "")
            self._tell()
            return
        self._say("#head", self._head_words(rig))
        self._say("#ports", "\n".join(port_lines(rig, self.seen)))
        heard = in_large(self._heard, rig, self.seen) if self._heard is not None else None
        self.query_one("#heard", BigType).say([heard] if heard is not None else [])
        narrow = self.has_class("-narrow")
        for name, lines in (("controls", control_lines), ("targets", target_lines)):
            side = self.query_one(f"#{name}", Static)
            side.display = not narrow or self._list == name
            side.set_class(self._list == name, "-at-hand")
            width, height = side.content_size
            if side.display and width and height:
                said = lines(rig, self.seen, self._at[name], width, height)
                side.update(content_of(said, at_hand=self._list == name), layout=False)
        self._tell()

    def _head_words(self, rig: Rig) -> str:
        night = self._played.night if self._played is not None else None
        if night is not None:
            return f"{rig.title} · {night.the_show.title} is being played on it: only looked at from here"
        if self._plugged is None:
            return f"{rig.title} · looking …"
        return plugged_words(rig, self.seen, pretended=self.pretended)

    def _tell(self) -> None:
        self._say(".detail", "\n".join(self._details()))

    def _say(self, part: str, words: str) -> None:
        """Only what is different is laid out anew."""
        if self._words.get(part) != words:
            self._words[part] = words
            self.query_one(part, Static).update(words)

    def _details(self) -> list[str]:
        rig, asking = self.rig, self._asking
        if rig is None or asking is not None:
            return asked_lines(asking, rig) if rig and asking else no_rig(self.shelf.reading, self._slug)[1:]
        name = self._at_hand(self._list)
        lines = about(name, self._list, rig, self.seen) if name is not None else []
        return [*lines, *self._beside, *self._found]
