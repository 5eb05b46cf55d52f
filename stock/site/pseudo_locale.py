"""A language that nobody speaks: each marked word in brackets and a third longer.

What stands outside of the brackets on a page is not marked for translation; what is
cut has no room for a longer language. No catalogue is made: the translation itself is
replaced, so that it covers whatever is marked, plurals and placeholders included.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.utils import translation
from django.utils.safestring import SafeString

OPEN, CLOSE = (
    "\N{MATHEMATICAL LEFT WHITE SQUARE BRACKET}",
    "\N{MATHEMATICAL RIGHT WHITE SQUARE BRACKET}",
)
PADDING = " xxxxx xxxx xxxxxx"


def wrapped(message: str) -> str:
    """Return a message in brackets, a third longer; blanks at its ends stay outside.

    >>> wrapped("Save"), wrapped(" by {who}"), wrapped("")
    ('⟦Save x⟧', ' ⟦by {who} xx⟧', '')
    """
    words = str(message).strip()
    if not words:
        return message
    head, tail = str(message).split(words)
    count = 1 + -(-len(words) // 3)
    padding = (PADDING * (count // len(PADDING) + 1))[:count].rstrip()
    said = f"{head}{OPEN}{words}{padding}{CLOSE}{tail}"
    return SafeString(said) if isinstance(message, SafeString) else said


def _plural(singular: str, plural: str, number: float) -> str:
    return wrapped(singular if number == 1 else plural)


TRANSLATION: dict[str, Callable[..., str]] = {
    "gettext": wrapped,
    "pgettext": lambda _context, message: wrapped(message),
    "ngettext": _plural,
    "npgettext": lambda _context, *forms: _plural(*forms),
}


def install() -> None:
    """Speak the pseudo-locale from now on, in this process."""
    vars(translation._trans).update(TRANSLATION)  # type: ignore[attr-defined]  # noqa: SLF001 (Django has no other hook)


@contextmanager
def spoken() -> Iterator[None]:
    """Speak the pseudo-locale for a while."""
    kept = dict(vars(translation._trans))  # type: ignore[attr-defined]  # noqa: SLF001 (as above)
    install()
    try:
        yield
    finally:
        vars(translation._trans).clear()  # type: ignore[attr-defined]  # noqa: SLF001 (as above)
        vars(translation._trans).update(kept)  # type: ignore[attr-defined]  # noqa: SLF001 (as above)
