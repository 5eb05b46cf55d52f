"""Which time zone this machine keeps: a first guess at the bakery's. No Django."""

import os
from pathlib import Path
from zoneinfo import ZoneInfo

UTC = "UTC"
# Also how a machine that was never told says that it was not.
SAYS_NOTHING = frozenset({"", UTC, "Etc/UTC", "Etc/UCT", "UCT", "Universal", "Zulu"})
# Where systems say it: as a name of its own, or as a link into the zone files.
ZONE_NAME_FILE = Path("/etc/timezone")
ZONE_LINK = Path("/etc/localtime")
ZONE_FOLDER = "/zoneinfo/"


def machine_time_zone() -> str:
    """Return the IANA name of this machine's zone; UTC where it says nothing else.

    Django sets TZ to UTC for the programs that it starts, so UTC there says nothing.
    """
    said = (os.environ.get("TZ", "").lstrip(":"), _name_in_file(), _name_of_link())
    told = (name for name in said if name not in SAYS_NOTHING and is_time_zone(name))
    return next(told, UTC)


def is_time_zone(name: str) -> bool:
    """Whether the time zone database knows a name.

    >>> is_time_zone("America/Chicago"), is_time_zone("Chicago"), is_time_zone("")
    (True, False, False)
    """
    try:
        ZoneInfo(name)
    except (ValueError, OSError, LookupError):
        return False
    return True


def _name_in_file() -> str:
    try:
        return ZONE_NAME_FILE.read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        return ""


def _name_of_link() -> str:
    try:
        return str(ZONE_LINK.resolve()).partition(ZONE_FOLDER)[2]
    except (OSError, RuntimeError):
        return ""
