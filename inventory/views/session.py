"""Signing in and out, and what everybody may change about their own sign-in."""

import math
from datetime import timedelta
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth import login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from inventory import catalogue, second_factor, security_log, session_life
from inventory.access import person_of
from inventory.models import Person
from inventory.password_forms import OwnPasswordForm, SignInForm
from inventory.wrong_passwords import address_of

CHANGED = "Your password is changed. On every other device you are signed out."
ENDED = "Signed out there. What was scanned there and not sent stays on it."
OVER = "That sign-in was over already."
HALFWAY = "halfway"  # in the session: whose password fitted, see inventory/views/second_factor.py


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("password")
@login_not_required
def sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for name and password, then go where the person wanted to go."""
    form = SignInForm(request, request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = form.get_user()
        assert isinstance(person, Person)
        if second_factor.of(person) is not None:
            _half_in(request, person)
            query = urlencode({"next": wanted(request)})
            return redirect(f"{resolve_url('sign_in_code')}?{query}")
        let_in(request, person)
        return redirect(wanted(request))
    if form.tried:
        what = "sign-in has to wait" if form.wait else "wrong sign-in"
        security_log.wrong(request, form.tried, what)
    nobody = request.method == "GET" and not Person.objects.exists()
    context = {"form": form, "next": wanted(request), "nobody": nobody}
    return or_wait(render(request, "inventory/sign_in.html", context), form.wait)


@require_POST
@login_not_required
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session; what was scanned and not sent stays in the browser."""
    if request.user.is_authenticated:
        security_log.note(request, "signed out", person=request.user.get_username())
    logout(request)
    answer = redirect("sign_in")
    # Not "storage": what was not sent stands there. The rest goes by leaving.js and worker.js.
    answer.headers["Clear-Site-Data"] = '"cache"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@sensitive_post_parameters("old", "new")
def own_sign_in(request: HttpRequest) -> HttpResponse:
    """Change the own password, which ends every other sign-in of one's own; or end one of them."""
    person = person_of(request)
    ended = request.POST.get("sign_out_at", "")
    if ended:
        done = session_life.sign_out_at(person, ended, by=person)
        security_log.note(request, "signed out elsewhere", person=person.username)
        messages.success(request, gettext(ENDED if done else OVER))
        return redirect("own_sign_in")
    form = OwnPasswordForm(request.POST or None, person, address_of(request))
    if request.method == "POST" and form.is_valid():
        catalogue.change_password(person, form.cleaned_data["new"], by=person)
        update_session_auth_hash(request, person)
        security_log.note(request, "password changed", person=person.username)
        messages.success(request, gettext(CHANGED))
        return redirect("own_sign_in")
    if form.failed:
        what = "password change has to wait" if form.wait else "wrong password until now"
        security_log.wrong(request, person.username, what)
    browsers = session_life.browsers(person, request.session)
    context = {"form": form, "factor": second_factor.of(person), "browsers": browsers}
    page = render(request, "inventory/own_sign_in.html", context)
    return or_wait(page, form.wait)


def let_in(request: HttpRequest, person: Person, **kept: bool) -> None:
    """Sign somebody in from this moment on, under a new key; kept: what the session is told."""
    for name in session_life.TIMES:
        request.session.pop(name, None)  # of who signs in again before the last one ended
    login(request, person, "inventory.signing_in.Backend")
    security_log.note(request, "signed in", person=person.username)
    request.session["handheld"] = "Mobi" in request.headers.get("User-Agent", "")
    request.session.update(kept)


def _half_in(request: HttpRequest, person: Person) -> None:
    """Keep that a password fitted, whose a code is still wanted: nobody is signed in by that."""
    request.session.flush()  # nor stays who was here before
    at = timezone.now().timestamp()
    request.session[HALFWAY] = [person.pk, person.get_session_auth_hash(), at]


def or_wait(page: HttpResponse, wait: timedelta) -> HttpResponse:
    """Tell a program, too, when the next try is looked at (RFC 6585, 429)."""
    if wait:
        page.status_code = 429
        page.headers["Retry-After"] = str(math.ceil(wait.total_seconds()))
    return page


def wanted(request: HttpRequest) -> str:
    """An address of ours that was asked for before, else the home page."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    ours = url_has_allowed_host_and_scheme(asked, {request.get_host()}, request.is_secure())
    return asked if ours else resolve_url("home")
