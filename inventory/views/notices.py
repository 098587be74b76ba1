"""Recalls: the letter, the dry run of its rule, what was set aside, and whom to call."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import calling, notice_lists
from inventory import notices as recalls
from inventory.access import needs, notice_read, notice_write, person_of
from inventory.freezing import MORE
from inventory.models import Role
from inventory.notice_forms import NoticeForm, RuleForm
from inventory.once import once


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def notice_index(request: HttpRequest) -> HttpResponse:
    """List the recalls; a manager enters a letter. Nothing is set aside by that."""
    person = person_of(request)
    if request.method == "POST" and not person.has(Role.MANAGER):
        raise Http404
    form = NoticeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = {name: form.cleaned_data[name] for name in ("letter", "rule", "partner", "note")}
        made = recalls.enter(person, words=form.cleaned_data["wrong"], **told)
        return redirect("notice", code=made.code)
    context = {"form": form, "notices": notice_lists.notices(over=True)}
    return render(request, "inventory/notices.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def notice(request: HttpRequest, code: str) -> HttpResponse:
    """One recall: what its rule names by where it is and was, freezing, its calls, its end."""
    person = person_of(request)
    if request.method == "POST":
        found = notice_write(person, code)
        if "erase" in request.POST:
            recalls.change_note(found, "")
            messages.success(request, "The note is erased.")
            return redirect("notice", code=code)
    else:
        found = notice_read(person, code)
    newest = recalls.latest_rule(found)
    form = RuleForm(request.POST or None, initial={"rule": newest.text})
    if request.method == "POST" and form.is_valid():
        recalls.change_rule(found, person, form.cleaned_data["rule"])
        return redirect("notice", code=code)
    held = recalls.to_settle().filter(notice=found)
    rules = list(notice_lists.rules_of(found))
    context = {
        "notice": found,
        "form": form,
        "rules": rules,
        "newest": rules[0],
        # Not for a refused form: it is answered under the lock, and looking at all takes its time.
        "run": notice_lists.dry_run(found, newest.text) if request.method != "POST" else None,
        "held": held.filter(hold__place=None).count(),
        "boxes": held.exclude(hold__place=None).count(),
        "backs": recalls.to_come_back(found, notice_lists.SHOWN),
        "gone": recalls.gone(found).items(),
        "calls": calling.calls(calling.calls_of(found.pk)),
        "over": hasattr(found, "end"),
        "more": MORE,
    }
    return render(request, "inventory/notice.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def call_list(request: HttpRequest) -> HttpResponse:
    """Everybody who has still to be told of something recalled that is with them."""
    context = {"calls": calling.calls(calling.open_calls())}
    return render(request, "inventory/call_list.html", context)
