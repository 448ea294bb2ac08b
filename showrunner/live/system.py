"""The system's MIDI ports: as they are now, and the system itself for whoever opens them."""

from showrunner.checks.context import SystemPorts
from showrunner.live.binding import RtMidiSystem


def system_ports() -> SystemPorts:
    """Names of the inputs and outputs that are there now; PortError if the system doesn't answer."""
    system = RtMidiSystem()
    try:
        return SystemPorts(system.inputs(), system.outputs())
    finally:
        system.close()
