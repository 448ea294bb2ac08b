"""Whether the computer runs on mains power, as far as the system tells."""

import ctypes
import subprocess
import sys
from pathlib import Path

SUPPLIES = Path("/sys/class/power_supply")
ANSWERS_WITHIN_S = 2.0


def on_mains() -> bool | None:
    """Whether mains power comes in; None where the system doesn't tell."""
    if sys.platform == "win32":
        return _of_windows()
    if sys.platform == "darwin":
        return _of_macos()
    return of_supplies(SUPPLIES)


def of_supplies(folder: Path) -> bool | None:
    """The same from Linux's folder of power supplies (sysfs-class-power): `type` and `online` or `status` of each."""
    online, charges = [], []
    for supply in sorted(folder.glob("*")):
        kind = _read(supply / "type")
        if kind in ("Mains", "USB") and _read(supply / "online") in ("0", "1"):
            online.append(_read(supply / "online") == "1")
        elif kind == "Battery" and _read(supply / "scope") != "Device":
            charges.append(_read(supply / "status"))
    if online:
        return any(online)
    if "Discharging" in charges:
        return False
    return True if "Charging" in charges else None


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        return ""


def _of_macos() -> bool | None:
    try:
        said = subprocess.run(
            ["pmset", "-g", "ps"], capture_output=True, text=True, timeout=ANSWERS_WITHIN_S, check=False
        ).stdout
    except (OSError, subprocess.TimeoutExpired):
        return None
    return True if "AC Power" in said else False if "Battery Power" in said else None


def _of_windows() -> bool | None:
    """SYSTEM_POWER_STATUS begins with ACLineStatus: 0 off line, 1 on line, 255 unknown (Win32, winbase.h)."""
    status = (ctypes.c_ubyte * 12)()
    if not ctypes.windll.kernel32.GetSystemPowerStatus(status):  # type: ignore[attr-defined]
        return None
    return {0: False, 1: True}.get(status[0])
