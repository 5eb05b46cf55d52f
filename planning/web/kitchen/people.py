"""People: adding somebody, changing what is said of them, a new password."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from stock.names import person_name
from stock.people import (
    PersonEntry,
    PersonError,
    add_person,
    change_person,
    manages_people,
    set_password,
)
from stock.web.entry_forms import posted

NEW_PASSWORD = forms.PasswordInput(attrs={"autocomplete": "new-password"})
NO_HELP = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


class PersonForm(forms.Form):
    """What is said of a person."""

    use_required_attribute = False
    sign_in = forms.CharField(
        label="Signs in as",
        widget=forms.TextInput(NO_HELP),
        help_text="One word, without spaces.",
        error_messages={"required": "Write the word that they sign in with."},
    )
    name = forms.CharField(
        required=False,
        widget=forms.TextInput({"autocomplete": "off"}),
        help_text="What orders and counts call them. Blank: the word above.",
    )
    manages = forms.BooleanField(
        label="Manages people: adds them and sets their passwords", required=False
    )

    def entry(self) -> PersonEntry:
        """Return what was typed."""
        return PersonEntry(**{"may_sign_in": True, **self._said()})

    def _said(self) -> dict[str, Any]:
        names = ("sign_in", "name", "manages", "may_sign_in")
        return {name: self.cleaned_data[name] for name in names if name in self.fields}


class NewPersonForm(PersonForm):
    """A person with a first password."""

    password = forms.CharField(
        label="First password",
        strip=False,
        widget=NEW_PASSWORD,
        help_text="8 letters or more. Tell it to them; they change it when signed in.",
        error_messages={"required": "Write a first password."},
    )


class KnownPersonForm(PersonForm):
    """A person who may be kept from signing in."""

    may_sign_in = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Without it the person stays in the records and cannot sign in.",
    )


class PasswordForm(forms.Form):
    """A new password."""

    use_required_attribute = False
    password = forms.CharField(
        label="New password",
        strip=False,
        widget=NEW_PASSWORD,
        help_text="8 letters or more. Tell it to them; they change it when signed in.",
        error_messages={"required": "Write the new password."},
    )


def add(request: HttpRequest) -> HttpResponse:
    """Let somebody sign in."""
    _only_managers(request)
    form = NewPersonForm(posted(request))
    if _kept(
        form,
        lambda: add_person(form.entry(), password=form.cleaned_data["password"]),
    ):
        messages.success(request, f"{form.cleaned_data['sign_in']} can sign in now.")
        return redirect("planning:kitchen")
    return _page(request, form, heading="Add a person", save="Add this person")


def change(request: HttpRequest, person_id: int) -> HttpResponse:
    """Change what is said of a person."""
    _only_managers(request)
    person = get_object_or_404(User, pk=person_id)
    initial = {
        "sign_in": person.get_username(),
        "name": person.get_full_name(),
        "manages": person.is_staff or person.is_superuser,
        "may_sign_in": person.is_active,
    }
    form = KnownPersonForm(posted(request), initial=initial)
    if _kept(form, lambda: change_person(person_id, form.entry())):
        messages.success(request, f"{form.cleaned_data['sign_in']} is saved.")
        return redirect("planning:kitchen")
    heading = f"Change {initial['name'] or initial['sign_in']}"
    return _page(request, form, heading=heading, save="Save", person=person)


def password(request: HttpRequest, person_id: int) -> HttpResponse:
    """Give a person a new password."""
    _only_managers(request)
    person = get_object_or_404(User, pk=person_id)
    form = PasswordForm(posted(request))
    if _kept(form, lambda: set_password(person_id, form.cleaned_data["password"])):
        name = person_name(person)
        messages.success(request, f"{name} has a new password.")
        return redirect("planning:kitchen")
    heading = f"A new password for {person_name(person)}"
    return _page(request, form, heading=heading, save="Set this password")


def _only_managers(request: HttpRequest) -> None:
    if not manages_people(request.user):
        raise PermissionDenied


def _kept(form: forms.Form, keep: Callable[[], User]) -> bool:
    """Hand a sound form to a job; False if it was refused, beside its field."""
    if not form.is_bound or not form.is_valid():
        return False
    try:
        keep()
    except PersonError as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return False
    return True


def _page(request: HttpRequest, form: forms.Form, **words: Any) -> HttpResponse:
    context = {"form": form, "back": reverse("planning:kitchen"), **words}
    return render(request, "planning/kitchen_person.html", context)
