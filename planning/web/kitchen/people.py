"""People: adding somebody, changing what is said of them, a new password."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.saving.versions import ChangedSinceError
from stock.signing_in.people import (
    PERSON,
    PersonEntry,
    PersonError,
    add_person,
    change_person,
    entry_of,
    manages_people,
    password_version_of,
    set_password,
    version_of,
)
from stock.web.forms.entry_conflicts import VERSION, seen_version
from stock.web.forms.entry_fields import AS_TYPED
from stock.web.forms.entry_forms import EntryForm, posted
from stock.wording.names import person_name

NEW_PASSWORD = forms.PasswordInput(attrs={"autocomplete": "new-password"})
FIRST_HELP = gettext_lazy(
    "8 letters or more. Tell it to them; they change it when signed in."
)

SET_SINCE = gettext_lazy(
    "Another password was set after you opened this page. Write yours again to replace "
    "it."
)


class PersonForm(EntryForm):
    """What is said of a person, as an entry that a job takes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(PERSON, *args, **kwargs)
        self.fields["sign_in"].widget.attrs.update(AS_TYPED)
        self.fields["name"].widget.attrs["autocomplete"] = "off"

    def person(self) -> PersonEntry | None:
        """Return what was typed; None where it cannot be read, which is said."""
        values = self.read()
        if values is None or not self.is_valid():
            return None
        return PersonEntry(**{"may_sign_in": True, **values})


class NewPersonForm(PersonForm):
    """A person with a first password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, columns=("sign_in", "name", "manages"), **kwargs)
        self.fields["password"] = forms.CharField(
            label=_("First password"),
            strip=False,
            widget=NEW_PASSWORD,
            help_text=FIRST_HELP,
            error_messages={"required": _("Write a first password.")},
        )


class PasswordForm(forms.Form):
    """A new password."""

    use_required_attribute = False
    version = forms.CharField(required=False, widget=forms.HiddenInput)
    password = forms.CharField(
        label=gettext_lazy("New password"),
        strip=False,
        widget=NEW_PASSWORD,
        help_text=FIRST_HELP,
        error_messages={"required": gettext_lazy("Write the new password.")},
    )

    def has_seen(self, error: ChangedSinceError) -> None:
        """Say that there is another password; sent again, the form has seen it."""
        data: QueryDict = self.data.copy()  # type: ignore[attr-defined]  # as posted
        data[VERSION] = str(error.version)
        self.data = data
        self.add_error("password", SET_SINCE)


def add(request: HttpRequest) -> HttpResponse:
    """Let somebody sign in."""
    _only_managers(request)
    form = NewPersonForm(posted(request))

    def keep(entry: PersonEntry) -> User:
        return add_person(entry, password=form.cleaned_data["password"])

    if _kept(form, keep):
        messages.success(
            request, _("{value} can sign in now.").format(value=form["sign_in"].value())
        )
        return redirect("planning:kitchen")
    return _page(request, form, heading=_("Add a person"), save=_("Add this person"))


def change(request: HttpRequest, person_id: int) -> HttpResponse:
    """Change what is said of a person."""
    _only_managers(request)
    person = get_object_or_404(User, pk=person_id)
    known = entry_of(person)
    form = PersonForm(posted(request), values=asdict(known), version=version_of(person))

    def keep(entry: PersonEntry) -> User:
        return change_person(person_id, entry, seen=form.seen(person_id).version)

    if _kept(form, keep):
        messages.success(
            request, _("{value} is saved.").format(value=form["sign_in"].value())
        )
        return redirect("planning:kitchen")
    heading = _("Edit {value}").format(value=known.name or known.sign_in)
    return _page(request, form, heading=heading, save=_("Save"), person=person)


def password(request: HttpRequest, person_id: int) -> HttpResponse:
    """Give a person a new password."""
    _only_managers(request)
    person = get_object_or_404(User, pk=person_id)
    name = person_name(person)
    first = {VERSION: password_version_of(person)}
    form = PasswordForm(posted(request), initial=first)
    if _password_set(form, person_id):
        messages.success(request, _("{name} has a new password.").format(name=name))
        return redirect("planning:kitchen")
    heading = _("A new password for {name}").format(name=name)
    return _page(request, form, heading=heading, save=_("Set this password"))


def _only_managers(request: HttpRequest) -> None:
    if not manages_people(request.user):
        raise PermissionDenied


def _kept(form: PersonForm, keep: Callable[[PersonEntry], User]) -> bool:
    """Hand a sound form to a job; False if it was refused, beside its field."""
    entry = form.person() if form.is_bound else None
    if entry is None:
        return False
    try:
        keep(entry)
    except PersonError as error:
        _show(form, error)
    except ChangedSinceError as error:
        form.take_conflict(error)
    return not form.errors


def _password_set(form: PasswordForm, person_id: int) -> bool:
    if not form.is_bound or not form.is_valid():
        return False
    try:
        seen = seen_version(form.data)
        set_password(person_id, form.cleaned_data["password"], seen=seen)
    except PersonError as error:
        _show(form, error)
    except ChangedSinceError as error:
        form.has_seen(error)
    return not form.errors


def _show(form: forms.Form, error: PersonError) -> None:
    form.add_error(error.field if error.field in form.fields else None, str(error))


def _page(request: HttpRequest, form: forms.Form, **words: Any) -> HttpResponse:
    context = {"form": form, "back": reverse("planning:kitchen"), **words}
    return render(request, "planning/kitchen_person.html", context)
