"""A code beside the password: asked for at the door, and set up by its person."""

import base64
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from inventory import second_factor, security_log
from inventory.access import person_of
from inventory.labels import square
from inventory.models import Person
from inventory.second_factor_forms import NOT_SHOWN, CodeForm, SetUpForm
from inventory.views.session import HALFWAY, let_in, or_wait, wanted

HOLDS_FOR = timedelta(minutes=10)
OFF = "Signing in asks for the password alone now. Sign in again."


def _who(request: HttpRequest) -> Person | None:
    """Return whose password fitted a while ago and still does."""
    pk, fitted, at = request.session.get(HALFWAY) or (0, "", 0)
    person = Person.objects.filter(pk=pk, is_active=True).first()
    if person is None or not constant_time_compare(fitted, person.get_session_auth_hash()):
        return None
    return person if timezone.now().timestamp() - at < HOLDS_FOR.total_seconds() else None


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("code")
@login_not_required
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """Ask for the code, then go where the person wanted to go."""
    person = _who(request)
    if person is None:
        return redirect("sign_in")
    form = CodeForm(request.POST or None, person)
    if request.method == "POST" and form.is_valid():
        del request.session[HALFWAY]
        let_in(request, person, second_factor=True)
        return redirect(wanted(request))
    _log_failed(request, form, person)
    context = {"form": form, "next": wanted(request)}
    page = or_wait(render(request, "inventory/sign_in_code.html", context), form.wait)
    page.headers["Cache-Control"] = "no-store"
    return page


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("code", "password", "drawn")
def own_second_factor(request: HttpRequest) -> HttpResponse:
    """Set the own second factor up; or have other recovery codes, or take it off."""
    person = person_of(request)
    if second_factor.of(person) is None:
        return _set_up(request, person)
    form = CodeForm(request.POST or None, person)
    needed = second_factor.wanted_of(person)
    if request.method == "POST" and form.is_valid():
        if "off" in request.POST and not needed:
            security_log.note(request, "second factor taken off", person=person.username)
            second_factor.take_off(person, person, "")
            logout(request)
            messages.success(request, gettext(OFF))
            return redirect("sign_in")
        security_log.note(request, "recovery codes made", person=person.username)
        return _codes(request, second_factor.other_codes(person))
    _log_failed(request, form, person)
    left = second_factor.codes_left(person)
    context = {"form": form, "factor": second_factor.of(person), "needed": needed, "left": left}
    return or_wait(render(request, "inventory/own_second_factor.html", context), form.wait)


def _set_up(request: HttpRequest, person: Person) -> HttpResponse:
    form = SetUpForm(request.POST or None, person)
    if request.method == "POST" and form.is_valid():
        data, here = form.cleaned_data, request.session.session_key
        codes = second_factor.switch_on(person, data["drawn"], data["code"], here)
        if codes:
            request.session["second_factor"] = True
            security_log.note(request, "second factor set up", person=person.username)
            return _codes(request, codes)
        form.failed = True
        form.add_error("code", NOT_SHOWN)
    _log_failed(request, form, person)
    context: dict[str, Any] = {"form": form, "needed": second_factor.wanted_of(person)}
    if form.secret:
        context["offer"] = second_factor.offer(person, form.secret)
        picture = base64.b64encode(square.png(context["offer"].address)).decode()
        context["square"] = f"data:image/png;base64,{picture}"
    return or_wait(render(request, "inventory/set_up_second_factor.html", context), form.wait)


def _codes(request: HttpRequest, codes: list[str]) -> HttpResponse:
    """Show recovery codes, this once: only hashes of them are kept."""
    return render(request, "inventory/recovery_codes.html", {"codes": codes})


def _log_failed(request: HttpRequest, form: CodeForm | SetUpForm, person: Person) -> None:
    if form.failed:
        what = "code has to wait" if form.wait else "wrong code"
        security_log.wrong(request, person.username, what)
