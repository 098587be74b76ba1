"""Parts lists: their editions, the first list from a sheet, what an edition changes."""

from collections import Counter

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from kitting import effects, families, first_list, proposals, sheets
from kitting.access import list_read, list_write
from kitting.families import EditionError
from kitting.first_list import Begun
from kitting.list_forms import SheetForm, StackForm
from kitting.models import FamilyEdition
from kitting.plan import asking
from kitting.plan.errors import ConfigurationError, Fault, PlanError
from kitting.plan.kit import Kit

SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SHOWN = 200  # jobs of each kind that a page lists


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def lists(request: HttpRequest) -> HttpResponse:
    """Every stack system with its parts lists, the newest first."""
    editions = list(FamilyEdition.objects.order_by("name", "-edition"))
    in_use = families.in_use(editions)
    rows = [(edition, families.title_of(edition), edition.pk in in_use) for edition in editions]
    return render(request, "kitting/lists.html", {"rows": rows})


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def list_template(request: HttpRequest) -> HttpResponse:
    """The empty sheet to fill in from old job lists."""
    return _file(sheets.template(), "old-job-lists.xlsx")


def _file(data: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(data, content_type=SHEET)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def list_new(request: HttpRequest) -> HttpResponse:
    """Read a sheet, ask back, show a list to print; nothing is stored before it is kept."""
    going_on = "kept" in request.POST
    form = (
        SheetForm()
        if going_on or request.method != "POST"
        else SheetForm(request.POST, request.FILES)
    )
    context: dict[str, object] = {"form": form}
    try:
        begun = _begun(request, form)
        if begun is not None and "sheet_back" in request.POST:
            data = sheets.with_questions(begun.pages, begun.draft.questions)
            return _file(data, f"{begun.draft.family.name}.xlsx")
        if begun is not None and "keep" in request.POST:
            edition = first_list.keep(begun).edition
            messages.success(request, f"{begun.title}: kept as a trial.")
            return redirect("list_edition", edition.name, edition.edition.isoformat())
        context |= _shown(request, begun) if begun is not None else {}
    except PlanError as error:
        context["faults"] = error.faults
    except EditionError as error:
        context["faults"] = [Fault("the list", "", str(error))]
    return render(request, "kitting/list_new.html", context)


def _begun(request: HttpRequest, form: SheetForm) -> Begun | None:
    """The sheet just sent, or the one the page carries. Raises SheetError."""
    if "kept" in request.POST:
        return first_list.resume(request.POST["kept"])
    if not form.is_bound or not form.is_valid():
        return None
    file = form.cleaned_data["sheet"]
    return first_list.begin(file.read(sheets.LARGEST + 1), file.name, form.cleaned_data["title"])


def _shown(request: HttpRequest, begun: Begun) -> dict[str, object]:
    """What the page shows of a sheet that could be read."""
    family = begun.draft.family
    first = {"stacks": str(family.bounds.modules[0])}
    # Where nothing has to be asked the list is there at once.
    given = request.POST.dict() if "list" in request.POST else None if family.axes else first
    stack = StackForm(family, given, initial=first)
    kit, refused = _kit(begun, stack) if stack.is_bound else (None, ())
    steps = _steps(kit) if kit is not None else []
    return {"begun": begun, "stack": stack, "kit": kit, "steps": steps, "refused": refused}


def _kit(begun: Begun, stack: StackForm) -> tuple[Kit | None, tuple[Fault, ...]]:
    if not stack.is_valid():
        return None, ()
    try:
        return first_list.kit_of(begun.draft, stack.cleaned_data), ()
    except ConfigurationError as error:
        return None, error.faults


def _steps(kit: Kit) -> list[dict[str, object]]:
    """The kit by step, as the page prints it."""
    found: list[dict[str, object]] = []
    for step in kit.steps:
        lines = [line for line in kit.lines if line.step == step.key]
        cautions = [caution for caution in kit.cautions if caution.step == step.key]
        if lines or cautions:
            found.append({"title": step.title, "lines": lines, "cautions": cautions})
    return found


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def list_edition(request: HttpRequest, family: str, day: str) -> HttpResponse:
    """One edition: what is open in it, what it would change on all open jobs; make it current."""
    person = person_of(request)
    posts = request.method == "POST"
    edition = (list_write if posts else list_read)(person, family, day)
    if posts:
        families.make_current(edition, person)
        messages.success(request, f"From now on kits follow {edition}.")
        return redirect("list_edition", family, day)
    found, current = families.family_of(edition), families.current(edition.name)
    in_use = current is not None and current.pk == edition.pk
    context: dict[str, object] = {"edition": edition, "family": found, "in_use": in_use}
    if not in_use:
        context["effect"] = effects.of_edition(edition)
    context |= {
        "questions": asking.questions(found),
        "most": SHOWN,
        "manager": person.has(Role.MANAGER),
    }
    return render(request, "kitting/list_edition.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def list_text(request: HttpRequest, family: str, day: str) -> HttpResponse:
    """The text of an edition as a file: the draft to go on writing, for check_family to judge."""
    edition = list_read(person_of(request), family, day)
    answer = HttpResponse(edition.text, content_type="text/plain; charset=utf-8")
    name = f"{edition.name}-{edition.edition.isoformat()}.toml"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def list_proposals(request: HttpRequest) -> HttpResponse:
    """What was signed on kits, as rules for the next edition; add one, or all of a family."""
    offers = proposals.offered()
    fault = ""
    if request.method == "POST":
        wanted = request.POST.get("add", "")
        chosen = [
            one for one in offers if one.proposal.text and wanted and wanted in (one.key, one.whole)
        ]
        try:
            if not chosen:
                raise EditionError("Expected one of the proposals of this page")
            edition = proposals.add(chosen).edition
        except (PlanError, EditionError) as error:
            fault = str(error)
        else:
            messages.success(request, f"Added: {edition} is a trial, not in use yet.")
            return redirect("list_edition", edition.name, edition.edition.isoformat())
    ready = [one for one in offers if one.proposal.text and one.whole]
    wholes = [
        (title, whole, n)
        for (title, whole), n in Counter((one.title, one.whole) for one in ready).items()
        if n > 1
    ]
    context = {"offers": offers, "fault": fault, "wholes": wholes}
    return render(request, "kitting/list_proposals.html", context)
