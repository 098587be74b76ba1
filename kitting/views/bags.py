"""Bags made ahead: what they hold, filling one with a scan, opening one, labels for new ones."""

from __future__ import annotations

from urllib.parse import quote

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.lock import writing
from inventory.models import Item, Person, Role
from inventory.once import once
from inventory.overviews import our_places
from kitting import bags
from kitting.bag_forms import ContentForm, LabelsForm
from kitting.bags import BagError
from kitting.models import BagContent


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def made_bags(request: HttpRequest) -> HttpResponse:
    """List kinds and bags; enter labels; a manager tells what a kind holds from a day on."""
    person, fault = person_of(request), ""
    labels = LabelsForm(request.POST if "labels" in request.POST else None)
    content = ContentForm(request.POST if "content" in request.POST else None)
    if content.is_bound and not person.has(Role.MANAGER):
        raise Http404
    try:
        if labels.is_valid():
            made = bags.enter_labels(labels.cleaned_data["number"], labels.cleaned_data["at"])
            codes = quote("\n".join(place.code for place in made))
            return redirect(f"{reverse('labels')}?codes={codes}")
        if content.is_valid():
            told = _tell(content, person)
            messages.success(request, f"{told.bag.name}: from {told.since:%-d %b %Y} on.")
            return redirect("made_bags")
    except BagError as error:
        fault = str(error)
    today = timezone.localdate()
    kinds = {row.bag for row in BagContent.objects.select_related("bag")}
    contents = [bags.content_of(kind, today) for kind in sorted(kinds, key=lambda item: item.name)]
    context = {
        "contents": [one for one in contents if one is not None],
        "coming": BagContent.objects.filter(since__gt=today).select_related("bag"),
        "bags": bags.filled(),
        "places": our_places(),
        "labels": labels,
        "form": content,
        "fault": fault,
    }
    return render(request, "kitting/made_bags.html", context)


def _tell(form: ContentForm, by: Person) -> BagContent:
    """Raises BagError."""
    given = form.cleaned_data
    bag = Item.objects.filter(code=given["code"]).first()
    if bag is not None and not BagContent.objects.filter(bag=bag).exists():
        raise BagError(f"expected a code that is not taken, got {bag.code}, {bag.name}")
    with writing():
        bag = bag or bags.enter_kind(given["code"], given["name"])
        return bags.tell(bag, given["parts"], given["since"], by)
