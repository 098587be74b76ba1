"""Adding and changing items and their codes."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import catalogue, returns
from inventory.access import item_write, needs, person_of
from inventory.forms import ItemChangeForm, ItemCodeForm, ItemForm, ReturnRuleForm
from inventory.models import Role
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
    """Change an item's name and weight, or add a code that is printed on it."""
    person = person_of(request)
    item = item_write(person, code)
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
    context = {"item": item, "form": form, "code_form": code_form, "codes": item.codes.all()}
    context["rule_form"] = rule_form
    return render(request, "inventory/item_change.html", context)
