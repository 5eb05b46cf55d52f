"""The people who may sign in, and who of them manages the others."""

from dataclasses import asdict, dataclass

from axes.utils import reset
from django.contrib.auth.models import AnonymousUser, User
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.entry.cells import Name, YesNo
from stock.entry.entries import Column, Sheet, folded
from stock.errors import StockError
from stock.saving.upsert import wait_for_turn
from stock.saving.versions import ChangedSinceError

LONGEST_SIGN_IN, LONGEST_NAME = 150, 150
VERSIONS = 10**9
PERSON = Sheet(
    "People",
    (
        Column(
            "sign_in",
            Name(LONGEST_SIGN_IN),
            required=True,
            label=gettext_noop("Signs in as"),
            help=gettext_noop("One word, without spaces."),
        ),
        Column(
            "name",
            Name(LONGEST_NAME),
            default="",
            help=gettext_noop(
                "What orders and counts call them. Blank: the word above."
            ),
        ),
        Column(
            "manages",
            YesNo(),
            default=False,
            label=gettext_noop("Manages people: adds them and sets their passwords"),
        ),
        Column(
            "may_sign_in",
            YesNo(),
            default=False,
            label=gettext_noop("May sign in"),
            help=gettext_noop(
                "Without it the person stays in the records and cannot sign in."
            ),
        ),
    ),
)
MANAGERS = Q(is_staff=True) | Q(is_superuser=True)


class PersonError(StockError):
    """What is wrong with a person's entry; `field` says where."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True, slots=True)
class PersonEntry:
    """What is said of a person."""

    sign_in: str  # the word typed when signing in
    name: str  # what the pages call them; blank: the same word
    manages: bool  # adds people and sets passwords
    may_sign_in: bool = True


def manages_people(person: User | AnonymousUser) -> bool:
    """Whether a person may add people and set their passwords."""
    return person.is_active and (person.is_staff or person.is_superuser)


def entry_of(person: User) -> PersonEntry:
    """Return what is said of a person."""
    return PersonEntry(
        sign_in=person.get_username(),
        name=person.get_full_name(),
        manages=person.is_staff or person.is_superuser,
        may_sign_in=person.is_active,
    )


def version_of(person: User) -> int:
    """Return a number that is another once what is said of a person is another.

    People are Django's own rows, which count no changes.
    """
    return _number(*map(str, asdict(entry_of(person)).values()))


def password_version_of(person: User) -> int:
    """Return a number that is another once a person has another password."""
    return _number(person.password)


@transaction.atomic
def add_person(entry: PersonEntry, *, password: str) -> User:
    """Let somebody sign in, with a first password that they then change."""
    wait_for_turn()
    person = User()
    _assign(person, entry)
    _set_password(person, password)
    person.save()
    return person


@transaction.atomic
def change_person(
    person_id: int, entry: PersonEntry, *, seen: int | None = None
) -> User:
    """Change what is said of a person; somebody must go on managing people.

    Refused if that is no longer the version that was seen.
    """
    wait_for_turn()
    person = User.objects.select_for_update().get(pk=person_id)
    known, version = entry_of(person), version_of(person)
    if seen is not None and version != seen and entry != known:
        raise ChangedSinceError(person.get_username(), version, asdict(known))
    if manages_people(person) and not (entry.manages and entry.may_sign_in):
        others = User.objects.filter(MANAGERS, is_active=True).exclude(pk=person_id)
        if not others.exists():
            raise PersonError(
                "manages",
                _(
                    "{username} is the only one who manages people. Let somebody else "
                    "manage them first."
                ).format(username=person.get_username()),
            )
    _assign(person, entry)
    person.save()
    return person


@transaction.atomic
def set_password(person_id: int, password: str, *, seen: int | None = None) -> User:
    """Give a person a new password; wherever they are signed in, they are no more.

    Refused if they have another password than when the version was seen.
    """
    person = User.objects.select_for_update().get(pk=person_id)
    if seen is not None and password_version_of(person) != seen:
        raise ChangedSinceError(person.get_username(), password_version_of(person))
    _set_password(person, password)
    person.save(update_fields=["password"])
    reset(username=person.get_username())  # wrong tries of the old one are forgotten
    return person


def _number(*said: str) -> int:
    digest = salted_hmac("stock.signing_in.people", "\0".join(said)).hexdigest()
    return 1 + int(digest, 16) % (VERSIONS - 1)


def _assign(person: User, entry: PersonEntry) -> None:
    sign_in, name = entry.sign_in.strip(), " ".join(entry.name.split())
    if not sign_in:
        raise PersonError("sign_in", _("Write the word that they sign in with."))
    if len(sign_in) > LONGEST_SIGN_IN:
        sentence = _("Write at most {longest_sign_in} letters.").format(
            longest_sign_in=LONGEST_SIGN_IN
        )
        raise PersonError("sign_in", sentence)
    try:
        UnicodeUsernameValidator()(sign_in)
    except ValidationError as error:
        sentence = _("Use letters, digits and @ . + - _ only, without spaces.")
        raise PersonError("sign_in", sentence) from error
    if len(name) > LONGEST_NAME:
        raise PersonError(
            "name",
            _("Write at most {longest_name} letters.").format(
                longest_name=LONGEST_NAME
            ),
        )
    # Compared here: SQLite takes É and é for two letters.
    others = User.objects.exclude(pk=person.pk).values_list("username", flat=True)
    if folded(sign_in) in map(folded, others):
        raise PersonError(
            "sign_in",
            _("Somebody signs in as {sign_in} already.").format(sign_in=sign_in),
        )
    person.username, person.first_name, person.last_name = sign_in, name, ""
    person.is_staff, person.is_active = entry.manages, entry.may_sign_in
    person.is_superuser = person.is_superuser and entry.manages


def _set_password(person: User, password: str) -> None:
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise PersonError("password", " ".join(error.messages)) from error
    person.set_password(password)
