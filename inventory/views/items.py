"""Adding and changing items and their codes."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory import catalogue, returns
from inventory.access import item_write, needs, person_of
from inventory.forms import ItemChangeForm, ItemCodeForm, ItemForm, MakerLabelForm, ReturnRuleForm
from inventory.models import Item, Role
from inventory.once import once


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def item_new(request: HttpRequest) -> HttpResponse:
    """Add an item."""
    form = ItemForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        item = catalogue.enter_item(form.save(commit=False))
        messages.success(request, f"{item.name} is entered. Add the codes printed on it.")
        return redirect("item_change", code=item.code)
    return render(request, "inventory/item_new.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def item_change(request: HttpRequest, code: str) -> HttpResponse:
    """Change an item's name and weight, or add what is printed on it."""
    person = person_of(request)
    item = item_write(person, code)
    if "add_label" in request.POST or "drop_label" in request.POST:
        return _label(request, item)
    adding, ruling = "add_code" in request.POST, "rule" in request.POST
    form = ItemChangeForm(None if adding or ruling else request.POST or None, instance=item)
    rule_form = ReturnRuleForm(request.POST if ruling else None, instance=returns.rule_of(item))
    code_form = ItemCodeForm(request.POST if adding else None)
    if request.method == "POST" and adding and code_form.is_valid():
        made = catalogue.add_code(item, **code_form.cleaned_data)
        messages.success(request, f"Code {made.text} now means {item.name}.")
        return redirect("item_change", code=item.code)
    if request.method == "POST" and ruling and rule_form.is_valid():
        returns.set_rule(item, **rule_form.cleaned_data, by=person)
        messages.success(request, "Noted.")
        return redirect("item_change", code=item.code)
    if request.method == "POST" and not adding and form.is_valid():
        catalogue.change_item(item, **form.cleaned_data, by=person)
        messages.success(request, "Changed.")
        return redirect("stock_item", code=item.code)
    forms = {"form": form, "code_form": code_form, "rule_form": rule_form}
    return _show(request, item, **forms)


def _label(request: HttpRequest, item: Item) -> HttpResponse:
    """Add a maker's label to an item, or drop one."""
    person = person_of(request)
    if "drop_label" in request.POST:
        label = get_object_or_404(
            item.codes.filter(label_pattern=True), key=request.POST["drop_label"]
        )
        catalogue.drop_label(label, by=person)
        messages.success(request, f"Label {label.text} means nothing any more.")
        return redirect("item_change", code=item.code)
    form = MakerLabelForm(request.POST, item)
    if not form.is_valid():
        return _show(request, item, label_form=form)
    given = form.cleaned_data
    catalogue.add_labels([(item, given["pattern"], given["symbology"])])
    read = ", ".join(f"{name} {value}" for name, value in form.found.items())
    messages.success(request, f"Of {given['example']} is read: {read}.")
    return redirect("item_change", code=item.code)


def _show(request: HttpRequest, item: Item, **filled: Any) -> HttpResponse:
    """The page; `filled` are the forms that somebody has sent."""
    context = {
        "form": ItemChangeForm(None, instance=item),
        "code_form": ItemCodeForm(None),
        "rule_form": ReturnRuleForm(None, instance=returns.rule_of(item)),
        "label_form": MakerLabelForm(None, item),
        **filled,
        "item": item,
        "codes": item.codes.filter(label_pattern=False),
        "labels": item.codes.filter(label_pattern=True),
    }
    return render(request, "inventory/item_change.html", context)
