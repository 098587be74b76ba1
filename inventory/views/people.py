"""The people who work here, for managers."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from inventory import badges, catalogue, overviews, second_factor, security_log, session_life
from inventory.access import needs, person_of, person_write
from inventory.forms import PersonChangeForm, PersonForm
from inventory.models import Role
from inventory.once import once
from inventory.password_forms import GivenPasswordForm
from inventory.second_factor_forms import TakeOffForm
from inventory.views.session import ENDED, OVER

TAKEN_OFF = "{0} signs in with the password alone now, and is signed out on every device."
GIVEN = "{0} signs in with the new password from now on, and is signed out on every device."


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password")
@needs(Role.MANAGER)
@once
def people(request: HttpRequest) -> HttpResponse:
    """List everybody, and add somebody."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = catalogue.enter_person(**form.cleaned_data)
        messages.success(request, f"{made.name} can sign in as {made.username}.")
        return redirect("people")
    context = {"form": form, "people": overviews.people()}
    return render(request, "inventory/people.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password")
@needs(Role.MANAGER)
def person_change(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Change what somebody may do, note that they have left, or give them a new first password."""
    by = person_of(request)
    person = person_write(by, uid)
    now = {name: getattr(person, name) for name in ("name", "roles", "is_active", "phone")}
    ended = request.POST.get("sign_out_at", "")
    if ended:
        done = session_life.sign_out_at(person, ended, by=by)
        security_log.note(request, "signed out elsewhere", person=by.username, of=person.username)
        messages.success(request, ENDED if done else OVER)
        return redirect("person_change", uid)
    taking = "take_off" in request.POST
    off = TakeOffForm(request.POST if taking else None)
    if taking and person.pk != by.pk and off.is_valid():
        second_factor.take_off(person, by, off.cleaned_data["reason"])
        what = "second factor taken off"
        security_log.note(request, what, person=by.username, of=person.username)
        messages.success(request, TAKEN_OFF.format(person.name))
        return redirect("person_change", uid)
    giving = "give_password" in request.POST
    form = PersonChangeForm(None if giving or taking else request.POST or None, initial=now)
    given = GivenPasswordForm(request.POST if giving else None, person)
    if giving and given.is_valid():
        catalogue.change_password(person, given.cleaned_data["password"], by=by)
        security_log.note(request, "password given", person=by.username, of=person.username)
        messages.success(request, GIVEN.format(person.name))
        return redirect("person_change", uid)
    if not taking and request.method == "POST" and form.is_valid():
        catalogue.change_person(person, **form.cleaned_data, by=by)
        messages.success(request, f"{person.name}: changed.")
        return redirect("people")
    context = {"form": form, "given": given, "person": person, "badge": badges.badge_of(person)}
    context |= {"off": off, "factor": second_factor.of(person), "own": person.pk == by.pk}
    context["browsers"] = session_life.browsers(person, request.session)
    return render(request, "inventory/person_change.html", context)
