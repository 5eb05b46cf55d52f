"""Typed reads of the environment; a malformed value is refused, never guessed."""

import os

from django.core.exceptions import ImproperlyConfigured

TRUE_WORDS = frozenset({"1", "true", "yes", "on"})
FALSE_WORDS = frozenset({"0", "false", "no", "off", ""})


def text(name: str, default: str) -> str:
    """Return the variable's value, or the default where it is unset or blank."""
    return os.environ.get(name, "").strip() or default


def truth(name: str, *, default: bool) -> bool:
    """Return yes or no; anything else is refused."""
    if name not in os.environ:
        return default
    word = os.environ[name].strip().lower()
    if word in TRUE_WORDS:
        return True
    if word in FALSE_WORDS:
        return False
    raise ImproperlyConfigured(f"{name} must be yes or no, not {word!r}.")


def words(name: str, default: list[str]) -> list[str]:
    """Return a comma-separated list without its blanks."""
    parts = [part.strip() for part in os.environ.get(name, "").split(",")]
    return [part for part in parts if part] or default


def https_origins(name: str) -> list[str]:
    """Return a list of origins; one without its scheme is refused."""
    origins = words(name, [])
    for origin in origins:
        if not origin.startswith(("https://", "http://")):
            raise ImproperlyConfigured(
                f"{name} lists {origin!r}: write it with its scheme, "
                "https://kitchen.example"
            )
    return origins


def secret_key(*, debug: bool) -> str:
    """Return SECRET_KEY; only a debugging kitchen may do without one of its own."""
    key = os.environ.get("SECRET_KEY", "").strip()
    if key:
        return key
    if debug:
        return "a-kitchen-on-this-machine-only-keeps-no-secrets-from-itself"
    raise ImproperlyConfigured(
        "SECRET_KEY is not set. Set it to a long random text, or set DEBUG=yes "
        "for a kitchen that only this machine can reach."
    )
