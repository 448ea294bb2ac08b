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
    does="With the system's ports given, looks for each port of the rig by its pattern.",
    why="A board that isn't there sends nothing, and a host that isn't there receives nothing.",
    example='[ports.floor] input = "Floor*", and no input whose name begins with Floor.',
    instead="Plug it in before the soundcheck; when a device has changed its name, change the pattern in the rig.",
)
