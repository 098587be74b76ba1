"""A claim as one file to send."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from inventory import claim_files
from inventory.access import claim_read, needs, person_of
from inventory.models import Role


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def claim_zip(request: HttpRequest, code: str) -> HttpResponse:
    """The claim with its sheet, tables and photos as a ZIP."""
    claim = claim_read(person_of(request), code)
    answer = HttpResponse(claim_files.packed(claim), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{claim_files.name_of(claim)}"'
    return answer
