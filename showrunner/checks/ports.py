"""Rules on ports: what has to be plugged in, and which way each carries."""

from collections.abc import Iterator

from showrunner.checks.context import Context
from showrunner.checks.finding import Finding, Rule
from showrunner.checks.words import listed
from showrunner.model.ports import matching


def _unplugged(context: Context) -> Iterator[Finding]:
    if context.ports is None:
        return
    for name, port in context.rig.ports.items():
        sides = (("input", port.input, context.ports.inputs), ("output", port.output, context.ports.outputs))
        for side, pattern, there in sides:
            if pattern is not None and not matching(pattern, there):
                seen = f"there is {listed(sorted(there))}" if there else f"the system has no {side} at all"
                yield UNPLUGGED.in_file(
                    "rig",
                    context.rig_slug,
                    ("ports", name, side),
                    what=f'no {side} fits "{pattern}", the port "{name}" of {context.rig.title}; {seen}',
                    why=_DEAF if side == "input" else _DUMB,
                    mend="Plug it in and switch it on; if it is there under another name, change the pattern "
                    "(* stands for any text).",
                )


_DEAF = "Nothing that is played on its controls is heard."
_DUMB = "Nothing reaches the device behind it: no program, no target."

UNPLUGGED = Rule(
    name="unplugged",
    level="error",
    find=_unplugged,
    looks_for="A port of the rig whose pattern fits nothing that is plugged in; looked at with --ports.",
    because="A board that isn't there sends nothing, and a host that isn't there receives nothing.",
    such_as='[ports.floor] input = "Floor*", and no input whose name begins with Floor.',
    fix="Plug it in before the soundcheck; when a device has changed its name, change the pattern in the rig.",
)


def _ambiguous_port(context: Context) -> Iterator[Finding]:
    if context.ports is None:
        return
    for name, port in context.rig.ports.items():
        sides = (("input", port.input, context.ports.inputs), ("output", port.output, context.ports.outputs))
        for side, pattern, there in sides:
            fitting = sorted(set(matching(pattern, there))) if pattern is not None else []
            if len(fitting) > 1:
                yield AMBIGUOUS_PORT.in_file(
                    "rig",
                    context.rig_slug,
                    ("ports", name, side),
                    what=f'"{pattern}" of the port "{name}" fits {listed(fitting)}',
                    why="Which of them is used may change with the order they were plugged in.",
                    mend="Write more of the name, until only one fits.",
                )


AMBIGUOUS_PORT = Rule(
    name="ambiguous-port",
    level="warning",
    find=_ambiguous_port,
    looks_for="A pattern of the rig that fits more than one port of the system; looked at with --ports.",
    because="The show may be sent to the wrong device.",
    such_as='output = "*" with two interfaces plugged in.',
    fix="Write as much of the name as tells the devices apart.",
)


def _one_way_port(context: Context) -> Iterator[Finding]:
    ports = context.rig.ports
    for name, control in sorted(context.rig.controls.items()):
        port = ports.get(control.port) if control.port is not None else None
        if control.port is not None and (port is None or port.input is None):
            yield _one_way(context, "controls", name, control.port, "input", port is None)
    for name, target in sorted(context.rig.targets.items()):
        port = ports.get(target.port)
        if port is None or not port.sends:
            yield _one_way(context, "targets", name, target.port, "output", port is None)


def _one_way(context: Context, table: str, name: str, port: str, side: str, gone: bool) -> Finding:
    lacks = f'is on the port "{port}", which {context.rig.title} doesn\'t have' if gone else _no_side(port, side)
    return ONE_WAY_PORT.in_file(
        "rig",
        context.rig_slug,
        (table, name, "port"),
        what=f'"{name}" {lacks}',
        why=_DEAF if table == "controls" else _DUMB,
        mend=f'Give [ports."{port}"] an {side}, or put "{name}" on a port that has one.',
    )


def _no_side(port: str, side: str) -> str:
    return f'is on the port "{port}", which has no {side}'


ONE_WAY_PORT = Rule(
    name="one-way-port",
    level="error",
    find=_one_way_port,
    looks_for="A control on a port without an input, or a target on a port without an output.",
    because="Nothing can be heard or sent there.",
    such_as='[targets.drive] port = "floor", where [ports.floor] has only an input.',
    fix="Name the port that carries it the right way.",
)


def _own_port(context: Context) -> Iterator[Finding]:
    own = {name: port.virtual for name, port in sorted(context.rig.ports.items()) if port.virtual is not None}
    seen = context.ports
    for index, (name, virtual) in enumerate(own.items()):
        twin = next((other for other in list(own)[:index] if own[other] == virtual), None)
        if twin is not None:
            what = f'the ports "{twin}" and "{name}" both make a port of the name "{virtual}"'
        elif seen is not None and not seen.virtual:
            what = f'the port "{name}" is to be made as "{virtual}", and this system lets no program make ports'
        elif seen is not None and virtual in (*seen.inputs, *seen.outputs):
            what = f'the port "{name}" is to be made as "{virtual}", and there is one of that name already'
        else:
            continue
        yield OWN_PORT.in_file(
            "rig",
            context.rig_slug,
            ("ports", name, "virtual"),
            what=what,
            why="The host finds no port, or listens to the wrong one.",
            mend="Choose a name that nothing else has; where the system makes no ports, name a loopback driver's as "
            "output.",
        )


OWN_PORT = Rule(
    name="own-port",
    level="error",
    find=_own_port,
    looks_for="A port that Showrunner makes itself under a name that is used twice or already there, or on a "
    "system that lets no program make ports.",
    because="Two ports of one name can't be told apart, and a taken name gets a number that the host doesn't expect.",
    such_as='[ports.host] virtual = "Showrunner" and [ports.lights] virtual = "Showrunner".',
    fix="Give each a name of its own; on a system without virtual ports use a loopback driver.",
)
