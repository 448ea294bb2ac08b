"""Made shows, every order there is of their songs, and what each costs: a plain walk that shares no code with ours.

It knows the rules of a changeover as DEVELOPERS.md tells them, and works on the tables that the shows are made of.
Some of those say nothing about where a control rests, or which guitar a song is for, so that what a changeover takes
depends on all the songs before it.
"""

import random
from functools import cache
from itertools import combinations, permutations

HANDS = ("fretting hand", "picking hand")
APPLAUSE_S, BREAK_S = 12, 102
TUNINGS = {
    "E": ["E2", "A2", "D3", "G3", "B3", "E4"],
    "D": ["D2", "A2", "D3", "G3", "B3", "E4"],
    "open": ["D2", "A2", "D3", "F#3", "A3", "D4"],
}
GUITARS = {
    "red": {"tunings": TUNINGS, "carries": ["driver", "pickup"], "swap_s": 20},
    "blue": {"tunings": TUNINGS, "rest_tuning": "D", "retune_s_per_string": 3, "capo_s": 4},
    "black": {"tunings": {"E": TUNINGS["E"]}, "carries": ["tone"], "swap_s": 15},
}
CONTROLS = {
    "driver": {"kind": "selector", "positions": ["off", "low", "high"], "rest": "off", "limb": "picking hand"},
    "pickup": {"kind": "selector", "positions": ["neck", "bridge"], "rest": "neck", "seconds": 2},
    "tone": {"kind": "knob", "positions": ["dark", "bright"], "rest": "dark", "limb": "fretting hand", "seconds": 3},
    "fuzz": {"kind": "knob", "positions": ["low", "full"], "rest": "low", "limb": "picking hand"},
    "drive": {"kind": "knob", "positions": ["a", "b", "c"], "rest": "a", "limb": "fretting hand", "seconds": 4},
    "swell": {"kind": "pedal", "port": "board", "channel": 1, "cc": 11, "rest": 0, "limb": "right foot"},
    "floor": {
        "kind": "pedal",
        "port": "board",
        "channel": 1,
        "cc": 12,
        "rest": 100,
        "limb": "right foot",
        "seconds": 3,
    },
}
ON_GUITARS = {"driver", "pickup", "tone"}
PEDALS = {"swell", "floor"}


class Night:
    """A made show: its rig, its songs and its slots as tables, and what it costs to walk through an order of them."""

    def __init__(self, seed: int, complete: bool, most: int = 6) -> None:
        self.chance = chance = random.Random(seed)
        gaps = [] if complete else chance.sample(sorted(CONTROLS), chance.choice([0, 1, 2, 4, 7]))
        self.controls = {
            name: {key: value for key, value in control.items() if not (key == "rest" and name in gaps)}
            for name, control in CONTROLS.items()
        }
        self.rests = {name: control["rest"] for name, control in self.controls.items() if "rest" in control}
        names = "abcdef"[: chance.randint(3, most)]
        share = 0 if complete else chance.choice([0, 0.2, 0.5])
        self.songs = {name: self.a_song(share) for name in names}
        cut = chance.choice([len(names), chance.randint(1, len(names) - 1)])
        slots = [self.a_slot(name, names) for name in names]
        self.sets = [part for part in (slots[:cut], slots[cut:]) if part]
        self.encore = [name for name in "yz" if chance.random() < 0.25]
        self.songs |= {name: self.a_song(share) for name in self.encore}
        for number, part in enumerate(self.sets):
            if number + 1 < len(self.sets) or self.encore:
                part[-1]["then"] = chance.choice([None, "gap 0:05", "gap 0:20"])
                if part[-1]["then"] is None:
                    del part[-1]["then"]
            elif part[-1].get("then") == "segue":
                del part[-1]["then"]

    def a_song(self, share: float) -> dict:
        """A song that may say nothing about its guitar."""
        chance, song = self.chance, {}
        if chance.random() >= share:
            song["instrument"] = chance.choice(["red", "red", "blue", "black"])
        if song.get("instrument") != "black" and chance.random() < 0.5:
            song["tuning"] = chance.choice(["E", "D", "open"])
        if chance.random() < 0.25:
            song["capo"] = 2
        song["start"] = self.what_it_sets()
        if chance.random() < 0.6:
            song["cues"] = [{"name": "End", **self.what_it_sets()}]
        return song

    def what_it_sets(self) -> dict:
        """Some controls, by hand and by foot."""
        chance, by_hand, controls = self.chance, {}, {}
        for name, control in self.controls.items():
            if chance.random() < 0.25:
                if name in PEDALS:
                    controls[name] = chance.choice([0, 100])
                else:
                    by_hand[name] = chance.choice(control["positions"])
        return {"by_hand": by_hand, "controls": controls}

    def a_slot(self, name: str, names: str) -> dict:
        """A song in its set, perhaps pinned, perhaps with something written after it."""
        chance, slot = self.chance, {"song": name}
        if chance.random() < 0.5:
            slot["then"] = chance.choice(["talk 0:30", "talk 0:15", "gap 0:20", "segue"])
        if chance.random() < 0.15:
            slot["pin"] = chance.choice(["first", "last", "here", f"after {names[0]}", f"not after {names[0]}"])
        return slot

    @property
    def written(self) -> list[list[str]]:
        """The songs of each set."""
        return [[slot["song"] for slot in part] for part in self.sets]

    def rig(self) -> dict:
        """The rig as a table."""
        return {"ports": {"board": {"input": "*"}}, "controls": self.controls, "instruments": GUITARS}

    def ends(self, song: str, at: str) -> dict:
        """Where a song wants everything at its start, or leaves it at its end."""
        table, found = self.songs[song], dict(self.rests)
        for moment in [table["start"], *(table.get("cues", []) if at == "end" else [])]:
            found |= moment["by_hand"] | moment["controls"]
        return found

    def walk(self, line: list[str]) -> list[float]:
        """Seconds of each changeover of the songs in this order, the encore after them."""
        line, took = [*line, *self.encore], []
        guitar, tuning, capo, stands = self.songs[line[0]].get("instrument"), None, 0, dict(self.rests)
        for song in line:
            if song is not line[0]:
                took.append(least_s(self.jobs(guitar, tuning, capo, stands, song)))
            table = self.songs[song]
            held = table.get("instrument", guitar)
            if held != guitar:
                stands |= {name: self.rests[name] for name in carries(guitar) if name in self.rests}
            guitar, capo = held, table.get("capo", 0)
            tuning = table.get("tuning", home(guitar))
            for name, value in self.ends(song, "end").items():
                if name not in ON_GUITARS or name in carries(guitar):
                    stands[name] = value
        return took

    def jobs(self, guitar, tuning, capo, stands, song: str) -> tuple:
        """What is to be done before a song: seconds, limbs, and which of them come first."""
        table, stands, jobs = self.songs[song], dict(stands), []
        wants, held = self.ends(song, "start"), table.get("instrument", guitar)
        tuned = table.get("tuning", home(held))
        handling = []
        if held is not None:
            the = GUITARS[held]
            if held != guitar:
                handling.append(the.get("swap_s", 30))
                tuning, capo = home(held), 0
            turned = 0
            if tuned in the["tunings"]:
                new, old = the["tunings"][tuned], the["tunings"].get(tuning, ["?"] * 6)
                turned = sum(a != b for a, b in zip(old, new, strict=True))
            if turned:
                handling.append(turned * the.get("retune_s_per_string", 8))
            if capo != table.get("capo", 0):
                handling.append(the.get("capo_s", 10))
        if handling and "driver" in carries(guitar) and stands.get("driver", "off") != "off":
            jobs.append(self.a_move("driver", ()))
            stands["driver"] = "off"
        for seconds in handling:
            jobs.append((seconds, HANDS, (len(jobs) - 1,) if jobs else ()))
        if held != guitar:
            stands |= {name: self.rests[name] for name in carries(held) if name in self.rests}
        ready = (len(jobs) - 1,) if jobs else ()
        off = {name for name, value in wants.items() if stands.get(name) != value}
        jobs += [self.a_move(name, ready) for name in off & (carries(held) - {"driver"})]
        if "driver" in off & carries(held):
            jobs.append(self.a_move("driver", tuple(range(len(jobs)))))
        jobs += [self.a_move(name, ()) for name in off - ON_GUITARS]
        return tuple(jobs)

    def a_move(self, name: str, first: tuple) -> tuple:
        """Setting a control, after other jobs."""
        return self.seconds(name), (self.controls[name].get("limb", HANDS[1]),), first

    def seconds(self, name: str) -> float:
        """How long a control takes to set."""
        return self.controls[name].get("seconds", 2 if self.controls[name]["kind"] == "knob" else 1)

    def costs(self, sets: list[list[str]], ends_lose: bool = False) -> tuple[float, float]:
        """Seconds that the changeovers take, and seconds missing in their pauses.

        A set's last song leads into the break as written. A song that led there and does not now takes over what was
        written after the one that does; where songs change sets, `ends_lose` both.
        """
        thens = {slot["song"]: slot.get("then") for part in self.sets for slot in part}
        breaks = [thens[songs[-1]] for songs in self.written]
        leads_on = len(self.sets) if self.encore else len(self.sets) - 1
        for number, songs in enumerate(sets[:leads_on]):
            was, now = self.written[number][-1], songs[-1]
            if ends_lose:
                thens[was] = None
            elif was != now:
                thens[was] = thens[now]
        took = short = 0.0
        line = [song for songs in sets for song in songs]
        after = [
            *(wait for songs, on in zip(sets, breaks, strict=True) for wait in [*(thens[s] for s in songs[:-1]), on])
        ]
        over = [*(place == len(songs) - 1 for songs in sets for place in range(len(songs)))]
        after, over = [*after, *(None for _ in self.encore)], [*over, *(False for _ in self.encore)]
        for needs, then, is_break in zip(self.walk(line), after, over, strict=False):
            has = BREAK_S if is_break and then is None else seconds_of(then)
            short += max(0.0, needs - has)
            took += max(0.0, needs - has) if is_break else needs
        return took, short

    def allowed(self, sets: list[list[str]]) -> bool:
        """Whether pins and segues hold."""
        at = {song: (number, place) for number, songs in enumerate(sets) for place, song in enumerate(songs)}
        line = [song for songs in sets for song in songs]
        before = dict(zip(line[1:], line, strict=False))
        for number, part in enumerate(self.sets):
            for place, slot in enumerate(part):
                song, (pin, _, other) = slot["song"], (slot.get("pin") or "").rpartition(" ")
                kind = pin or other
                if slot.get("then") == "segue" and place + 1 < len(part):
                    follower = part[place + 1]["song"]
                    if at[follower] != (at[song][0], at[song][1] + 1):
                        return False
                if kind == "first" and at[song] != (number, 0):
                    return False
                if kind == "last" and at[song] != (number, len(sets[number]) - 1):
                    return False
                if kind == "here" and at[song] != (number, place):
                    return False
                if kind == "after" and song != other and (before.get(song) != other or at[other][0] != at[song][0]):
                    return False
                if kind == "not after" and song != other and before.get(song) == other:
                    return False
        return True

    def every_order(self) -> list[list[list[str]]]:
        """Every order of each set's own songs that is allowed."""
        ways = [[]]
        for songs in self.written:
            ways = [[*way, list(line)] for way in ways for line in permutations(songs)]
        return [way for way in ways if self.allowed(way)]

    def every_sharing(self) -> list[list[list[str]]]:
        """Every allowed order of all songs; songs last alike, so that every set keeps how many it has."""
        cut, line = len(self.written[0]), [song for songs in self.written for song in songs]
        ways = [[list(way[:cut]), list(way[cut:])] for way in permutations(line)]
        return [way for way in ways if self.allowed(way)]

    def every_swap(self, sets: list[list[str]]) -> list[list[list[str]]]:
        """Every exchange of two songs of one set, allowed or not."""
        found = []
        for number, songs in enumerate(sets):
            for a, b in combinations(range(len(songs)), 2):
                now = list(songs)
                now[a], now[b] = now[b], now[a]
                found.append([*sets[:number], now, *sets[number + 1 :]])
        return found


def carries(guitar: str | None) -> set[str]:
    """The controls on a guitar."""
    return set(GUITARS[guitar].get("carries", ())) if guitar is not None else set()


def home(guitar: str | None) -> str | None:
    """The tuning that a guitar rests in."""
    return None if guitar is None else GUITARS[guitar].get("rest_tuning", "E")


def seconds_of(then: str | None) -> float:
    """How long what follows a song lasts."""
    if then is None:
        return APPLAUSE_S
    return 0 if then == "segue" else float(then.split(":")[1])


@cache
def least_s(jobs: tuple) -> float:
    """The least time for jobs that share hands and feet: every order in which one can be begun after another."""
    best = float("inf")
    todo = [((), {}, {})]
    while todo:
        done, free, ends = todo.pop()
        if len(done) == len(jobs):
            best = min(best, max(ends.values(), default=0.0))
        for number, (seconds, limbs, first) in enumerate(jobs):
            if number in done or not set(first) <= set(done):
                continue
            begins = max([0.0, *(free.get(limb, 0.0) for limb in limbs), *(ends[each] for each in first)])
            if begins + seconds < best:
                end = begins + seconds
                todo.append(((*done, number), free | dict.fromkeys(limbs, end), ends | {number: end}))
    return best
