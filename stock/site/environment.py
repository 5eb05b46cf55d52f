"""Typed reads of the environment; a malformed value is refused, never guessed."""

import os
from collections.abc import Sequence

from django.core.exceptions import ImproperlyConfigured

TRUE_WORDS = frozenset({"1", "true", "yes", "on"})
FALSE_WORDS = frozenset({"0", "false", "no", "off", ""})
LOCAL_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
PUBLISHED_KEY = "a-kitchen-on-this-machine-only-keeps-no-secrets-from-itself"
# What Django's own check of a deployment asks for.
SHORTEST_KEY, FEWEST_SIGNS = 50, 5
MAKE_A_KEY = 'python3 -c "import secrets; print(secrets.token_urlsafe(50))"'


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


def debug(*, hosts: Sequence[str], origins: Sequence[str]) -> bool:
    """Return whether insides are shown; never where others can reach the site."""
    wanted = truth("DEBUG", default=False)
    if wanted and (origins or not set(hosts) <= set(LOCAL_HOSTS)):
        raise ImproperlyConfigured(
            "DEBUG=yes shows the program's insides, and ALLOWED_HOSTS or "
            "TRUSTED_ORIGINS names more than this machine. Leave DEBUG unset."
        )
    return wanted


def secret_key(*, is_public: bool) -> str:
    """Return SECRET_KEY; a site that others reach needs one of its own.

    One that is short, repeats few signs or stands in this program is refused.
    """
    key = os.environ.get("SECRET_KEY", "").strip()
    if not is_public:
        return key or PUBLISHED_KEY
    if key and (
        len(key) < SHORTEST_KEY
        or len(set(key)) < FEWEST_SIGNS
        or key.startswith((PUBLISHED_KEY, "django-insecure-"))
    ):
        raise ImproperlyConfigured(
            f"SECRET_KEY can be guessed. Set it to a random text of {SHORTEST_KEY} "
            f"signs or more, such as this prints: {MAKE_A_KEY}"
        )
    if key:
        return key
    raise ImproperlyConfigured(
        "SECRET_KEY is not set. Set it to a long random text, such as this prints: "
        f"{MAKE_A_KEY} A kitchen that only this machine can reach needs none: leave "
        "DEBUG, ALLOWED_HOSTS and TRUSTED_ORIGINS unset."
    )
