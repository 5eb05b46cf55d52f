"""Typed reads of the environment; a malformed value is refused, never guessed."""

import os
from collections.abc import Sequence

from django.core.exceptions import ImproperlyConfigured

TRUE_WORDS = frozenset({"1", "true", "yes", "on"})
FALSE_WORDS = frozenset({"0", "false", "no", "off", ""})
LOCAL_HOSTS = ["localhost", "127.0.0.1", "[::1]"]


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


def is_public(*, hosts: Sequence[str], origins: Sequence[str]) -> bool:
    """Whether others than this machine are to reach the site, over HTTPS.

    They are where it answers to a name or trusts an origin of its own, or where DEBUG
    is said to be no; with DEBUG=yes they never are.
    """
    if "DEBUG" in os.environ:
        return not truth("DEBUG", default=False)
    return bool(origins) or not set(hosts) <= set(LOCAL_HOSTS)


def secret_key(*, is_public: bool) -> str:
    """Return SECRET_KEY; a site that others reach needs one of its own."""
    key = os.environ.get("SECRET_KEY", "").strip()
    if key:
        return key
    if not is_public:
        return "a-kitchen-on-this-machine-only-keeps-no-secrets-from-itself"
    raise ImproperlyConfigured(
        "SECRET_KEY is not set. Set it to a long random text. A kitchen that only this "
        "machine can reach needs none: leave DEBUG, ALLOWED_HOSTS and TRUSTED_ORIGINS "
        "unset."
    )
