"""Write the files that serve a kitchen on a machine: unit, proxy, timer, settings."""

import os
import re
import secrets
from dataclasses import asdict, dataclass
from importlib.resources import files
from pathlib import Path
from string import Template

from django.utils.translation import gettext as _

from stock.deployment.errors import DeploymentError, HostNameError

ENVIRONMENT = "tierlarder.env"
NAMES = (
    "tierlarder.service",
    "tierlarder-backup.service",
    "tierlarder-backup.timer",
    "tierlarder.nginx.conf",
    ENVIRONMENT,
)
KEY_BYTES = 50
HOST_NAME = re.compile(
    r"(?=.{1,253}\Z)([a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?\.)+[a-z]{2,63}"
)
# In a unit file, an environment file or the proxy's file these mean something.
MEANINGFUL = re.compile(r"[\"'\\$%;{}#\n\r]")

IN_QUOTES = re.compile(r"['\\\n\r]")


@dataclass(frozen=True, slots=True)
class Machine:
    """What the files are filled in with."""

    host: str  # the name that browsers use
    user: str  # under whom the program runs
    python: str
    base: str  # where manage.py is
    bind: str  # where the program listens, and the proxy asks
    backups: str
    keep: int
    database_url: str
    certificate: str
    key: str
    upload_mb: int


def write_files(machine: Machine, folder: Path) -> list[Path]:
    """Write the files into a folder; return their paths. None is ever overwritten.

    The settings hold a new secret key, and can be read by their owner alone.
    """
    environment = str((folder / ENVIRONMENT).resolve())
    _check(machine, environment)
    there = [folder / name for name in NAMES if (folder / name).exists()]
    if there:
        raise DeploymentError(
            _("{there} already exists. Name a new folder, or remove it first.").format(
                there=there[0]
            )
        )
    values = asdict(machine) | {
        "environment": environment,
        "secret_key": secrets.token_urlsafe(KEY_BYTES),
    }
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in NAMES:
            template = files("stock.deployment").joinpath("files", name)
            text = Template(template.read_text(encoding="utf-8")).substitute(values)
            _write(folder / name, text, is_secret=name == ENVIRONMENT)
    except OSError as error:
        raise DeploymentError(
            _("{folder}: nothing can be written there ({strerror}).").format(
                folder=folder, strerror=error.strerror
            )
        ) from error
    return [folder / name for name in NAMES]


def _check(machine: Machine, environment: str) -> None:
    if not HOST_NAME.fullmatch(machine.host):
        raise HostNameError(machine.host)
    for name, value in {**asdict(machine), "out": environment}.items():
        meaningful = IN_QUOTES if name == "database_url" else MEANINGFUL
        if meaningful.search(str(value)):
            raise DeploymentError(
                _(
                    "{name}: {value!r} holds a sign that means something in these "
                    "files. Use a path or name of letters, digits, spaces and / . - _ "
                    "only."
                ).format(name=name, value=value)
            )


def _write(path: Path, text: str, *, is_secret: bool) -> None:
    mode = 0o600 if is_secret else 0o644
    number = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
    with os.fdopen(number, "w", encoding="utf-8") as file:
        file.write(text)
